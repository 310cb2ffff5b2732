"""Stages of a large club: a bound of each wish first, then plans that reach it, from a lawful one that there is.

The linear relaxation says what a wish costs at least, and which slots no plan near that bound has. Without these the
model of the whole week is soon asked, and a few teams at a time soon come close to the bound.
"""

from __future__ import annotations

from collections.abc import Callable, Container
from math import ceil
from typing import TYPE_CHECKING

from scheduler.booking.branching import proposal
from scheduler.booking.relaxation import Least
from scheduler.booking.sounding import Allowed, Sounding
from scheduler.booking.stages import IN_FULL, LEAST_LEFT, PART_SHARE, Parameters, Part
from scheduler.plan.plan import WeekPlan
from scheduler.priorities import BOOKING_ORDER
from scheduler.progress import Report, silent
from scheduler.solver import cp_model
from scheduler.solving import Solution, make_solver

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel, Linear

Nearer = Callable[[WeekPlan, float, Container[str], Allowed], tuple[WeekPlan, float, bool]]
"""From a plan, the seconds left, the wishes not to look after and the slots worth a try: a plan no worse, what is left
then, whether Ctrl-C came."""

FIRST_ASK = 6.0  # reproducible seconds for a first question to the model; twice as many for each later one
MANY = 25_000  # variables from which on a question takes long, and comes after a search part by part
REACH_SHARE = 0.7  # of what is left, to look for a plan at the bounds of several wishes
FEWER_SHARE = 0.2  # the same at the bounds of fewer wishes, once there was none at those of all
LAST_SHARE = 0.9  # the same where one wish is left
NEARLY = 2  # so near to what is shown, a plan is hardly ever made better part by part
AT_ROWS, RELAXED = 1, 2  # how to look at whether there is a plan at some bounds at all
LOOK_NEXT = {AT_ROWS: RELAXED, RELAXED: 0}  # once a bound was raised: what the relaxation shows is likely all there is
STEEP = 4  # where a bound is no whole number the truth may lie above it: plans are looked for by so much of it beyond


class Bounded(Sounding):
    """Stages that look at each wish about slots by itself, from a plan on.

    `nearer`: a search beside the model; None: nothing is looked for but plans at the bounds. `is_large`: the model has
    so many variables that each question to it takes long.
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
        self._nearer = nearer
        self._tight: Solution | None = None
        self._refused = False  # whether there was said to be no plan for the last proposal
        self.is_large = len(model.model.proto.variables) > MANY

    @property
    def left_out(self) -> tuple[str, ...]:
        """The wishes of which the model knows only a part, and all after them: these hang on what it does not know."""
        partly = [BOOKING_ORDER.index(wish) for wish in self.partly]
        return BOOKING_ORDER[min(partly, default=len(BOOKING_ORDER)) :]

    def still_allowed(self) -> Allowed:
        """The slots that a plan in which every wish is as well met as was found could have."""
        return self._booking.allowed_but(self._relaxation.out())

    def look_around(self, wish: str, seconds: float) -> None:
        """A wish better met by plans with most of the best one left as it is each time; nothing is shown of it."""
        cost = self._cost(wish)
        if not self._is_open(cost, 0):
            return
        assert self._found is not None
        self._tell(wish)
        self._hint(self._found)
        self._booking.model.minimize(cost)
        solver = make_solver(min(self.left, seconds), around=True)
        solver.keeps_best = True
        status = str(solver.solve(self._booking.model).name)
        self.stopped = self.stopped or solver.stopped
        self.left -= float(solver.response_proto.deterministic_time)
        if status in ("OPTIMAL", "FEASIBLE"):
            self._take(Solution(list(solver.response_proto.solution)))
        self._booking.model.add(cost <= self._value(cost))

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
        parts, tries, refused = len(wishes) == 1 or (self.is_large and far), 0, 0
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

    def _reach(self, wishes: list[str]) -> None:
        """Look for a plan that pays what is shown of as many wishes in a row as can be, and for the others little."""
        known, kept = self._known(wishes), self.left * (1 - PART_SHARE)
        look, refused, share = AT_ROWS, False, REACH_SHARE
        while not self._is_reached(known) and not self.stopped and self.left > max(kept, LEAST_LEFT):
            open_ = known[: 1 + max(number for number, wish in enumerate(known) if not self._is_reached([wish]))]
            if look and self._is_empty(open_, relaxed=look == RELAXED):
                known, look, refused = self._raised(wishes, open_, look == RELAXED), LOOK_NEXT[look], False
                continue
            rows = len(self._booking.model.proto.constraints)
            if not refused:
                part, _ = self._at_the_bounds(known)
                others = cp_model.LinearExpr.sum([self._cost(wish) for wish in wishes[len(known) :]])
                if self._propose(known, part, others, self.left * (share if len(wishes) > 1 else LAST_SHARE)):
                    break
                if self._refused and look != RELAXED:
                    look, refused = RELAXED, True
                    continue
            if len(self._booking.model.proto.constraints) == rows:  # else there are some now that had waited
                known.pop()
            look, refused, share = 0, False, FEWER_SHARE

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
