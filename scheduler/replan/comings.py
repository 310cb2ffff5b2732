"""Which children come to a session newly or no longer, or take part in more or less of it than before, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.club.when import Span, day_words, hhmm
from scheduler.plan.plan import PlannedSession
from scheduler.plan.walk import spots_of

RepAt = tuple[int, int]  # block, number of the rep


@dataclass(frozen=True)
class ComesChange:
    """A child who comes to a session newly or no longer, or takes part in more or less of it."""

    session: str
    player: str
    comes: bool
    text: str


def comings(club: Club, old: PlannedSession, new: PlannedSession) -> Iterator[ComesChange]:
    """Everybody whose coming differs, one entry a child; a stand-down for some minutes is said by `stand_downs`."""
    at = f"{new.session} on {day_words(new.date)}"
    for player in old.players:
        if player not in new.players:
            yield ComesChange(new.session, player, False, f"{club.called(player)} is not at {at}")
    had, has, spans = _reps_by_player(old), _reps_by_player(new), _reps(new)
    said = {change.player for change in stand_downs(club, old, new)}
    for player in new.players:
        if player not in old.players:
            yield ComesChange(new.session, player, True, f"{club.called(player)} comes to {at}")
        elif player not in said:
            who = club.called(player)
            yield from _part(had.get(player, set()), has.get(player, set()), spans, new.session, player, who, at)


def _reps(planned: PlannedSession) -> dict[RepAt, Span]:
    return {(spot.block.block, spot.rep.rep): spot.rep.span for spot in spots_of(planned)}


def _reps_by_player(planned: PlannedSession) -> dict[str, set[RepAt]]:
    found: dict[str, set[RepAt]] = {}
    for spot in spots_of(planned):
        for place in spot.rep.places:
            found.setdefault(place.player, set()).add((spot.block.block, spot.rep.rep))
    return found


def _part(
    had: set[RepAt], has: set[RepAt], spans: dict[RepAt, Span], session: str, player: str, who: str, at: str
) -> Iterator[ComesChange]:
    """A child who comes later, leaves earlier, or is there in other reps."""
    if had == has:
        return
    lost, gained = sorted(key for key in had - has if key in spans), sorted(has - had)
    if lost:
        clock = hhmm(spans[lost[0]].start)
        if has and min(has) > lost[-1]:
            text = f"{who} takes part in {at} from {hhmm(spans[min(has)].start)} on only"
        elif not has or max(has) < lost[0]:
            text = f"{who} takes no part in {at} from {clock} on"
        else:
            text = f"{who} takes no part in {_count(lost)} of {at}, the first at {clock}"
        yield ComesChange(session, player, False, text)
    if gained:
        clock = hhmm(spans[gained[0]].start)
        text = f"{who} takes part in {_count(gained)} more of {at}, the first at {clock}"
        yield ComesChange(session, player, True, text)


def _count(reps: list[RepAt]) -> str:
    return f"{len(reps)} rep{'s' * (len(reps) != 1)}"


def stand_downs(club: Club, old: PlannedSession, new: PlannedSession) -> Iterator[ComesChange]:
    """Minutes from which somebody is stood down newly or no longer; those who come or stay away whole are said so."""
    moved = new.start - old.start

    def rows(planned: PlannedSession, shift: int) -> set[tuple[str, int, int]]:
        return {(row.player, row.start + shift, row.end + shift) for row in planned.stood_down}

    def stays(player: str) -> bool:
        return (player in old.players) == (player in new.players)

    had, has = rows(old, moved), rows(new, 0)
    at = f"{new.session} on {day_words(new.date)}"
    for player, start, end in sorted(has - had):
        if stays(player):
            text = f"{club.called(player)} takes no part in {at} from {hhmm(start)} to {hhmm(end)}"
            yield ComesChange(new.session, player, False, text)
    for player, start, end in sorted(had - has):
        if player in new.players and stays(player):
            text = f"{club.called(player)} may take part in {at} from {hhmm(start)} to {hhmm(end)}"
            yield ComesChange(new.session, player, True, text)
