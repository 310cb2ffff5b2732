"""The stages of a booking: one wish after the other, each as good as it can be before the next is looked at."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from math import ceil, prod
from typing import TYPE_CHECKING, NamedTuple

from scheduler.booking.knots import Knot, least_paid
from scheduler.booking.proofs import proof_of
from scheduler.booking.tidy import early_starts, what_no_wish_decides
from scheduler.booking.watch import Watch
from scheduler.plan.plan import Proof, WeekPlan
from scheduler.priorities import BOOKING_ORDER
from scheduler.progress import Report, silent
from scheduler.solver import cp_model
from scheduler.solving import Solution, make_solver, most_of

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver

    from scheduler.booking.model import BookingModel, Linear


class Parameters(NamedTuple):
    """How much of the linear relaxation and of probing a solve uses, in CP-SAT's levels."""

    linearization: int
    probing: int


class Part(NamedTuple):
    """A model with the same variables that leaves plans out; reproducible seconds for it, and tries before this one."""

    model: cp_model.CpModel
    seconds: float
    tries: int


LEAST_LEFT = 0.05  # reproducible seconds that are worth another wish
STAGE_SHARE = 0.5  # of what is left, once there is a plan: a wish that is hard to prove leaves room for the next
PART_SHARE = 0.8  # the same of a question to a part of the model, which is hardly ever hard
SHORT_SEARCH = 0.5  # reproducible seconds for what no wish decides
LAST_ABOUT_PEOPLE = "own coaches first"
ABOUT_PEOPLE = ("sessions cancelled", "fewest minutes stood down", "fewest children stood down", LAST_ABOUT_PEOPLE)
HEAVIEST = 10**9
LIGHT, IN_FULL = Parameters(linearization=1, probing=0), Parameters(linearization=2, probing=1)
# measured on towns of 12 teams: with the linear relaxation in full, wishes about slots are proven 3 to 8 times sooner,
# wishes about people 7 to 14 times later


class Stages:
    """How far a booking has come: the best plan, what is proven of it, and what time is left.

    `finished`: every stage ended in a proof. `infeasible`: there is no lawful plan at all. `stopped`: by Ctrl-C.
    `left`: reproducible seconds not spent. `tidy`: early starts last, and what no wish decides.
    """

    def __init__(
        self,
        model: BookingModel,
        limit: float,
        on_progress: Report = silent,
        *,
        tidy: bool = True,
    ) -> None:
        self._booking, self.left, self._tell, self._tidy = model, limit, on_progress, tidy
        self.plan: WeekPlan | None = None
        self.proofs: list[Proof] = []
        self.stopped = self.infeasible = False
        self.finished = True
        self._found: Solution | None = None  # what the plan was read from
        self._done: set[str] = set()
        self._begun = False  # from a plan found elsewhere; branching on reduced costs takes longer then

    def start_from(self, plan: WeekPlan) -> bool:
        """Take a lawful plan as the first one, unless this model cannot say it; whether it can."""
        found = self._said(plan)
        self._begun = found is not None and self._take(found)
        return self._begun

    def assume_least(self, knots: Sequence[Knot] = ()) -> bool:
        """Demand of who comes what counting and knots show that nobody could better; whether that makes sense here.

        Nobody is stood down for longer than that and nothing is cancelled. Where adults of other teams help only if a
        session surely has too few of its own, or is in a knot, that is all that is paid for: with one thing more,
        others who help elsewhere might do for the same price and leave better slots.
        """
        if not self._booking.children.counted or self._terms("few changes"):
            return False
        least = {"sessions cancelled": 0, **least_paid(self._booking, knots)}
        if self._booking.adults.outsiders:
            del least[LAST_ABOUT_PEOPLE]
        for wish, value in least.items():
            terms = self._terms(wish)
            if terms:
                self._booking.model.add(cp_model.LinearExpr.sum(terms) <= value)
                self.proofs.append(proof_of(wish, value, value, True))
            self._done.add(wish)
        return True

    def run(self) -> None:
        """Every wish in the order of priorities, then what no wish decides; Ctrl-C keeps the best so far."""
        order = [wish for wish in BOOKING_ORDER if wish not in self._done and self._terms(wish)]
        try:
            self._run(order)
        except KeyboardInterrupt:  # between two solves; one under way is ended, and its best taken
            self.stopped, self.finished = True, False
            self._say_of_the_rest(order)

    def _run(self, order: list[str]) -> None:
        if not order:
            self._solve("booking", cp_model.LinearExpr.sum([]), LIGHT)
        for people, wishes in groupby(order, lambda wish: wish in ABOUT_PEOPLE and not self._done):
            if not self._meet(list(wishes), LIGHT if people else IN_FULL):
                break
        self._say_of_the_rest(order)
        if self._tidy and self.plan is not None and not self.stopped and self.left > LEAST_LEFT:
            self._tidied()

    def _meet(self, wishes: list[str], parameters: Parameters) -> bool:
        """Make wishes of one kind as cheap as they can be, in their order; whether to go on."""
        return all(self._stage(together, parameters) for together in self._groups(wishes))

    def _say_of_the_rest(self, wishes: list[str]) -> None:
        """Nothing is shown of wishes that were not come to, but where they cost nothing."""
        for wish in wishes:
            if self._found is not None and all(proof.measure != wish for proof in self.proofs):
                cost = cp_model.LinearExpr.sum(self._terms(wish))
                self._keep(wish, cost, self._found.value(cost), 0)

    def _terms(self, wish: str) -> list[Linear]:
        return [penalty.amount * penalty.term for penalty in self._booking.penalties if penalty.wish == wish]

    def _groups(self, wishes: list[str]) -> list[list[str]]:
        """The wishes in order, as many at a time as weights that a linear relaxation can still tell apart allow."""
        groups: list[list[str]] = []
        weight = 1
        for wish in wishes:
            weight *= self._most(wish) + 1
            if not groups or weight > HEAVIEST:
                groups.append([])
                weight = 1
            groups[-1].append(wish)
        return groups

    def _stage(self, wishes: list[str], parameters: Parameters) -> bool:
        """Make wishes as cheap as they can be, the first before the next, and keep them so; whether to go on.

        They are solved as one: each weighs more than all that come after it could ever cost together, so that a bound
        of the sum is a bound of the first, and where that is reached of the next.
        """
        costs = [cp_model.LinearExpr.sum(self._terms(wish)) for wish in wishes]
        weights = [prod(self._most(later) + 1 for later in wishes[i + 1 :]) for i in range(len(wishes))]
        bound, proved = 0, True
        if self._found is None or any(self._found.value(cost) for cost in costs):
            weighted = [weight * cost for weight, cost in zip(weights, costs, strict=True)]
            solver, status = self._solve(wishes[0], cp_model.LinearExpr.sum(weighted), parameters, weights[0])
            proved = status == "OPTIMAL"
            bound = max(0, ceil(solver.best_objective_bound - 1e-6))
        if self._found is None:
            self.finished = False
            return False
        for wish, cost, weight in zip(wishes, costs, weights, strict=True):
            value = self._found.value(cost)  # where no plan was found, that of the stage before stands
            least = value if proved else max(0, min(value, bound // weight))
            bound = bound - weight * value if least == value else 0
            self._keep(wish, cost, value, least)
        return not self.stopped and self.left > LEAST_LEFT

    def _keep(self, wish: str, cost: Linear, value: int, least: int) -> None:
        """No plan from here on meets a wish worse than so; `least`: what is shown of every plan."""
        least = value if not value else least  # no wish costs less than nothing
        self.proofs.append(proof_of(wish, value, least, least == value))
        self.finished = self.finished and least == value
        self._booking.model.add(cost <= value)

    def _most(self, wish: str) -> int:
        """At least the most that a wish could cost."""
        return sum(most_of(term) for term in self._terms(wish))

    def _solve(self, stage: str, cost: Linear, parameters: Parameters = LIGHT, weight: int = 1) -> tuple[CpSolver, str]:
        """One solve from the best plan so far, and the status in CP-SAT's words.

        Where the plan breaks rows of a relaxed model that had waited, they are posted by now and the solve comes anew:
        what was proven without them holds with them.
        """
        while True:
            solver, status, lawful = self._solve_once(stage, cost, parameters, weight)
            if lawful or self.stopped or self.left <= 0:
                return solver, status if lawful else "UNKNOWN"

    def _solve_once(
        self, stage: str, cost: Linear, parameters: Parameters, weight: int, part: Part | None = None
    ) -> tuple[CpSolver, str, bool]:
        """The solver, the status in CP-SAT's words, and whether a plan it found breaks no row that had waited.

        `part`: asked instead of the whole model; the best plan so far is none of its own.
        """
        model = self._booking.model if part is None else part.model
        model.proto.clear_objective()
        model.minimize(cost)
        if part is None:
            self._hint(self._found)
        allowed = self.left if self.plan is None else self.left * STAGE_SHARE
        if part is not None:
            allowed = min(self.left * PART_SHARE, part.seconds)
        solver = make_solver(
            max(0.01, allowed),
            linearization=parameters.linearization,
            probing=parameters.probing,
            by_relaxation=parameters is IN_FULL and not self._begun and part is None,
            cuts=part is None,
        )
        if part is not None:
            solver.parameters.random_seed += part.tries
        self._tell(stage)
        solver.keeps_best = True
        status = str(solver.solve(model, Watch(stage, weight, self._tell)).name)
        self.stopped = self.stopped or solver.stopped
        self.left -= float(solver.response_proto.deterministic_time)
        if status == "INFEASIBLE" and part is None:
            self.infeasible = self.plan is None
        if status not in ("OPTIMAL", "FEASIBLE"):
            return solver, status, True
        return solver, status, self._take(Solution(list(solver.response_proto.solution)))

    def _take(self, found: Solution) -> bool:
        """Go on from a solution, unless its plan breaks rows that had waited; whether it is lawful."""
        plan = self._booking.mended(self._booking.read(found))
        if plan is None:
            return False
        self.plan, self._found = plan, found
        return True

    def _said(self, plan: WeekPlan) -> Solution | None:
        """A whole solution of the model for a plan, no wish dearer than it is; None where it cannot say the plan."""
        from scheduler.booking.whole import values

        known = values(self._booking, plan)
        if known is None:
            return None
        self._hint(None)
        for variable, value in known:
            self._booking.model.add_hint(variable, value)
        penalties = [penalty.amount * penalty.term for penalty in self._booking.penalties]
        self._booking.model.minimize(cp_model.LinearExpr.sum(penalties))
        solver = make_solver(max(0.01, self.left), probing=0, fix_hinted=True)
        status = str(solver.solve(self._booking.model).name)
        self.left -= float(solver.response_proto.deterministic_time)
        return Solution(list(solver.response_proto.solution)) if status in ("OPTIMAL", "FEASIBLE") else None

    def _hint(self, found: Solution | None) -> None:
        hint = self._booking.model.proto.solution_hint
        hint.vars.clear()
        hint.values.clear()
        if found is not None:
            hint.vars.extend(range(len(found.values)))
            hint.values.extend(found.values)

    def _tidied(self) -> None:
        """No wish asks for late starts or for gaps in a day: as early as a short search finds; then what is left."""
        booking = self._booking
        if self.plan is not None and booking.earlier is None:
            left, self.left = self.left, min(self.left, SHORT_SEARCH / STAGE_SHARE)
            self._solve("early starts", early_starts(booking, self.plan), IN_FULL)
            self.left = left - (min(left, SHORT_SEARCH / STAGE_SHARE) - self.left)
        if self.plan is not None:
            cost = what_no_wish_decides(booking, self.plan)
            if not self.stopped and self.left > 0:
                self._solve("what no wish decides", cost)
