"""Children who are alike for the booking, and how much of a session each would be there for. No solver.

Two children are alike where the same rows of the club bear on both: then only how many of them come matters, and the
model counts them instead of deciding child by child.
"""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from typing import NamedTuple

from scheduler.booking.slots import Slot, planned_at
from scheduler.booking.standdown import FROM_SESSIONS, limits_of
from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, KeeperWish, Player
from scheduler.club.when import Span
from scheduler.plan.presence import away_spans, can_come, cut_out
from scheduler.plan.timeline import timeline
from scheduler.welfare.childweek import plays_in
from scheduler.welfare.weather import minutes_allowed


class Stay(NamedTuple):
    """What a child does in one slot: minutes not absent, and minutes there in each block (last: spare at the end).

    `leaves`: minutes from the session's start to the child's leaving.
    """

    can: int
    blocks: tuple[int, ...]
    leaves: int = 0

    @property
    def minutes(self) -> int:
        """Minutes there, stand-downs by limits taken off."""
        return sum(self.blocks)


@dataclass(frozen=True)
class Squad:
    """Children alike for the booking, and the sessions they belong to, both in the club's order."""

    players: tuple[str, ...]
    sessions: tuple[str, ...]

    @property
    def first(self) -> str:
        """A child that stands for all of them."""
        return self.players[0]

    @property
    def size(self) -> int:
        """How many children."""
        return len(self.players)


def may_keep(club: Club, player: Player) -> bool:
    """Whether a child may be asked to keep goal: said so, or not asked in a team where everyone takes a turn."""
    everyone = club.team(player.team).keepers is KeeperPolicy.EVERYONE
    return player.keeper in (KeeperWish.REGULAR, KeeperWish.WILLING) or (
        everyone and player.keeper is KeeperWish.NOT_ASKED
    )


def _key(club: Club, player: Player, sessions: tuple[str, ...]) -> tuple[object, ...]:
    return (
        sessions,
        player.team,
        club.limit_age(player),
        player.limits,
        may_keep(club, player),
        tuple(i for i, row in enumerate(club.absences) if player.id in row.who),
        tuple(i for i, row in enumerate(club.matches) if plays_in(club, row, player.id)),
        tuple((row.date, row.minutes, row.rpe) for row in club.elsewhere if row.player == player.id),
        tuple(row.model_copy(update={"player": ""}) for row in club.returns if row.player == player.id),
        player.id if player.apart_from else "",
    )


def squads_of(club: Club, alone: Container[str] = ()) -> tuple[Squad, ...]:
    """The squads of all children who belong to a session; each child of `alone` is a squad of its own."""
    member_of: dict[str, list[str]] = {}
    for ask in club.sessions:
        for player in club.members(ask.id):
            member_of.setdefault(player.id, []).append(ask.id)
    groups: dict[tuple[object, ...], list[str]] = {}
    for player in club.players:
        if player.id in member_of:
            sessions = tuple(member_of[player.id])
            key = (player.id,) if player.id in alone else _key(club, player, sessions)
            groups.setdefault(key, []).append(player.id)
    return tuple(Squad(tuple(players), tuple(member_of[players[0]])) for players in groups.values())


class Stays:
    """How long a squad would be there in a slot, worked out once a day and heat (and start, where absences differ)."""

    def __init__(self, club: Club) -> None:
        self._club = club
        self._known: dict[tuple[object, ...], Stay] = {}
        self._spans: dict[tuple[object, ...], tuple[Span, ...]] = {}
        self._heat = {
            (row.site, row.date): minutes_allowed(
                (one for one in club.weather if (one.site, one.date) == (row.site, row.date)), club.heat_category
            )
            for row in club.weather
        }
        self._returning = {row.player for row in club.returns}
        self._with_match = {
            player.id for player in club.players if any(plays_in(club, match, player.id) for match in club.matches)
        }

    def of(self, squad: Squad, session: str, slot: Slot) -> Stay:
        """The stay of each child of a squad in a slot of a session."""
        key = self._key(squad.first, session, slot)
        if key not in self._known:
            self._known[key] = stay_in(self._club, squad.first, session, slot)
        return self._known[key]

    def spans(self, squad: Squad, session: str, slot: Slot) -> tuple[Span, ...]:
        """When each child of a squad would be there in a slot of a session, in minutes from its start."""
        key = self._key(squad.first, session, slot)
        if key not in self._spans:
            _, found = _spans_in(self._club, squad.first, session, slot)
            self._spans[key] = tuple(Span(span.start - slot.start, span.end - slot.start) for span in found)
        return self._spans[key]

    def _key(self, player: str, session: str, slot: Slot) -> tuple[object, ...]:
        """All that a child's stay in a slot hangs on."""
        away = away_spans(self._club, player, slot.date)
        dated = player in self._returning or player in self._with_match
        heat = self._heat.get((slot.site, slot.date))
        return (player, session, slot.date if dated or away else None, slot.start if away else None, heat)

    def loads(self, session: str, stay: Stay) -> list[int]:
        """The planned load of a stay with 0, 1, 2 ... minutes cut off its end."""
        blocks = timeline(self._club, session)
        rpes = [max((station.practice.rpe or 0 for station in block.stations), default=0) for block in blocks] + [0]
        by_minute = [rpe for rpe, minutes in zip(rpes, stay.blocks, strict=True) for _ in range(minutes)]
        loads = [sum(by_minute)]
        for rpe in reversed(by_minute):
            loads.append(loads[-1] - rpe)
        return loads


def stay_in(club: Club, player: str, session: str, slot: Slot) -> Stay:
    """The stay of one child, from absences and limits; headers used up earlier in the week are not counted here."""
    can, spans = _spans_in(club, player, session, slot)
    blocks = [Span(slot.start + b.span.start, slot.start + b.span.end) for b in timeline(club, session)]
    blocks.append(Span(max([slot.start, *(block.end for block in blocks)]), slot.end))
    minutes = tuple(sum(both.minutes for span in spans if (both := span.cut(block)) is not None) for block in blocks)
    leaves = max((span.end for span in spans), default=slot.start) - slot.start
    return Stay(sum(span.minutes for span in can), minutes, leaves)


def _spans_in(club: Club, player: str, session: str, slot: Slot) -> tuple[tuple[Span, ...], tuple[Span, ...]]:
    """When one child could come to a session held in a slot, and when the child takes part within the limits."""
    planned = planned_at(club.session(session), slot, players=(player,))
    row = club.age_row(club.player(player))
    shared = [down for rule in FROM_SESSIONS for down in rule(club, planned)] if club.returns or club.weather else []
    downs, _ = limits_of(club, planned, player, None if row is None else row.headers_a_week, shared)
    can = can_come(club, player, slot.date, slot.span)
    return can, cut_out(can, (down.span for down in downs))
