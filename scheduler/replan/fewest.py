"""Fewest places changed, by a small model of the ring: with bibs as they are first, then with others.

Together with what a change of group costs at least, that is all there is, so that what the model shows impossible is
impossible. Somebody in other bibs has a new place in every turn in the field, a child in another group in every turn.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from scheduler.plan.plan import WeekPlan
from scheduler.replan.options import TooMany
from scheduler.replan.repair import MOST_TURNED, Repaired
from scheduler.replan.scoreboard import Scoreboard
from scheduler.replan.search import Fewest, Search
from scheduler.replan.task import Task

SHARE_FOR_LESS = 0.02  # of the limit, to find fewer changes than a mending has, or show that there are none
SHARES_TO_MEND = (0.1, 0.3)  # of the limit, tried in turn until there is a mending
NO_WAY = 10**6  # more changes than there are places


def fewest_places(
    task: Task, booked: WeekPlan, lawful: Callable[[WeekPlan], bool], known: Repaired, limit: float
) -> Repaired:
    """The fewest changes found, `known` being the fewest so far; the rest is what `repair` is called with.

    A bound of `NO_WAY`: no mending with these groups keeps everybody within the fair share.
    """
    return _Fewest(task, booked, lawful, known, limit).run() if task.is_held and not known.least else known


class _Fewest:
    def __init__(
        self, task: Task, booked: WeekPlan, lawful: Callable[[WeekPlan], bool], known: Repaired, limit: float
    ) -> None:
        self._task, self._booked, self._lawful, self._best, self._limit = task, booked, lawful, known, limit
        self._for_less = limit * SHARE_FOR_LESS
        self._board = Scoreboard(task.club, task.ring, task.filled)
        self._costs = task.open_places
        self._like = task.old

    def run(self) -> Repaired:
        """The fewest changes found, and how few are shown to be needed."""
        groups = self._task.places_of_groups()
        fits = self._task.even_at_start(self._task.sides)
        as_they_are = self._tried(other_bibs=False) if fits else NO_WAY
        try:
            others = self._by_turns() if self._costs else NO_WAY
        except TooMany:
            others = min(self._costs.values())
        if self._costs and (self._best.plan is None or self._best.changes > others):
            others = max(others, self._tried(other_bibs=True))
        return replace(self._best, bound=max(self._best.bound, min(as_they_are, others, groups)))

    def _by_turns(self) -> int:
        """How few changes other bibs cost at least: each turn's fewest in them, added up over the week.

        Three children in other bibs are not looked at, nor those whose own places are as many as the best has changes.
        """
        costs, most = sorted(self._costs.values()), self._best.changes if self._best.plan is not None else 0
        if sum(costs[:3]) < most:
            return costs[0]
        worlds = self._task.others_bibs(most - 1)
        if not worlds or len(worlds) > MOST_TURNED:
            return costs[0]
        fewest: Fewest = {}
        like = Search(self._task, self._board, self._task.sides, fewest)
        least = most
        for world in worlds:
            sides = self._task.in_others(world)
            if self._task.even_at_start(sides):
                bound = Search(self._task, self._board, sides, fewest, like).bound
                least = least if bound is None else min(least, bound)
        return max(least, costs[0])

    def _tried(self, other_bibs: bool) -> int:
        """How few changes there are at least in these bibs, no more than the best has; takes what is better."""
        if self._best.plan is not None:
            enough = self._for_less > self._limit * SHARE_FOR_LESS / 2  # too short a look is not worth making a model
            return self._asked(self._for_less, other_bibs) if enough else 0
        bound = 0
        for share in SHARES_TO_MEND:
            bound = self._asked(self._limit * share, other_bibs)
            if bound == NO_WAY or self._best.plan is not None:
                break
        return bound

    def _asked(self, limit: float, other_bibs: bool) -> int:
        from scheduler.replan.ringmodel import RingModel

        best = self._best.changes if self._best.plan is not None else None
        held = self._costs if other_bibs else {}
        sides = {own: side for own, side in self._task.sides.items() if own not in held}
        model = RingModel(self._task, self._board, sides)
        answer = model.ask(limit, self._like, None if best is None else best - 1, other_bibs)
        if best is not None:
            self._for_less -= answer.took
        if answer.none:
            return NO_WAY if best is None else best
        if answer.found is not None:
            changes = self._task.changes(answer.found)
            plan = self._task.laid(self._booked, answer.found)
            if self._lawful(plan):
                self._best, self._like = Repaired(plan, changes, self._best.bound), answer.found
        return answer.bound
