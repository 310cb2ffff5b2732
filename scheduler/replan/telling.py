"""Who must be told of a change, and what, in sentences without confidential facts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from scheduler.club.club import Club
from scheduler.club.when import day_words
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.presence import can_come
from scheduler.replan.differences import Changes, where_words


@dataclass(frozen=True)
class Telling:
    """One person or team to be told. `who` is a coach's or child's id, or a team's."""

    kind: Literal["coach", "team", "family"]
    who: str
    name: str
    texts: tuple[str, ...]

    @property
    def who_words(self) -> str:
        """`Ada`, `the families of Herons`, `the family of Ivo`."""
        return {"coach": "", "team": "the families of ", "family": "the family of "}[self.kind] + self.name


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
            tell("coach", coach, f"you are asked to {new.session}: {where_words(club, new)}")
        for coach in adults.left:
            tell("coach", coach, f"you are not needed any more at {new.session}: {where_words(club, new)}")
        for coach in new.coaches:
            if coach not in adults.come:
                tell("coach", coach, adults.text)
    for session, text in _cards(after, changes).items():
        for coach in after.by_session[session].coaches:
            tell("coach", coach, text)
    for comes in changes.comes:
        if comes.comes or not _known_at_home(club, after.by_session[comes.session], comes.player):
            tell("family", comes.player, comes.text)
    for down in changes.stood_down:
        tell("family", down.player, down.text)
    return tuple(
        Telling(kind, who, club.called(who) if kind != "team" else who, tuple(texts))
        for (kind, who), texts in sorted(found.items(), key=lambda entry: _order(club, *entry[0]))
    )


def _guests(club: Club, planned: PlannedSession) -> list[str]:
    return [player for player in planned.players if not club.is_own(club.player(player), planned.session)]


def _known_at_home(club: Club, planned: PlannedSession, player: str) -> bool:
    """Whether the child is away for some of the session by what the club was told, so that the family knows."""
    return can_come(club, player, planned.date, planned.span) != (planned.span,)


def _cards(after: WeekPlan, changes: Changes) -> dict[str, str]:
    """For each session whose card is not the old one what its coaches do: take the new card. The card has the rest."""
    counts: dict[str, int] = {}
    for change in changes.places:
        counts[change.session] = counts.get(change.session, 0) + 1
    rows = (*changes.comes, *changes.stood_down)
    found = {}
    for session in dict.fromkeys([*counts, *(row.session for row in rows)]):
        day, count = day_words(after.by_session[session].date), counts.get(session, 0)
        who = [_on_card(row.text, f"{session} on {day}") for row in rows if row.session == session]
        places = f"{count} place{'s' * (count != 1)} changed" if count else "nobody else changes place"
        found[session] = f"take the new card for {session} on {day}: {', '.join([*who, places])}"
    return found


def _on_card(text: str, at: str) -> str:
    """A sentence about who comes, on the card of the session it is about: `Emil is not there`."""
    for there, here in ((f" is not at {at}", " is not there"), (f" comes to {at}", " comes too"), (f" of {at}", "")):
        text = text.replace(there, here)
    return text.replace(f" in {at}", "")


def _order(club: Club, kind: str, who: str) -> tuple[int, int, str]:
    ids = {
        "coach": [coach.id for coach in club.coaches],
        "team": [team.id for team in club.teams],
        "family": [player.id for player in club.players],
    }[kind]
    place = ids.index(who) if who in ids else len(ids)
    return ("coach", "team", "family").index(kind), place, who
