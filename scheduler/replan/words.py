"""What `replan` prints: what changed and who must be told, and the same as one JSON document."""

from __future__ import annotations

from typing import Any

from scheduler.outcome import Booked
from scheduler.replan.command import Replanned
from scheduler.terminal import finding_lines, findings_json

MOST_PLACES = 20


def replanned_lines(done: Replanned, outcome: Booked, folder: str) -> list[str]:
    """What changed, who must be told, and where it was written."""
    plan, changes = outcome.plan, done.changes
    if changes.nothing:
        lines = [f"Nothing changes: plan {plan.revision} of the week of {plan.week} stays as it is."]
        return [*lines, f"Noted in {folder}"] if done.to_write else lines
    lines = [f"Plan {plan.revision} of the week of {plan.week}: {_counted(done)}"]
    texts = [*(row.text for row in changes.sessions), *(row.text for row in changes.adults)]
    texts += [row.text for row in (*changes.comes, *changes.stood_down)]
    lines += [f"  {text}" for text in texts]
    lines += [f"  {row.session}, {row.text}" for row in changes.places[:MOST_PLACES]]
    if len(changes.places) > MOST_PLACES:
        lines.append(f"  ({len(changes.places) - MOST_PLACES} more changed places, on the page Changes and the cards)")
    if not outcome.proven:
        lines.append("  (fewer changes may be possible; none were found in the time given)")
    lines += [*finding_lines(found for found in outcome.findings if found.severity.value == "caution")]
    lines += ["Must be told:", *(f"  {telling.words}" for telling in done.told), f"Written to {folder}"]
    return lines


def _counted(done: Replanned) -> str:
    sessions, places = done.changes.moved, len(done.changes.places)
    what = f"{sessions} session{'s' * (sessions != 1)} moved or not held" if sessions else "no session moves"
    return f"{what}, {places} place{'s' * (places != 1)} changed of those who are there"


def replanned_json(done: Replanned, outcome: Booked, folder: str) -> dict[str, Any]:
    """Changes, tellings and findings."""
    changes = done.changes
    return {
        "folder": folder,
        "revision": outcome.plan.revision,
        "nothing_changed": changes.nothing,
        "proven": outcome.proven,
        "sessions": [{"session": row.session, "kind": row.kind, "text": row.text} for row in changes.sessions],
        "adults": [{"session": row.session, "come": list(row.come), "left": list(row.left), "text": row.text}
                   for row in changes.adults],
        "places": [
            {"session": row.session, "block": row.block, "rep": row.rep, "player": row.player,
             "before": row.before.model_dump(), "after": row.after.model_dump(), "text": row.text}
            for row in changes.places
        ],
        "attendance": [{"session": row.session, "player": row.player, "comes": row.comes, "text": row.text}
                       for row in (*changes.comes, *changes.stood_down)],
        "told": [{"kind": row.kind, "who": row.who, "name": row.name, "texts": list(row.texts)} for row in done.told],
        "findings": findings_json(outcome.findings),
    }  # fmt: skip
