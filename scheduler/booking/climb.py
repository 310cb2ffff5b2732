"""Small models first, then larger ones: the best week of a club, from nothing or from a first lawful one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from scheduler.booking.build import Small, build_booking, hold_and_forbid, narrowed_booking
from scheduler.booking.knots import MINUTES, Knots
from scheduler.booking.proofs import proof_of
from scheduler.booking.stages import Stages
from scheduler.booking.twins import order_twins
from scheduler.booking.unmet import STOOD_DOWN, unmet_of
from scheduler.club.club import Club
from scheduler.contract import Rule, is_booking_rule
from scheduler.plan.plan import PlannedSession, Proof, WeekPlan
from scheduler.priorities import BOOKING_ORDER
from scheduler.progress import Report

if TYPE_CHECKING:
    from scheduler.booking.bounded import Nearer
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot

LADDER: tuple[Small, ...] = ({"outsiders": False, "certain_only": True}, {"certain_only": True}, {})
"""Small models first: everybody comes who can, first led by their own, then by whoever may help. The last has it all.

A plan found in a small one is as good as any: where nobody loses more than counting alone demands, every plan as good
has all others at everything as well; and see `Stages.assume_least` about adults.
"""

RUNG_SHARE = 0.25  # of what is left, for a small model that cannot say the first week and so may have no plan at all
FINER_SHARE = 0.15  # of what is left, for what a coarse model leaves out


class Climbed(NamedTuple):
    """How a search ended; `left`: of its reproducible seconds. See `Stages` for the others."""

    plan: WeekPlan | None
    proofs: tuple[Proof, ...]
    finished: bool
    stopped: bool
    infeasible: bool
    left: float


class Climb:
    """The search for one club's booking; `narrowed`: its model before there are variables, if there is one."""

    def __init__(
        self,
        club: Club,
        rules: Sequence[Rule],
        on_progress: Report,
        *,
        hold: Sequence[PlannedSession] = (),
        forbidden: Sequence[WeekPlan] = (),
        may_cancel: bool = False,
        earlier: WeekPlan | None = None,
        narrowed: BookingModel | None = None,
    ) -> None:
        self._club, self._rules, self._tell = club, rules, on_progress
        self._hold, self._forbidden, self._may_cancel, self._earlier = hold, forbidden, may_cancel, earlier
        self._narrowed = narrowed
        self._too_small: list[Small] = []  # models shown to hold no week
        self._knots: Knots | None = None

    def run(
        self,
        limit: float,
        start: WeekPlan | None = None,
        *,
        tidy: bool = True,
        nearer: Nearer | None = None,
        ladder: Sequence[Small] = LADDER,
    ) -> Climbed:
        """The best week of the model that settles it; `start`: a lawful week, than which the answer is no worse.

        `tidy`, `nearer`: see `Stages` and `Bounded`. `ladder`: the models to ask; where the last of them is a small one
        and cannot say the first week, that is kept.
        """
        try:
            return self._run(limit, start, tidy, nearer, ladder)
        except KeyboardInterrupt:  # between two solves
            if start is None or self._forbidden:  # it may itself be forbidden
                raise
            return self.kept(start, 0.0, True)

    def _run(
        self, limit: float, start: WeekPlan | None, tidy: bool, nearer: Nearer | None, ladder: Sequence[Small]
    ) -> Climbed:
        knots = self.knots(limit)
        left = limit - knots.bill()
        rungs = [one for one in ladder if one not in self._too_small]
        if start is not None and not rungs:
            return self.kept(start, left, False)
        for small in rungs:
            stages = self._stages(self._model(small, knots, coarse=nearer is not None), left, tidy, nearer)
            if small and not stages.assume_least(knots.known):
                self._too_small.append(small)
                continue
            begun = start is not None and stages.start_from(start)
            if small and small == ladder[-1] and start is not None and not begun:
                return self.kept(start, stages.left, stages.stopped)
            spare = (1 - RUNG_SHARE) * left if small and start is not None and not begun else 0.0
            kept = 0.0 if nearer is None else FINER_SHARE * (left - spare)
            stages.left -= spare + kept
            stages.run()
            stages.left = left = stages.left + spare + kept
            if spare and nearer is not None and stages.plan is not None and not (stages.finished or stages.stopped):
                stages = self._once_more(small, stages, knots, tidy, nearer)
            if nearer is not None:
                stages = self._made_finer(small, stages, knots, tidy, nearer)
            left = stages.left
            if stages.infeasible and small:
                self._too_small.append(small)
            if stages.stopped or (stages.plan is not None) or not (stages.infeasible or spare):
                break
        if start is not None and stages.plan is None and not (stages.infeasible or self._forbidden):
            return self.kept(start, left, stages.stopped)
        proofs = tuple(stages.proofs)
        return Climbed(stages.plan, proofs, stages.finished, stages.stopped, stages.infeasible, left)

    def afresh(self, limit: float, start: WeekPlan) -> Climbed:
        """The smallest model asked from nothing, as of a small club: finished, or the better of its week and another.

        Nothing is shown of the other models.
        """
        try:
            knots, small = self.knots(limit), LADDER[0]
            stages = Stages(self._model(small, knots), limit - knots.bill(), self._tell)
            if not stages.assume_least(knots.known):
                return self.kept(start, stages.left, False)
            stages.run()
        except KeyboardInterrupt:  # between two solves
            return self.kept(start, 0.0, True)
        if stages.infeasible:
            self._too_small.append(small)
        if stages.plan is None or not stages.finished and self._paid(start) <= self._paid(stages.plan):
            return self.kept(start, stages.left, stages.stopped)
        proofs = tuple(stages.proofs)
        return Climbed(stages.plan, proofs, stages.finished, stages.stopped, False, stages.left)

    def knots(self, limit: float) -> Knots:
        """What children lose beyond counting, worked out once; nothing where changes come first, which may cost more.

        `limit`: of the whole search, which pays for them.
        """
        if self._knots is None:
            if self._narrowed is None:
                self._narrowed = narrowed_booking(self._club, self._rules)
            self._knots = Knots(self._narrowed, self._rules, 0.0 if self._earlier else limit)
        return self._knots

    def _once_more(self, small: Small, stages: Stages, knots: Knots, tidy: bool, nearer: Nearer) -> Stages:
        """A small model that could not say the first week, from the better one that it has found meanwhile."""
        assert stages.plan is not None
        again = self._stages(self._model(small, knots, coarse=True), stages.left, tidy, nearer)
        if not (again.assume_least(knots.known) and again.start_from(stages.plan)):
            return stages
        again.run()
        return again

    def _made_finer(self, small: Small, stages: Stages, knots: Knots, tidy: bool, nearer: Nearer) -> Stages:
        """What a coarse model left out, looked at in full."""
        from scheduler.booking.bounded import Bounded
        from scheduler.booking.finer import Finer

        def make(slots: dict[str, list[Slot]], left: float, whole: bool) -> Bounded:
            model = self._model(small, knots, slots=slots)
            return Bounded(model, left, self._tell, tidy=tidy and whole, nearer=nearer if whole else None)

        assert self._narrowed is not None
        assert isinstance(stages, Bounded)
        return Finer(self._club, self._rules, self._narrowed.narrowed, make).of(stages)

    def _stages(self, model: BookingModel, left: float, tidy: bool, nearer: Nearer | None) -> Stages:
        if nearer is None:
            return Stages(model, left, self._tell, tidy=tidy)
        from scheduler.booking.bounded import Bounded

        return Bounded(model, left, self._tell, tidy=tidy, nearer=nearer)

    def kept(self, plan: WeekPlan, left: float, stopped: bool) -> Climbed:
        """A lawful week as it is, nothing shown of it but what is not paid for at all."""
        wishes = self._wishes()
        paid = {wish: value for wish, value in zip(BOOKING_ORDER, self._paid(plan), strict=True) if wish in wishes}
        proofs = tuple(proof_of(wish, value, 0, not value) for wish, value in paid.items())
        return Climbed(plan, proofs, all(proof.proved for proof in proofs), stopped, False, left)

    def _paid(self, plan: WeekPlan) -> list[float]:
        """What a week pays for each wish, in their order."""
        unmet = unmet_of(self._club, plan, self._rules)
        return [sum((row.by for row in unmet if row.wish == wish), 0.0) for wish in BOOKING_ORDER]

    def _wishes(self) -> set[str]:
        """The names of the wishes about bookings that are on."""
        on = [rule for rule in self._rules if is_booking_rule(rule) and not rule.firm and rule.off(self._club) is None]
        return {rule.name for rule in on} | set(STOOD_DOWN)

    def _model(
        self, small: Small, knots: Knots, *, coarse: bool = False, slots: dict[str, list[Slot]] | None = None
    ) -> BookingModel:
        wide: Small = {**small, "widened": knots.sessions} if small else small
        model = build_booking(
            self._club, self._rules, may_cancel=self._may_cancel, earlier=self._earlier, relaxed=not self._hold,
            coarse=coarse, like=self._narrowed, slots=slots, **wide,
        )  # fmt: skip
        for knot in knots.known if not self._may_cancel else ():
            model.model.add(knot.cost(model, MINUTES) >= knot.minutes)
        hold_and_forbid(model, self._hold, self._forbidden)
        if model.relaxed:
            order_twins(model)
        if slots is None:
            self._narrowed = model
        return model
