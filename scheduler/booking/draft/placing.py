"""A place for every session by iterative repair: whoever has none takes the least contested one and sends others off.

A session that is sent off often grows heavier, so that the search turns to others in its way. The number of steps ends
it, never a time; all numbers are whole, so the same club gives the same draft on every machine.
"""

from __future__ import annotations

from random import Random
from typing import TYPE_CHECKING

import numpy as np

from scheduler.booking.draft.claims import ONE, Claims

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Numbers = NDArray[np.int64]

SEED = 20240101
STEPS_A_SESSION = 100  # before the search begins anew
TRIES = 12
BANS = ((20, 60), (5, 15))  # for so many steps a session does not go back to where it was sent off; try by try
GROWTHS = (ONE, ONE // 10)
IN_COMMON = ONE // 3  # for each session of the day with children in common
NEVER = 2**60


class Placing:
    """One try: in which of its slots each session is; -1: none."""

    def __init__(self, claims: Claims, number: int = 0) -> None:
        self._claims = claims
        self._random = Random(SEED + number)
        self._ban, self._growth = BANS[number % len(BANS)], GROWTHS[number // len(BANS) % len(GROWTHS)]
        count = len(claims.wanted)
        self.at = [-1] * count
        self._holder: Numbers = np.full(claims.cells, -1, dtype=np.int64)
        self._weight: Numbers = np.full(count + 1, ONE, dtype=np.int64)
        self._weight[count] = 0  # of nobody
        self._bans: list[dict[int, int]] = [{} for _ in claims.wanted]
        self.steps = 0

    def search(self) -> list[int]:
        """Place every session that can be; the numbers of those left without a place."""
        wanted = self._claims.wanted
        waiting = sorted(
            (number for number, one in enumerate(wanted) if one.slots),
            key=lambda one: (-wanted[one].takes.shape[1], len(wanted[one].slots)),
        )
        first = len(waiting)
        fewest, best = first + 1, list(self.at)
        while waiting and self.steps < STEPS_A_SESSION * first:
            self.steps += 1
            number = waiting.pop(0 if self.steps <= first else self._random.randrange(len(waiting)))
            chosen = self._choose(number)
            if chosen < 0:
                waiting.append(number)
            else:
                waiting += self._take(number, chosen)
            if len(waiting) < fewest:
                fewest, best = len(waiting), list(self.at)
        self.at = best
        return [number for number, place in enumerate(self.at) if place < 0]

    def _choose(self, number: int) -> int:
        """The slot with the least weight in its way; one of several by lot, the first where nobody is. -1: none."""
        one = self._claims.wanted[number]
        inside = self._holder[one.minds]
        again = np.zeros_like(inside, dtype=bool)
        again[:, 1:] = inside[:, 1:] == inside[:, :-1]  # a session in the way for several steps counts once a zone
        weights = self._weight[inside]
        weights[again] = 0
        costs = weights.sum(axis=1) + self._cost_of_times(number)[one.time]
        for slot, until in self._bans[number].items():
            if until > self.steps:
                costs[slot] = NEVER
        least = int(costs.min())
        if least >= NEVER:
            return -1
        best = np.flatnonzero(costs == least)
        return int(best[0 if least < ONE else self._random.randrange(len(best))])

    def _cost_of_times(self, number: int) -> Numbers:
        """The weight of those who cannot be anywhere on a date or at a time; what is disliked only while all fits."""
        one = self._claims.wanted[number]
        cost = np.zeros_like(one.times.date)
        for other in one.not_that_day:
            if self.at[other] >= 0:
                cost += self._weight[other] * (one.times.date == self._place(other)[0])
        for other in one.not_then:
            if self.at[other] >= 0:
                cost += self._weight[other] * self._clashes(number, other)
        if cost.min() > 0:
            return cost
        dislike = one.times.dislike.copy()
        for other in one.better_not:
            if self.at[other] >= 0:
                dislike += IN_COMMON * (one.times.date == self._place(other)[0])
        return cost + np.minimum(dislike, ONE - 1)

    def _place(self, other: int) -> tuple[int, int, int, int]:
        """Date, first and last minute, and site of a session that has a place."""
        one = self._claims.wanted[other]
        row = one.time[self.at[other]]
        times = one.times
        return int(times.date[row]), int(times.start[row]), int(times.end[row]), int(times.site[row])

    def _clashes(self, number: int, other: int) -> Numbers:
        """1 for each time at which nobody could be at both, the way between two sites included."""
        date, start, end, site = self._place(other)
        times = self._claims.wanted[number].times
        way = self._claims.travel[site][times.site]
        then = (times.date == date) & (times.start < end + way) & (start < times.end + way)
        clashes: Numbers = then.astype(np.int64)
        return clashes

    def _take(self, number: int, slot: int) -> list[int]:
        """Put a session into a slot; the sessions sent off, in order."""
        one = self._claims.wanted[number]
        rivals = {int(other) for other in self._holder[one.minds[slot]] if other >= 0}
        row = one.time[slot]
        rivals |= {
            other
            for other in one.not_that_day
            if self.at[other] >= 0 and self._place(other)[0] == int(one.times.date[row])
        }
        rivals |= {other for other in one.not_then if self.at[other] >= 0 and self._clashes(number, other)[row]}
        for other in sorted(rivals):
            self._holder[self._claims.wanted[other].takes[self.at[other]]] = -1
            self._bans[other][self.at[other]] = self.steps + self._random.randrange(*self._ban)
            self._weight[other] += self._growth
            self.at[other] = -1
        self.at[number] = slot
        self._holder[one.takes[slot]] = number
        return sorted(rivals)
