"""Fewest places changed, by a small model of the ring: with bibs as they are first, then with others.

Together with what a change of group costs at least, that is all there is, so that what the model shows impossible is
impossible. Somebody in other bibs has a new place in every turn in the field, a child in another group in every turn.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from scheduler.club.club import Club
from scheduler.plan.plan import WeekPlan
from scheduler.replan.repair import Repaired
from scheduler.replan.scoreboard import Scoreboard
from scheduler.replan.task import Task
from scheduler.rotation.setting import Ring

SHARE_FOR_LESS = 0.03  # of the limit, to find fewer changes than a mending has, or show that there are none
SHARES_TO_MEND = (0.1, 0.3)  # of the limit, tried in turn until there is a mending
NO_WAY = 10**6  # more changes than there are places


def fewest_places(
    club: Club,
    before: WeekPlan,
    booked: WeekPlan,
    ring: Ring,
    locked: frozenset[int],
    lawful: Callable[[WeekPlan], bool],
    known: Repaired,
    limit: float,
) -> Repaired:
    """The fewest changes found, `known` being the fewest so far; what it is called with is what `repair` is.

    A bound of `NO_WAY`: no mending with these groups keeps everybody within the fair share.
    """
    task = Task(club, before, ring, locked)
    if known.least or task.locked & task.disturbed or task.group_to_choose:
        return known
    return _Fewest(task, booked, lawful, known, limit).run()


class _Fewest:
    def __init__(
        self, task: Task, booked: WeekPlan, lawful: Callable[[WeekPlan], bool], known: Repaired, limit: float
    ) -> None:
        self._task, self._booked, self._lawful, self._best, self._limit = task, booked, lawful, known, limit
        self._board = Scoreboard(task.club, task.ring, task.filled)
        self._like = task.old
        self._took = 0.0  # for fewer changes

    def run(self) -> Repaired:
        """The fewest changes found, and how few are shown to be needed."""
        costs = self._task.open_places()
        others, groups = min(costs.values(), default=NO_WAY), self._task.places_of_groups()
        fits = self._task.even_at_start(self._task.sides)
        as_they_are = self._tried(other_bibs=False) if fits else NO_WAY
        if self._best.plan is None or self._best.changes > others:
            others = max(others, self._tried(other_bibs=True)) if costs else NO_WAY
        return replace(self._best, bound=max(self._best.bound, min(as_they_are, others, groups)))

    def _tried(self, other_bibs: bool) -> int:
        """How few changes there are at least in these bibs, no more than the best has; takes what is better."""
        if self._best.plan is not None:
            left = self._limit * SHARE_FOR_LESS - self._took
            return self._asked(left, other_bibs) if left > 0 else 0
        bound = 0
        for share in SHARES_TO_MEND:
            bound = self._asked(self._limit * share, other_bibs)
            if bound == NO_WAY or self._best.plan is not None:
                break
        return bound

    def _asked(self, limit: float, other_bibs: bool) -> int:
        from scheduler.replan.ringmodel import RingModel

        best = self._best.changes if self._best.plan is not None else None
        held = self._task.open_places() if other_bibs else {}
        sides = {own: side for own, side in self._task.sides.items() if own not in held}
        model = RingModel(self._task, self._board, sides)
        answer = model.ask(limit, self._like, None if best is None else best - 1, other_bibs)
        if best is not None:
            self._took += answer.took
        if answer.none:
            return NO_WAY if best is None else best
        if answer.found is not None:
            changes = self._task.changes(answer.found)
            plan = self._task.laid(self._booked, answer.found)
            if self._lawful(plan):
                self._best, self._like = Repaired(plan, changes, self._best.bound), answer.found
        return answer.bound
