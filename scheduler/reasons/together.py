"""Which sessions of a week can all be held: one model, asked again and again, each time with others let go.

Small at first: everybody comes who can, led by their own adults. Sessions it cannot hold together are tried by
themselves with every choice there is; where they can be held after all, the model is made again with every choice for
them. So the whole model with every choice, which is many times as large, is hardly ever needed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from scheduler.booking.build import build_booking
from scheduler.booking.slots import Slot
from scheduler.plan.plan import WeekPlan
from scheduler.reasons.core import assume
from scheduler.reasons.feasible import Feasible, small
from scheduler.reasons.players import least_of

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import BoolVarT

    from scheduler.booking.model import BookingModel


class Together:
    """Questions about the sessions of one club. `widened`: those for which the model has every choice.

    `enough`: no booking that leaves a session too few children to play, which is no demand of the booking alone.
    """

    def __init__(self, feasible: Feasible, widened: frozenset[str] = frozenset(), enough: bool = False) -> None:
        self._feasible = feasible
        self.widened = widened
        self._model = self._made()
        if enough:
            self._enough()

    def _enough(self) -> None:
        model, club = self._model, self._feasible.club
        for ask in club.sessions:
            if any(len(model.children.ways(squad)) > 1 for squad in model.children.squads_in(ask.id)):
                least = min(least_of(club, ask.id), len(club.members(ask.id)))
                model.model.add(model.children.headcount(ask.id) >= least * model.held(ask.id))

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
            found = self._asked(sessions, {})
            if not isinstance(found, list):
                return found
            few, sure = self._feasible.fewest_sessions(found)
            if few:
                return few, sure
            if self.widened.issuperset(found):
                return None  # these can be held by themselves, and the reason why not with the rest is not about them
            self.widened |= set(found)
            self._model = self._made(self._model)

    def start_from(self, plan: WeekPlan) -> None:
        """Try what this plan decides first; nothing but time hangs on it."""
        forget: Callable[[], None] = self._model.model.clear_hints
        forget()
        self._model.hint(plan)

    def among(self, sessions: Sequence[str], slots: Mapping[str, Sequence[Slot]]) -> WeekPlan | None:
        """A booking of these sessions and no others, some of them in one of these slots; None where none was found."""
        found = self._asked(sessions, slots)
        return found if isinstance(found, WeekPlan) else None

    def _asked(self, sessions: Sequence[str], slots: Mapping[str, Sequence[Slot]]) -> WeekPlan | list[str] | None:
        """A booking with the choices the model has, or the sessions it names, which are not yet the fewest."""
        model, wanted = self._model, set(sessions)
        held: dict[str, BoolVarT] = {}
        assumed: list[BoolVarT] = []
        for ask in self._feasible.club.sessions:
            cancelled = model.cancelled(ask.id)
            if cancelled is not None:
                held[ask.id] = ~cancelled
                assumed.append(held[ask.id] if ask.id in wanted else cancelled)
        for session, allowed in slots.items():
            chosen = model.model.new_bool_var(f"among[{session}|{len(allowed)}]")
            model.model.add(chosen <= model.is_where(session, set(allowed).__contains__))
            assumed.append(chosen)
        while self._feasible.left > 0:
            solver, status, spent = assume(model.model, assumed, self._feasible.left, symmetries=False)
            self._feasible.left -= spent
            if status == "INFEASIBLE":
                core = set(solver.sufficient_assumptions_for_infeasibility())
                return [session for session, one in held.items() if session in wanted and one.index in core]
            if status not in ("OPTIMAL", "FEASIBLE"):
                return None
            plan = model.mended(model.read(solver))
            if plan is not None:
                return plan.model_copy(update={"cancelled": ()})
        return None
