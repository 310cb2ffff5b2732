"""What `replan` prints: what changed and who must be told, and the same as one JSON document."""

from __future__ import annotations

from typing import Any

from scheduler.club.when import day_words
from scheduler.outcome import Booked
from scheduler.plan.names import join
from scheduler.plan.plan import WeekPlan
from scheduler.replan.command import Replanned
from scheduler.replan.replaced import Replaced
from scheduler.replan.telling import Telling
from scheduler.terminal import finding_lines, findings_json

MOST_PLACES = 20


def replanned_lines(done: Replanned, outcome: Booked) -> list[str]:
    """What changed and who must be told."""
    plan, changes = outcome.plan, done.changes
    if changes.nothing:
        which = f"plan {plan.revision} of the week of {plan.week}"
        if done.undone.nothing:
            return [f"Nothing changes: {which} stays as it is."]
        return [f"{which.capitalize()}: nothing changes for those who hold the plan before", *_undone_lines(done)]
    lines = [f"Plan {plan.revision} of the week of {plan.week}: {_counted(done)}"]
    texts = [*(row.text for row in changes.sessions), *(row.text for row in changes.adults)]
    texts += [row.text for row in (*changes.comes, *changes.stood_down)]
    lines += [f"  {text}" for text in texts]
    lines += _place_lines(done, plan)
    lines += _undone_lines(done)
    lines += [f"  ({text})" for text in not_shown(done, outcome)]
    lines += [*finding_lines(found for found in outcome.findings if found.severity.value == "caution")]
    return [*lines, *_told_lines(done.told)]


def not_shown(done: Replanned, outcome: Booked) -> list[str]:
    """What of the least disturbance is not shown, in sentences; nothing where all of it is."""
    if not isinstance(outcome, Replaced):
        return []
    found = []
    if not outcome.fewest_moves:
        found.append("fewer sessions may have to move; no such week was found in the time given")
    elif done.changes.sessions and not outcome.nearest:
        found.append("no fewer sessions can move; a time or place nearer to the old one was not found, but may exist")
    if not outcome.fewest_places:
        found.append("fewer places may have to change; no such rotation was found in the time given")
    return found


def written_line(done: Replanned, folder: str) -> str:
    """Where it was written."""
    return f"Noted in {folder}" if done.changes.nothing else f"Written to {folder}"


def _undone_lines(done: Replanned) -> list[str]:
    """What of the edits by hand does not stand, so that nobody believes that it does."""
    places = len(done.undone.places)
    parts = [row.session for row in done.undone.sessions]
    parts += [f"{places} place{'s' * (places != 1)}"] if places else []
    if not parts:
        return []
    return [f"  Edited by hand and not kept as edited: {join(parts)} (audit of the edited file says what it breaks)"]


def _place_lines(done: Replanned, plan: WeekPlan) -> list[str]:
    """The changed places under the session they belong to."""
    lines: list[str] = []
    places = done.changes.places
    for number, row in enumerate(places[:MOST_PLACES]):
        if number == 0 or places[number - 1].session != row.session:
            lines.append(f"  {row.session} on {day_words(plan.by_session[row.session].date)}:")
        lines.append(f"    {row.text}")
    if len(places) > MOST_PLACES:
        lines.append(f"  ({len(places) - MOST_PLACES} more changed places, on the page Changes and the cards)")
    return lines


def _told_lines(told: tuple[Telling, ...]) -> list[str]:
    """Who must be told; those who are told the same stand together."""
    if not told:
        return ["Nobody else must be told."]
    groups: dict[tuple[str, tuple[str, ...]], list[Telling]] = {}
    for one in told:
        groups.setdefault((one.kind, one.texts), []).append(one)
    lines = ["Must be told:"]
    for (_, texts), group in groups.items():
        who = join([one.who_words for one in group])
        lines += [f"  {who}: {texts[0]}"] if len(texts) == 1 else [f"  {who}:", *(f"    {text}" for text in texts)]
    return lines


def _counted(done: Replanned) -> str:
    kinds = [row.kind for row in done.changes.sessions]
    moved, off, on = (kinds.count(kind) for kind in ("moved", "cancelled", "held after all"))
    parts = [f"{moved} session{'s move' if moved != 1 else ' moves'}" if moved else "no session moves"]
    if off:
        parts.append(f"{off} {'are' if off != 1 else 'is'} not held")
    if on:
        parts.append(f"{on} {'are' if on != 1 else 'is'} held after all")
    count = len(done.changes.places)
    parts.append(f"{count} place{'s change' if count != 1 else ' changes'} of those who are there" if count
                 else "nobody who is there changes place")  # fmt: skip
    return ", ".join(parts)


def replanned_json(done: Replanned, outcome: Booked, folder: str) -> dict[str, Any]:
    """Changes, tellings and findings."""
    changes = done.changes
    return {
        "folder": folder,
        "revision": outcome.plan.revision,
        "nothing_changed": changes.nothing,
        "proven": outcome.proven,
        "not_shown": not_shown(done, outcome),
        "edits_not_kept": {"sessions": [row.session for row in done.undone.sessions],
                           "places": [row.text for row in done.undone.places]},
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
