"""Mend a rotation in milliseconds: fill from rest, let a child who comes in, swap two. No solver.

For given bibs and groups every lawful filling of a turn with few changes is known, and the fewest of each turn add up
to a lower bound for the week. Bibs as they are, and with one or two children in other bibs, are tried in the order of
their bounds, and within each all ways through the week with so many changes. The first that is found has the least
number of changes, since everything cheaper has been looked at: three in other bibs or another group cost more. Where
that is not so, or it takes long, nothing is returned and the exact model takes over.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

from scheduler.club.club import Club
from scheduler.plan.plan import WeekPlan
from scheduler.replan.options import Filling, TooMany
from scheduler.replan.scoreboard import Scoreboard
from scheduler.replan.search import Search
from scheduler.replan.task import Task, Worn
from scheduler.rotation.setting import Ring, with_places

MOST_STEPS = 4000
MOST_ANSWERS = 8
MOST_BEYOND = 3  # changes beyond the bound, up to which all ways are looked at


@dataclass(frozen=True)
class Repaired:
    """A plan with one ring mended; `changes` is the least number of places changed."""

    plan: WeekPlan
    changes: int


def repair(
    club: Club,
    before: WeekPlan,
    booked: WeekPlan,
    ring: Ring,
    locked: frozenset[int],
    lawful: Callable[[WeekPlan], bool],
) -> Repaired | None:
    """`booked` with the ring's places mended from those of `before`; None where that is not shown to be the least.

    `ring` is one of `booked`, `locked` the indices of turns that stay as they were, `lawful` the audit of all rules.
    """
    task = Task(club, before, ring, locked)
    if task.locked & task.disturbed or task.group_to_choose:
        return None
    try:
        return _Repair(task, booked, lawful).run()
    except TooMany:
        return None


class _Repair:
    def __init__(self, task: Task, booked: WeekPlan, lawful: Callable[[WeekPlan], bool]) -> None:
        self._task, self._booked, self._lawful = task, booked, lawful
        self._board = Scoreboard(task.club, task.ring, task.filled)
        self._searches: dict[tuple[Worn, ...], Search] = {}
        self._open = task.open_places()
        self._left = MOST_STEPS

    def run(self) -> Repaired | None:
        """Look at every number of changes from the least bound upward."""
        costs = sorted(self._open.values())
        beyond = min(sum(costs[:3]) if len(costs) > 2 else 10**6, self._task.places_of_groups())
        changes = self._least_bound(beyond)
        for budget in range(changes, min(changes + MOST_BEYOND, beyond) + 1):
            for key in self._worlds(budget):
                search = self._search(key)
                if search is not None and search.bound is not None and search.bound <= budget:
                    found = self._try(search, budget)
                    if found is not None:
                        return Repaired(found, budget)
        return None

    def _worlds(self, budget: int) -> list[tuple[Worn, ...]]:
        """Who is in other bibs than before: nobody, one, or two, as far as their open places allow."""
        singles = [key for key, cost in self._open.items() if cost <= budget]
        pairs = [pair for pair in combinations(singles, 2) if sum(self._open[key] for key in pair) <= budget]
        return [(), *((key,) for key in singles), *pairs]

    def _search(self, changed: tuple[Worn, ...]) -> Search | None:
        sides = {key: 1 - side if key in changed else side for key, side in self._task.sides.items()}
        if not self._task.even_at_start(sides):
            return None
        if changed not in self._searches:
            self._searches[changed] = Search(self._task, self._board, sides, MOST_STEPS)
        return self._searches[changed]

    def _least_bound(self, beyond: int) -> int:
        """The least number of changes that any bibs allow."""
        known = self._search(())
        least = known.bound if known is not None and known.bound is not None else beyond
        for key in self._worlds(least)[1:]:
            search = self._search(key)
            if search is not None and search.bound is not None:
                least = min(least, search.bound)
        return least

    def _try(self, search: Search, budget: int) -> WeekPlan | None:
        before = search.steps
        try:
            for number, answer in enumerate(search.answers(budget)):
                plan = self._plan(answer)
                if self._lawful(plan):
                    return plan
                if number == MOST_ANSWERS:
                    raise TooMany  # a rule this search does not know is in the way
            return None
        finally:
            self._left -= search.steps - before
            if self._left < 0:
                raise TooMany

    def _plan(self, answer: list[Filling]) -> WeekPlan:
        places = {
            self._task.filled[number].turn.key: [
                self._task.place(number, player, slot) for player, slot in filling.items()
            ]
            for number, filling in enumerate(answer)
        }
        return with_places(self._task.club, self._booked, places)
