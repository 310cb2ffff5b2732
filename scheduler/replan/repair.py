"""Mend a rotation while a coach waits: fill from rest, let a child who comes in, swap two. No solver.

For given bibs and groups every lawful filling of a turn with few changes is known, and the fewest of each turn add up
to a lower bound for the week. Bibs as they are, and with one or two children in other bibs, are tried in the order of
their bounds, and within each all ways through the week with so many changes. The first that is found has the least
number of changes where everything cheaper has been looked at: three in other bibs or another group cost more. Before
that, swaps give a lawful mending that stands where this takes too long; then that is said, and the ring's own model may
look for less.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from scheduler.plan.plan import WeekPlan
from scheduler.replan.options import Filling, TooMany
from scheduler.replan.scoreboard import Scoreboard
from scheduler.replan.search import Fewest, Search
from scheduler.replan.swaps import swapped
from scheduler.replan.task import Task, Worn

STEPS_A_TRY, MOST_STEPS = 100, 150
MOST_TURNED = 60  # worlds of other bibs looked at, those first that cost the fewest changes
MOST_ANSWERS = 8
MOST_WORLDS = 2  # bibs in which swaps are tried
MOST_BEYOND = 12  # changes beyond the least bound, up to which a repair is looked for


@dataclass(frozen=True)
class Repaired:
    """A plan with one ring mended, or None where none was found; at least `bound` places must change."""

    plan: WeekPlan | None
    changes: int
    bound: int

    @property
    def least(self) -> bool:
        """Whether fewer changes are shown impossible."""
        return self.plan is not None and self.changes <= self.bound


NOTHING = Repaired(None, 0, 0)


def repair(task: Task, booked: WeekPlan, lawful: Callable[[WeekPlan], bool]) -> Repaired:
    """`booked` with the places of the task's ring mended, where a lawful mending was found; `lawful` audits it."""
    mending = Repair(task, booked, lawful)
    found = mending.upward()
    return found if found.plan is not None else mending.by_swaps()


class Repair:
    """The ways to mend one ring without a solver; the rest as for `repair`."""

    def __init__(self, task: Task, booked: WeekPlan, lawful: Callable[[WeekPlan], bool]) -> None:
        self._task, self._booked, self._lawful = task, booked, lawful
        self._board = Scoreboard(task.club, task.ring, task.filled)
        self._searches: dict[tuple[Worn, ...], Search] = {}
        self._fewest: Fewest = {}
        self._open = task.open_places
        self._left = MOST_STEPS
        self._bound = 0

    def upward(self) -> Repaired:
        """The mending with the fewest changes where few steps show it, and how few are shown impossible."""
        if not self._task.is_held:
            return NOTHING
        try:
            return self._upward(MOST_BEYOND)
        except TooMany:
            return Repaired(None, 0, self._bound)

    def by_swaps(self) -> Repaired:
        """The fewest changes that swaps lead to."""
        found = self._by_swaps() if self._task.is_held else None
        return replace(found or NOTHING, bound=self._bound)

    def _by_swaps(self) -> Repaired | None:
        """The fewest changes that swaps lead to, with the bibs as they are and with those whose bound is lowest."""
        best: Repaired | None = None
        seen: list[list[Filling]] = []
        costs = sorted(self._open, key=lambda key: self._open[key])
        tried = 0
        for key in ((), *((key,) for key in costs)):
            if best is not None and any(self._open[one] >= best.changes for one in key):
                break
            search = self._search(key)
            if search is None or search.bound is None or (best is not None and search.bound >= best.changes):
                continue
            if tried == MOST_WORLDS:
                break
            tried += 1
            for answer in swapped(self._task, self._board, search, seen):
                changes = self._task.changes(answer)
                if best is not None and changes >= best.changes:
                    break
                if self._lawful(plan := self._plan(answer)):
                    best = Repaired(plan, changes, 0)
                    break
        return best

    def _upward(self, most: int) -> Repaired:
        """Look at every number of changes from the least bound upward, to `most` beyond it."""
        costs = sorted(self._open.values())
        beyond = min(sum(costs[:3]) if len(costs) > 2 else 10**6, self._task.places_of_groups())
        changes, beyond = self._least_bound(beyond)
        self._bound = min(changes, beyond)
        for budget in range(changes, changes + most + 1):
            all_seen = budget < beyond
            looked_at = 0
            for key in self._worlds(budget):
                if looked_at == MOST_TURNED:
                    all_seen = False
                    break
                search = self._search(key)
                looked_at += int(search is not None)
                if search is not None and search.bound is not None and search.bound <= budget:
                    found, seen = self._try(search, budget)
                    if found is not None:
                        return Repaired(found, budget, self._bound)
                    all_seen = all_seen and seen
            if all_seen and self._bound == budget:
                self._bound = budget + 1
        return Repaired(None, 0, self._bound)

    def _worlds(self, budget: int) -> list[tuple[Worn, ...]]:
        """Who is in other bibs than before: nobody, one, or two, as far as their open places allow."""
        return [(), *self._task.others_bibs(budget)]

    def _search(self, changed: tuple[Worn, ...]) -> Search | None:
        sides = self._task.in_others(changed)
        if not self._task.even_at_start(sides):
            return None
        if changed not in self._searches:
            like = self._searches.get(())
            self._searches[changed] = Search(self._task, self._board, sides, self._fewest, like)
        return self._searches[changed]

    def _least_bound(self, beyond: int) -> tuple[int, int]:
        """The least number of changes that any bibs looked at allow, and the fewest that others would cost."""
        known = self._search(())
        least = known.bound if known is not None and known.bound is not None else beyond
        for key in self._worlds(least)[1:]:
            if len(self._searches) == MOST_TURNED:
                return least, min(beyond, sum(self._open[one] for one in key))
            search = self._search(key)
            if search is not None and search.bound is not None:
                least = min(least, search.bound)
        return least, beyond

    def _try(self, search: Search, budget: int) -> tuple[WeekPlan | None, bool]:
        """A lawful plan with at most so many changes, and whether all ways were seen where there is none."""
        if self._left <= 0:
            raise TooMany
        before = search.steps
        search.most = before + min(STEPS_A_TRY, self._left)
        try:
            for number, answer in enumerate(search.answers(budget)):
                plan = self._plan(answer)
                if self._lawful(plan):
                    return plan, True
                if number == MOST_ANSWERS:
                    return None, False  # a rule this search does not know is in the way
        except TooMany:
            return None, False
        finally:
            self._left -= search.steps - before
        return None, True

    def _plan(self, answer: list[Filling]) -> WeekPlan:
        return self._task.laid(self._booked, answer)
