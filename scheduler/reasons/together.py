"""Which sessions of a week can all be held: one model, asked again and again, each time with others let go.

Small at first: everybody comes who can, led by their own adults. Sessions it cannot hold together are tried by
themselves with every choice there is; where they can be held after all, the model is made again with every choice for
them. So the whole model with every choice, which is many times as large, is hardly ever needed.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from scheduler.booking.book import build_booking
from scheduler.plan.plan import WeekPlan
from scheduler.reasons.core import assume
from scheduler.reasons.feasible import Feasible, small

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel


class Together:
    """Questions about the sessions of one club. `widened`: those for which the model has every choice."""

    def __init__(self, feasible: Feasible) -> None:
        self._feasible = feasible
        self.widened: frozenset[str] = frozenset()
        self._model = self._made()

    def _made(self, like: BookingModel | None = None) -> BookingModel:
        of = self._feasible
        return build_booking(
            of.club, of.rules, wishes=False, relaxed=True, may_cancel=True, like=like, **small(self.widened)
        )

    def booking(self, sessions: Sequence[str]) -> WeekPlan | tuple[list[str], bool] | None:
        """A booking of these sessions and no others; or a few of them that cannot all be held. None: time ran out.

        Beside the few, whether each of them left out was shown to make the others possible.
        """
        while True:
            found = self._asked(sessions)
            if not isinstance(found, list):
                return found
            few, sure = self._feasible.fewest_sessions(found)
            if few:
                return few, sure
            if self.widened.issuperset(found):
                return None  # these can be held by themselves, and the reason why not with the rest is not about them
            self.widened |= set(found)
            self._model = self._made(self._model)

    def _asked(self, sessions: Sequence[str]) -> WeekPlan | list[str] | None:
        """As `booking`, with the choices the model has; and the sessions it names are not yet the fewest."""
        model, wanted = self._model, set(sessions)
        cancelled = {ask.id: model.cancelled(ask.id) for ask in self._feasible.club.sessions}
        literals = {
            session: ~literal if session in wanted else literal
            for session, literal in cancelled.items()
            if literal is not None
        }
        while self._feasible.left > 0:
            solver, status, spent = assume(model.model, list(literals.values()), self._feasible.left)
            self._feasible.left -= spent
            if status == "INFEASIBLE":
                core = set(solver.sufficient_assumptions_for_infeasibility())
                return [session for session, one in literals.items() if session in wanted and one.index in core]
            if status not in ("OPTIMAL", "FEASIBLE"):
                return None
            plan = model.mended(model.read(solver))
            if plan is not None:
                return plan.model_copy(update={"cancelled": ()})
        return None
