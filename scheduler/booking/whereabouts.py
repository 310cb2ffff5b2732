"""Adults in one place at a time: a row for every two sessions an adult may be at, and which rows wait.

Helpers from other teams are few and nearly always needless, so in a relaxed model rows about them wait until a plan
has one at all, or has one in two places at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from scheduler.booking.slots import travel

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.booking.model import BookingModel
    from scheduler.club.club import Club
    from scheduler.plan.plan import PlannedSession, WeekPlan


class Whereabouts:
    """The rows of one booking model. `switch`: of an adult; `enough`: whether a planned session's adults would do."""

    def __init__(self, model: BookingModel, switch: Callable[[str], IntVar], enough: Callable[[PlannedSession], bool]
                 ) -> None:  # fmt: skip
        self._model, self._switch, self._enough = model, switch, enough
        self._posted: set[tuple[str, str, str]] = set()

    def post(self) -> None:
        """The rows about every adult, of a relaxed model only those about an adult's own sessions; others wait."""
        own = {ask.id: self._model.adults.own(ask.id) for ask in self._model.club.sessions}
        for coach in self._model.club.coaches:
            mine = self._model.adults.sessions_of(coach.id)
            if self._model.relaxed:
                mine = [session for session in mine if coach.id in own[session]]
            for one, other in combinations(sorted(mine), 2):
                self._either(coach.id, one, other)
        self._model.when_read(self._post_what_is_broken)

    def _either(self, coach: str, one: str, other: str) -> None:
        """An adult is at one of two sessions at most, unless they lie apart."""
        key = (coach, min(one, other), max(one, other))
        if key in self._posted or self._model.children.never_on_one_day(*key[1:]):
            return
        self._posted.add(key)
        both = [self._model.adults.at(session, coach) for session in key[1:]]
        literals = [literal for literal in both if literal is not None]
        self._model.at_most(self._switch(coach), [*literals, 1 - self._model.apart(*key[1:], True)], 2)

    def _post_what_is_broken(self, plan: WeekPlan) -> WeekPlan | None:
        """The plan without needless helpers; None where it broke rows that had waited and are posted now.

        With the first helper come the rows about helpers and their own sessions; rows about a helper at two sessions
        of others come pair by pair.
        """
        plan = self._without_the_needless(plan)
        if any(set(planned.coaches) - set(self._model.adults.own(planned.session)) for planned in plan.sessions):
            for ask in self._model.club.sessions:
                self._post_helpers(ask.id)
        broken = list(twice_at_once(self._model.club, plan))
        for one, other in broken:
            for coach in self._model.club.coaches:
                if all(coach.id in self._model.adults.possible(session) for session in (one, other)):
                    self._either(coach.id, one, other)
        return None if broken else plan

    def _post_helpers(self, session: str) -> None:
        for coach in self._model.adults.possible(session):
            for ask in self._model.club.sessions:
                if ask.id != session and coach in self._model.adults.own(ask.id):
                    self._either(coach, session, ask.id)

    def _without_the_needless(self, plan: WeekPlan) -> WeekPlan:
        """The plan without adults from other teams whom nobody would miss."""
        lean = []
        for planned in plan.sessions:
            for coach in reversed(planned.coaches):
                left = planned.model_copy(update={"coaches": tuple(c for c in planned.coaches if c != coach)})
                if coach not in self._model.adults.own(planned.session) and self._enough(left):
                    planned = left
            lean.append(planned)
        return plan.model_copy(update={"sessions": tuple(lean)})


def twice_at_once(club: Club, plan: WeekPlan) -> Iterator[tuple[str, str]]:
    """Every two sessions with an adult in both who cannot get from one to the other, by name."""
    for one, other in combinations(sorted(plan.sessions, key=lambda planned: planned.session), 2):
        way = travel(club, club.pitch(one.pitch).site, club.pitch(other.pitch).site)
        near = one.start < other.end + way and other.start < one.end + way
        if one.date == other.date and near and set(one.coaches) & set(other.coaches):
            yield one.session, other.session
