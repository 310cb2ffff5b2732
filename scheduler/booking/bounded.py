"""Stages of a large club: a bound of each wish first, then plans that reach it, from a lawful one that there is.

The linear relaxation says what a wish costs at least, and which slots no plan near that bound has. Without these the
model of the whole week is soon asked, and a few teams at a time soon come close to the bound.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Sequence
from math import ceil
from typing import TYPE_CHECKING

from scheduler.booking.branching import proposal
from scheduler.booking.forced import forced
from scheduler.booking.relaxation import Least, Relaxation
from scheduler.booking.slots import Slot
from scheduler.booking.stages import IN_FULL, LEAST_LEFT, PART_SHARE, Parameters, Part, Stages
from scheduler.plan.plan import WeekPlan
from scheduler.priorities import BOOKING_ORDER
from scheduler.progress import Report, silent
from scheduler.solver import cp_model
from scheduler.solving import Solution

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel, Linear

Allowed = Callable[[str, Slot], bool]
Nearer = Callable[[WeekPlan, float, Container[str], Allowed], tuple[WeekPlan, float, bool]]
"""From a plan, the seconds left, the wishes not to look after and the slots worth a try: a plan no worse, what is left
then, whether Ctrl-C came."""

FIRST_ASK = 6.0  # reproducible seconds for a first question to the model; twice as many for each later one
MANY = 25_000  # variables from which on a question takes long, and comes after a search part by part
REACH_SHARE = 0.5  # of what is left, to look for a plan at the bounds of several wishes
NEARLY = 2  # so near to what is shown, a plan is hardly ever made better part by part
AT_ROWS, RELAXED = 1, 2  # how to look at whether there is a plan at some bounds at all
LOOK_NEXT = {AT_ROWS: RELAXED, RELAXED: 0}  # once a bound was raised: what the relaxation shows is likely all there is
STEEP = 4  # where a bound is no whole number the truth may lie above it: plans are looked for by so much of it beyond


class Bounded(Stages):
    """Stages that look at each wish about slots by itself, from a plan on.

    `nearer`: a search beside the model; None: nothing is looked for but plans at the bounds.
    """

    def __init__(
        self,
        model: BookingModel,
        limit: float,
        on_progress: Report = silent,
        *,
        tidy: bool = True,
        nearer: Nearer | None,
    ) -> None:
        super().__init__(model, limit, on_progress, tidy=tidy)
        self.partly = frozenset(model.partly)
        self._nearer, self._relaxation = nearer, Relaxation(model.model, model.implied)
        self._shown: dict[str, Least] = {}  # of wishes to come, where those before them cost no more than was shown
        self._allowed: Allowed = lambda session, slot: True
        self._tight: Solution | None = None
        self._refused = False  # whether there was said to be no plan for the last proposal
        self._parts_first = len(model.model.proto.variables) > MANY

    @property
    def left_out(self) -> tuple[str, ...]:
        """The wishes of which the model knows only a part, and all after them: these hang on what it does not know."""
        partly = [BOOKING_ORDER.index(wish) for wish in self.partly]
        return BOOKING_ORDER[min(partly, default=len(BOOKING_ORDER)) :]

    def still_allowed(self) -> Allowed:
        """The slots that a plan in which every wish is as well met as was found could have."""
        return self._booking.allowed_but(self._relaxation.out())

    def tidy_up(self) -> None:
        """Settle what no wish decides, days kept."""
        if self.plan is not None and not self.stopped and self.left > LEAST_LEFT:
            self._tidied()

    def take_over(self, known: Bounded) -> None:
        """Keep each wish as well met as other stages left it, and what they showed; but what they knew only in part."""
        self.proofs = [proof for proof in known.proofs if proof.measure not in known.left_out]
        self.finished = all(proof.proved for proof in self.proofs)
        most = {proof.measure: int(proof.value) for proof in self.proofs}
        for wish in BOOKING_ORDER:
            if wish not in known.left_out:
                self._booking.model.add(self._cost(wish) <= most.get(wish, 0))
                self._done.add(wish)

    def _meet(self, wishes: list[str], parameters: Parameters) -> bool:
        if parameters is not IN_FULL or self._found is None:
            return super()._meet(wishes, parameters)
        for number in range(len(wishes)):
            self._settle(wishes[number:])
        return not self.stopped and self.left > LEAST_LEFT

    def _settle(self, wishes: list[str]) -> None:
        """Make the first of some wishes as cheap as it can be, as far as time allows, and keep it so."""
        cost = self._cost(wishes[0])
        if self._is_open(cost, 0):
            self._tighten()
        if not self._shown and self._is_open(cost, 0):
            self._sound(wishes)
            if self._nearer is None or len(wishes) > 1:  # the last wish is soon met part by part
                self._reach(wishes)
        shown = self._shown.pop(wishes[0], None)
        expected = 0 if shown is None else shown.value
        least, shown = self._closed(wishes, cost, expected, shown) if self._nearer is not None else (expected, shown)
        value = self._value(cost)
        self._keep(wishes[0], cost, value, min(least, value))
        if shown is not None and least >= value and wishes[0] not in self.left_out:
            self._relaxation.settle(shown, value)
        if value > expected:  # more than the bounds of the next wishes take for granted
            self._shown.clear()

    def _tighten(self) -> None:
        """A solution found for one wish may say that others are dearer than they are with the same plan."""
        said = None if self.plan is None or self._found is self._tight else self._said(self.plan)
        self._found = self._tight = said or self._found

    def _closed(self, wishes: list[str], cost: Linear, least: int, shown: Least | None) -> tuple[int, Least | None]:
        """Questions to the model and searches part by part in turn, until what is shown of a wish is what it costs.

        What is shown then, and what the relaxation showed last, if it was asked.
        """
        far = self._value(cost) - least > max(NEARLY, least // STEEP)
        parts, tries, refused = len(wishes) == 1 or (self._parts_first and far), 0, 0
        kept = self.left * (1 - PART_SHARE) if len(wishes) > 1 else 0.0  # for the wishes after it
        while self._is_open(cost, least) and self.left > kept:
            if shown is None:
                shown = self._asked_relaxation(cost, self._relaxation)
                least = max(least, shown.value)
            elif parts:
                self._look_nearby(wishes)
                parts = False
            else:
                rows = len(self._booking.model.proto.constraints)
                aim = self._aim(cost, shown, least, refused, tries)
                before, (least, answered) = least, self._ask(wishes[0], cost, shown, least, aim, tries)
                refused += least > before
                tries, parts = tries + (not answered), not answered
                if len(self._booking.model.proto.constraints) > rows:  # that had waited
                    shown = None
        return least, shown

    def _cost(self, wish: str) -> Linear:
        return cp_model.LinearExpr.sum(self._terms(wish))

    def _value(self, cost: Linear) -> int:
        assert self._found is not None
        return self._found.value(cost)

    def _is_open(self, cost: Linear, least: int) -> bool:
        return self._value(cost) > least and not self.stopped and self.left > LEAST_LEFT

    def _asked_relaxation(self, cost: Linear, relaxation: Relaxation) -> Least:
        shown = relaxation.least(cost, self.left * PART_SHARE)
        self.left -= shown.work
        self.stopped = self.stopped or shown.stopped
        return shown

    def _sound(self, wishes: list[str], known: Sequence[str] = ()) -> None:
        """Ask the relaxation of each wish in turn, as if those before cost no more than is shown of them.

        `known`: wishes before these of which that is known already.
        """
        part, relaxation = self._at_the_bounds(known)
        for wish in wishes:
            if self.stopped or self.left <= LEAST_LEFT:
                break
            cost = self._cost(wish)
            self._shown[wish] = (
                self._asked_relaxation(cost, relaxation) if self._value(cost) else relaxation.nothing(cost)
            )
            self._settle_in(relaxation, part, wish)
        self._allowed = self._booking.allowed_but(relaxation.out())

    def _settle_in(self, relaxation: Relaxation, part: cp_model.CpModel, wish: str) -> None:
        shown = self._shown[wish]
        relaxation.settle(shown, shown.value)
        part.add(self._cost(wish) <= shown.value)

    def _at_the_bounds(self, wishes: Sequence[str]) -> tuple[cp_model.CpModel, Relaxation]:
        """The model for plans alone that pay what is shown of some wishes, and its relaxation."""
        part = self._booking.model.clone()
        relaxation = Relaxation(part, self._booking.implied)
        for wish in wishes:
            self._settle_in(relaxation, part, wish)
        return part, relaxation

    def _reach(self, wishes: list[str]) -> None:
        """Look for a plan that pays what is shown of as many wishes in a row as can be, and for the others little."""
        known, kept = self._known(wishes), self.left * (1 - PART_SHARE)
        look, refused = AT_ROWS, False
        while not self._is_reached(known) and not self.stopped and self.left > max(kept, LEAST_LEFT):
            open_ = known[: 1 + max(number for number, wish in enumerate(known) if not self._is_reached([wish]))]
            if look and self._is_empty(open_, relaxed=look == RELAXED):
                known, look, refused = self._raised(wishes, open_, look == RELAXED), LOOK_NEXT[look], False
                continue
            rows = len(self._booking.model.proto.constraints)
            if not refused:
                part, _ = self._at_the_bounds(known)
                others = cp_model.LinearExpr.sum([self._cost(wish) for wish in wishes[len(known) :]])
                if self._propose(known, part, others, self.left * REACH_SHARE):
                    break
                if self._refused and look != RELAXED:
                    look, refused = RELAXED, True
                    continue
            if len(self._booking.model.proto.constraints) == rows:  # else there are some now that had waited
                known.pop()
            look, refused = 0, False

    def _known(self, wishes: list[str]) -> list[str]:
        return [wish for wish in wishes if wish in self._shown]

    def _raised(self, wishes: list[str], empty: list[str], relaxed: bool) -> list[str]:
        """Raise what is shown of a wish, since no plan pays what is shown of it and those before: the first such.

        `empty`: no plan pays what is shown of these. What is shown of the wishes after it took that for granted.
        """
        while len(empty) > 1 and not self.stopped:
            one, before = self._shown[empty[-1]], self._shown[empty[-2]]
            likely = relaxed and before.value and not (one.value or one.raised)
            if likely or not self._is_empty(empty[:-1], relaxed):
                break
            empty = empty[:-1]
        raised, later = empty[-1], wishes[len(empty) :]
        self._shown[raised] = self._shown[raised].raised_by_one()
        anew = next((number for number, wish in enumerate(later) if self._shown[wish].value), len(later))
        for wish in later[:anew]:
            self._shown[wish] = self._relaxation.nothing(self._cost(wish))
        for wish in later[anew:]:
            del self._shown[wish]
        self._sound(later[anew:], [*empty, *later[:anew]])
        return self._known(wishes)

    def _is_empty(self, wishes: Sequence[str], relaxed: bool) -> bool:
        """Whether no plan is seen to pay what is shown of some wishes, without a search.

        By the rows, one by one and together; `relaxed`: by their relaxation too.
        """
        part, relaxation = self._at_the_bounds(wishes)
        found = forced(part, self.left * PART_SHARE)
        self.left -= found.work
        if relaxed and not (found.is_empty or found.stopped):
            found = relaxation.emptiness(self.left * PART_SHARE)
            self.left -= found.work
        self.stopped = self.stopped or found.stopped
        return found.is_empty

    def _is_reached(self, wishes: list[str]) -> bool:
        return all(self._value(self._cost(wish)) <= self._shown[wish].value for wish in wishes)

    def _propose(self, wishes: list[str], part: cp_model.CpModel, others: Linear, seconds: float) -> bool:
        """Take a plan of a part of the model, if one is found that the whole model has too; whether it was.

        What is found is rounded, so that the wishes, in their order, are better met by it is looked at once more.
        `others`: what other wishes cost, of no weight beside these.
        """
        self._tell(wishes[0])
        raised = any(self._shown[wish].raised for wish in wishes if wish in self._shown)
        found = proposal(part, seconds, others, self._booking.implied, through_the_inside=raised)
        self.left -= found.work
        self.stopped, self._refused = self.stopped or found.stopped, found.refused
        if found.values is None:
            return False
        plan = self._booking.mended(self._booking.read(Solution(found.values)))
        said = None if plan is None else self._said(plan)
        if said is None:
            return False
        costs = [self._cost(wish) for wish in wishes]
        return [said.value(cost) for cost in costs] < [self._value(cost) for cost in costs] and self._take(said)

    def _look_nearby(self, wishes: list[str]) -> None:
        """Take a better plan found part by part, with slots alone that plans which reach the bounds may have."""
        assert self.plan is not None
        assert self._nearer is not None
        met = {
            wish for wish in wishes if wish in self._shown and self._value(self._cost(wish)) <= self._shown[wish].value
        }
        met |= {proof.measure for proof in self.proofs}
        plan, self.left, self.stopped = self._nearer(self.plan, self.left, met, self._allowed)
        said = self._said(plan)
        if said is not None:
            self._take(said)

    def _aim(self, cost: Linear, shown: Least, least: int, refused: int, tries: int) -> int:
        """How dear a plan to ask for: at the bound where it is likely the truth, else beyond, further each time."""
        likely = shown.is_whole or shown.value < least
        beyond = tries if likely and refused < 2 else max(1, least // STEEP, 2**refused // 2, tries)
        return min(self._value(cost) - 1, least + beyond)

    def _ask(self, wish: str, cost: Linear, shown: Least, least: int, aim: int, tries: int) -> tuple[int, bool]:
        """Ask the model for a plan that costs so much at most: what is shown then, and whether there was an answer."""
        part = self._relaxation.below(shown, cost, aim)
        part.add(cost >= least)
        seconds = FIRST_ASK * 2**tries
        solver, status, lawful = self._solve_once(wish, cost, IN_FULL, 1, Part(part, seconds, tries))
        if status == "INFEASIBLE":
            return aim + 1, True
        least = max(least, ceil(solver.best_objective_bound - 1e-6))
        if not lawful or status == "OPTIMAL" or self.stopped:
            return least, True
        if not tries and aim >= self._value(cost) - 1:  # likely there is no such plan
            return least, False
        return least, self._propose([wish], part, 0, min(self.left * PART_SHARE, seconds))
