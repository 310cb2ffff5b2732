"""Who must be told of a change, and what, in sentences without confidential facts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from scheduler.club.club import Club
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.replan.differences import Changes, where_words

WHISTLES_IN_WORDS = 6


@dataclass(frozen=True)
class Telling:
    """One person or team to be told. `who` is a coach's or child's id, or a team's."""

    kind: Literal["coach", "team", "family"]
    who: str
    name: str
    texts: tuple[str, ...]

    @property
    def words(self) -> str:
        """`Coach Ada: ...`, `the families of Herons: ...`, `the family of Ivo: ...`."""
        before = {"coach": self.name, "team": f"the families of {self.name}", "family": f"the family of {self.name}"}
        return f"{before[self.kind]}: {'; '.join(self.texts)}"


def who_must_be_told(club: Club, before: WeekPlan, after: WeekPlan, changes: Changes) -> tuple[Telling, ...]:
    """Coaches first, then whole teams, then single families, each in the club's order; one entry each."""
    found: dict[tuple[Literal["coach", "team", "family"], str], list[str]] = {}

    def tell(kind: Literal["coach", "team", "family"], who: str, text: str) -> None:
        texts = found.setdefault((kind, who), [])
        if text not in texts:
            texts.append(text)

    for moved in changes.sessions:
        for planned in (moved.before, moved.after):
            for coach in planned.coaches if planned else ():
                tell("coach", coach, moved.text)
            for team in planned.teams if planned else ():
                tell("team", team, moved.text)
        guests = [player for planned in (moved.before, moved.after) if planned for player in _guests(club, planned)]
        for player in guests:
            tell("family", player, moved.text)
    for adults in changes.adults:
        new = after.by_session[adults.session]
        for coach in adults.come:
            tell("coach", coach, f"you are asked to {new.session}: {where_words(new)}")
        for coach in adults.left:
            tell("coach", coach, f"you are not needed any more at {new.session}: {where_words(new)}")
        for coach in new.coaches:
            if coach not in adults.come:
                tell("coach", coach, adults.text)
    for session, text in _cards(club, changes).items():
        for coach in after.by_session[session].coaches:
            tell("coach", coach, text)
    for comes in (*changes.comes, *changes.stood_down):
        tell("family", comes.player, comes.text)
    return tuple(
        Telling(kind, who, club.called(who) if kind != "team" else who, tuple(texts))
        for (kind, who), texts in sorted(found.items(), key=lambda entry: _order(club, *entry[0]))
    )


def _guests(club: Club, planned: PlannedSession) -> list[str]:
    return [player for player in planned.players if not club.is_own(club.player(player), planned.session)]


def _cards(club: Club, changes: Changes) -> dict[str, str]:
    """For each session with changed places what its coaches do: take the new card."""
    cards: dict[str, list[str]] = {}
    for change in changes.places:
        cards.setdefault(change.session, []).append(change.text)
    for comes in changes.comes:
        cards.setdefault(comes.session, [])
    found = {}
    for session, texts in cards.items():
        who = [comes.text for comes in changes.comes if comes.session == session]
        shown = texts[:WHISTLES_IN_WORDS]
        more = len(texts) - len(shown)
        count = f"{len(texts)} place{'s' * (len(texts) != 1)} changed" if texts else "no place changed"
        tail = (f" ({'; '.join(shown)}" + (f"; and {more} more" if more else "") + ")") if shown else ""
        found[session] = f"new card for {session}: {', '.join([*who, count])}{tail}"
    return found


def _order(club: Club, kind: str, who: str) -> tuple[int, int, str]:
    ids = {
        "coach": [coach.id for coach in club.coaches],
        "team": [team.id for team in club.teams],
        "family": [player.id for player in club.players],
    }[kind]
    place = ids.index(who) if who in ids else len(ids)
    return ("coach", "team", "family").index(kind), place, who
