"""Fewest places changed, by a small model of the ring: in the sessions that must change first, then in all of them.

What is found in these few sessions is mostly the least there is, and soon found. The whole ring is then asked for
fewer, with everybody in other bibs whose change of bibs alone is not as dear. Together with what a change of group
costs at least, that is all there is, so that what the model shows impossible is impossible. Somebody in other bibs has
a new place in every turn in the field, a child in another group in every turn.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace

from scheduler.plan.plan import WeekPlan
from scheduler.replan.repair import Repaired
from scheduler.replan.scoreboard import Scoreboard
from scheduler.replan.search import roles_of
from scheduler.replan.task import Task, Worn

SHARE_UPWARD, SHARE_DOWNWARD = 0.015, 0.01  # of the limit, for a question about a few sessions
SHARE_FOR_LESS = 0.03  # to find fewer changes than a mending has, or show that there are none
SHARES_TO_MEND = (0.1, 0.3)  # tried in turn until there is a mending
NO_WAY = 10**6  # more changes than there are places


def fewest_places(
    task: Task,
    booked: WeekPlan,
    lawful: Callable[[WeekPlan], bool],
    known: Repaired,
    limit: float,
    otherwise: Callable[[], Repaired] | None = None,
) -> Repaired:
    """The fewest changes found, `known` being the fewest so far; the rest is what `repair` is called with.

    `otherwise` looks for a mending in another way where a few sessions do not make one. A bound of `NO_WAY`: no mending
    with these groups keeps everybody within the fair share.
    """
    if not task.is_held or known.least:
        return known
    return _Fewest(task, booked, lawful, known, limit).run(otherwise)


def sessions_to_open(task: Task, board: Scoreboard) -> frozenset[str]:
    """The sessions in which somebody is missing or new, and those where that alone leaves somebody beyond one rep."""
    opened = {task.filled[number].turn.session for number in task.disturbed}
    while more := _beyond(task, board, opened):
        opened |= more
    return frozenset(opened)


def _beyond(task: Task, board: Scoreboard, opened: Collection[str]) -> set[str]:
    """Other sessions in which somebody who was in none of these before is not within the fair share."""
    apart, theirs, found = dict(board.apart), set[str](), set[str]()
    for number, (turn, here) in enumerate(task.filled):
        if turn.session in opened:
            theirs |= set(here)
            continue
        booked = board.play(number, roles_of(task.old[number]))
        board.take_back(booked)
        for key, amount in booked.items():
            apart[key] = apart.get(key, 0) + amount
            if number not in task.locked and key[0] not in theirs and abs(apart[key]) > board.bound.get(key, 0):
                found.add(turn.session)
    return found


def with_neighbours(task: Task, sessions: Collection[str]) -> frozenset[str]:
    """These sessions and all that share a child with them."""
    theirs = {player for setting in task.ring.sessions if setting.session in sessions for player in setting.players}
    return frozenset(setting.session for setting in task.ring.sessions if theirs & set(setting.players))


class _Fewest:
    def __init__(
        self, task: Task, booked: WeekPlan, lawful: Callable[[WeekPlan], bool], known: Repaired, limit: float
    ) -> None:
        self._task, self._booked, self._lawful, self._best, self._limit = task, booked, lawful, known, limit
        self._board = Scoreboard(task.club, task.ring, task.filled)
        self._costs = task.open_places
        self._fits = task.even_at_start(task.sides)

    def run(self, otherwise: Callable[[], Repaired] | None) -> Repaired:
        """The fewest changes found, and how few are shown to be needed."""
        self._in_part()
        if self._best.plan is None and otherwise is not None:
            self._best = otherwise()
        if self._best.least:
            return self._best
        bound = self._for_fewer() if self._best.plan is not None else self._to_mend()
        return replace(self._best, bound=max(self._best.bound, min(bound, self._task.places_of_groups())))

    def _in_part(self) -> None:
        """The fewest changes where only sessions change that must, or those too that share a child with them.

        Only where bibs as they are will not do, anybody in the sessions that must change may wear others.
        """
        opened = sessions = sessions_to_open(self._task, self._board)
        everything = frozenset(setting.session for setting in self._task.ring.sessions)
        while self._fits and sessions and not self._looked_at(sessions, []) and sessions < everything:
            sessions = with_neighbours(self._task, sessions)
        if opened and self._best.plan is None:
            self._looked_at(opened, [own for own in self._costs if own[1].session in opened])

    def _looked_at(self, sessions: Collection[str], held: Collection[Worn]) -> bool:
        """Whether there may be a mending in these sessions: from the bound up, then from a mending down if need be."""
        for share in (SHARE_UPWARD, SHARE_DOWNWARD):
            bound = self._asked(self._limit * share, held, sessions=sessions, upward=share == SHARE_UPWARD)
            if bound == NO_WAY or (self._best.plan is not None and self._best.changes <= bound):
                break
        return bound < NO_WAY

    def _for_fewer(self) -> int:
        """How few changes there are at least, no more than the best has; takes what is better."""
        held = [own for own, cost in self._costs.items() if cost < self._best.changes]
        return self._asked(self._limit * SHARE_FOR_LESS, held)

    def _to_mend(self) -> int:
        """Any mending, in bibs as they are and then with somebody in others; how few changes there are at least."""
        as_they_are = self._in_turn([]) if self._fits else NO_WAY
        if self._best.plan is not None:
            return self._for_fewer()
        others = self._in_turn(list(self._costs), other_bibs=True) if self._costs else NO_WAY
        return min(as_they_are, others)

    def _in_turn(self, held: Collection[Worn], other_bibs: bool = False) -> int:
        bound = 0
        for share in SHARES_TO_MEND:
            bound = self._asked(self._limit * share, held, other_bibs)
            if bound == NO_WAY or self._best.plan is not None:
                break
        return bound

    def _asked(
        self,
        limit: float,
        held: Collection[Worn],
        other_bibs: bool = False,
        sessions: Collection[str] | None = None,
        upward: bool = False,
    ) -> int:
        """How few changes the model shows to be needed with these in any bibs; what it finds becomes the best."""
        from scheduler.replan.ringmodel import RingModel

        best = self._best.changes if self._best.plan is not None else None
        sides = {own: side for own, side in self._task.sides.items() if own not in held}
        model = RingModel(self._task, self._board, sides, sessions)
        answer = model.ask(limit, self._task.old, None if best is None else best - 1, other_bibs, upward)
        if answer.none:
            return NO_WAY if best is None else best
        if answer.found is not None:
            plan = self._task.laid(self._booked, answer.found)
            if self._lawful(plan):
                self._best = Repaired(plan, self._task.changes(answer.found), self._best.bound)
        return answer.bound
