"""What each slot of a session claims: ground, and times at which others cannot be held. A sketch of the rules.

The sketch knows what fills a week: ground, one session a day for a team, and whose adults are needed at two places.
Everything else a rule may demand is found out when the draft is booked in the model that has all rules. No solver.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from scheduler.booking.draft.dislikes import Dislikes
from scheduler.booking.slots import Moment, Slot
from scheduler.club.club import Club
from scheduler.club.when import DAY_MINUTES

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Numbers = NDArray[np.int64]


@dataclass(frozen=True)
class Times:
    """The moments of a session, a row each: number of the date, first and last minute, number of the site, dislike.

    `dislike`: from 0 to `claims.ONE` - 1, what the moment itself costs beside sessions sent off at `ONE` each.
    """

    date: Numbers
    start: Numbers
    end: Numbers
    site: Numbers
    dislike: Numbers


@dataclass(frozen=True)
class Wanted:
    """A session to be placed, its slots in rows, and the sessions that cannot be held on its date, or at its time.

    `time`: the row of `times` of each slot. `takes`: the cells of ground it takes. `minds`: cells in which another
    session would be in its way; the last cell of all, which nobody ever takes, fills up short rows.
    `better_not`: sessions with children in common, better on another date.
    """

    session: str
    slots: tuple[Slot, ...]
    time: Numbers
    times: Times
    takes: Numbers
    minds: Numbers
    not_that_day: list[int] = field(default_factory=list)
    not_then: list[int] = field(default_factory=list)
    better_not: list[int] = field(default_factory=list)


@dataclass(frozen=True)
class Claims:
    """All sessions of a club in its order; how many cells of ground there are; minutes from site to site."""

    wanted: tuple[Wanted, ...]
    cells: int
    travel: Numbers


ONE = 1000


def claims_of(club: Club, slots: Mapping[str, Sequence[Slot]], strict: bool = True) -> Claims:
    """The claims of every session of a club on its ground and its people.

    `strict`: only slots at which the least is lost of what those about people count, and no first coach in two places.
    """
    ground, dislikes = _Ground(club), Dislikes(club)
    sites = {site.id: number for number, site in enumerate(club.sites)}
    dates = {date: number for number, date in enumerate(club.dates)}
    wanted = []
    for ask in club.sessions:
        moments = dict.fromkeys(slot.moment for slot in slots[ask.id])
        costs = dict(zip(moments, dislikes.of(ask, [(m.date, m.start, m.site) for m in moments]), strict=True))
        allowed = min(costs.values(), default=0.0) if strict else float("inf")
        mine = [slot for slot in slots[ask.id] if costs[slot.moment] <= allowed]
        rows: dict[Moment, int] = {}
        time = [rows.setdefault(slot.moment, len(rows)) for slot in mine]
        times = Times(
            date=_row([dates[moment.date] for moment in rows]),
            start=_row([moment.start for moment in rows]),
            end=_row([moment.start + ask.minutes for moment in rows]),
            site=_row([sites[moment.site] for moment in rows]),
            dislike=_row([int((ONE - 1) * costs[moment] / (1 + costs[moment])) for moment in rows]),
        )
        takes, minds = ground.cells_of(mine)
        wanted.append(Wanted(ask.id, tuple(mine), _row(time), times, takes, minds))
    _relate(club, wanted, dislikes, strict)
    way = [site.minutes_between for site in club.sites]
    travel = [[0 if i == j else max(way[i], way[j]) for j in range(len(way))] for i in range(len(way))]
    return Claims(tuple(wanted), ground.cells, np.array(travel, dtype=np.int64))


def _row(numbers: list[int]) -> Numbers:
    return np.array(numbers, dtype=np.int64)


def _relate(club: Club, wanted: list[Wanted], dislikes: Dislikes, strict: bool) -> None:
    """Note for each pair of sessions what keeps them apart."""
    members = [{player.id for player in club.members(one.session)} for one in wanted]
    asks = [club.session(one.session) for one in wanted]
    own = [set(club.own_coaches(ask.id)) for ask in asks]
    first = [set(dislikes.first(ask)) if strict else set() for ask in asks]
    needed = [dislikes.needed(ask) for ask in asks]
    for i, j in combinations(range(len(wanted)), 2):
        both = own[i] & own[j]
        if set(asks[i].teams) & set(asks[j].teams):
            _note(wanted[i].not_that_day, wanted[j].not_that_day, i, j)
        elif both and (first[i] & first[j] or len(own[i] | own[j]) < needed[i] + needed[j] or both in (own[i], own[j])):
            _note(wanted[i].not_then, wanted[j].not_then, i, j)
        if members[i] & members[j]:
            _note(wanted[i].better_not, wanted[j].better_not, i, j)


def _note(one: list[int], other: list[int], i: int, j: int) -> None:
    one.append(j)
    other.append(i)


class _Ground:
    """Cells of ground: a zone of a pitch for one step of the club's grid on one date."""

    def __init__(self, club: Club) -> None:
        self._club = club
        self._dates = {date: number for number, date in enumerate(club.dates)}
        zones = [(pitch.id, zone) for pitch in club.pitches for zone in range(1, pitch.zones + 1)]
        self._number = {zone: number for number, zone in enumerate(zones)}
        self._steps = 2 * (DAY_MINUTES // club.step)  # of one date; the pack-up may run past midnight
        self.cells = len(zones) * len(club.dates) * self._steps + 1
        self._across = {
            pitch.id: [
                (other.id, zone)
                for other in club.pitches
                if other.id != pitch.id and (other.lies_on == pitch.id or pitch.lies_on == other.id)
                for zone in range(1, other.zones + 1)
            ]
            for pitch in club.pitches
        }

    def cells_of(self, slots: Sequence[Slot]) -> tuple[Numbers, Numbers]:
        """What slots of one session take and mind, a row each; set-up, pack-up and the gap to the next included."""
        takes = [self._cells(slot, [(slot.pitch, zone) for zone in slot.zones]) for slot in slots]
        minds = [
            cells + self._cells(slot, self._across[slot.pitch]) if self._across[slot.pitch] else cells
            for slot, cells in zip(slots, takes, strict=True)
        ]
        return self._filled(takes), self._filled(minds)

    def _cells(self, slot: Slot, zones: Sequence[tuple[str, int]]) -> list[int]:
        club = self._club
        first = (slot.start - club.set_up) // club.step
        last = -(-(slot.end + club.pack_up + club.gap) // club.step)
        day = self._dates[slot.date]
        found: list[int] = []
        for zone in zones:
            start = (self._number[zone] * len(self._dates) + day) * self._steps
            found.extend(range(start + first, start + last))
        return found

    def _filled(self, rows: list[list[int]]) -> Numbers:
        longest = max(map(len, rows), default=0)
        return np.array([row + [self.cells - 1] * (longest - len(row)) for row in rows], dtype=np.int64)
