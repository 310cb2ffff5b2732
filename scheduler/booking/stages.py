"""The stages of a booking: one wish after the other, each as good as it can be before the next is looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from scheduler.plan.plan import Proof, WeekPlan
from scheduler.priorities import BOOKING_ORDER
from scheduler.progress import Report
from scheduler.solving import make_solver

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver

    from scheduler.booking.model import BookingModel, Linear

UNITS = {
    "fewest minutes stood down": "minutes",
    "fewest children stood down": "players",
    "own coaches first": "adults",
    "brothers and sisters together": "outings",
}
SPENT = 0.99
LEAST_LEFT = 0.05  # reproducible seconds that are worth another wish
STAGE_SHARE = 0.5  # of what is left, once there is a plan: a wish that is hard to prove leaves room for the next
LAST_ABOUT_PEOPLE = "own coaches first"


class _Shout(cp_model.CpSolverSolutionCallback):
    """Pass every better plan on to the progress line."""

    def __init__(self, stage: str, on_progress: Report) -> None:
        super().__init__()
        self._stage, self._tell = stage, on_progress

    def on_solution_callback(self) -> None:
        self._tell(self._stage, self.objective_value, self.best_objective_bound)


class Stages:
    """How far a booking has come: the best plan, what is proven of it, and what time is left.

    `finished`: every stage ended in a proof. `infeasible`: there is no lawful plan at all. `stopped`: by Ctrl-C.
    """

    def __init__(self, model: BookingModel, limit: float, on_progress: Report) -> None:
        self._booking, self._left, self._tell = model, limit, on_progress
        self.plan: WeekPlan | None = None
        self.proofs: list[Proof] = []
        self.stopped = self.infeasible = False
        self.finished = True
        self._values: list[int] = []
        self._done: set[str] = set()
        self._solver: CpSolver | None = None

    def assume_least(self, own_adults: bool) -> bool:
        """Demand of who comes what counting alone shows that nobody could better; whether that makes sense here.

        Nobody is stood down for longer than counting demands, nothing is cancelled and, with `own_adults`, no team
        lacks its own coaches. A booking found so is as good in all of that as any other could be.
        """
        children = self._booking.children
        if not children.counted or self._cost("few changes") is not None:
            return False
        losing = [squad for squad in children.squads if children.least_lost(squad) > 0]
        least = {
            "sessions cancelled": 0,
            "fewest minutes stood down": sum(children.least_lost(squad) for squad in losing),
            "fewest children stood down": sum(squad.size for squad in losing),
        }
        if own_adults:
            least[LAST_ABOUT_PEOPLE] = 0
        for wish, value in least.items():
            cost = self._cost(wish)
            if cost is not None:
                self._booking.model.add(cost <= value)
                self._note(wish, value, value, True)
            self._done.add(wish)
        return True

    def run(self) -> None:
        """Every wish in the order of priorities, then what no wish decides."""
        order = [wish for wish in BOOKING_ORDER if wish not in self._done and self._cost(wish) is not None]
        if not order:
            self._solve("booking", None)
        for wish in order:
            cost = self._cost(wish)
            if cost is None or not self._stage(wish, cost):
                return
        if self.plan is not None:
            self._settle()

    def _note(self, wish: str, value: int, bound: float, proved: bool) -> None:
        text = f"{wish}: {value}" + ("; less is not possible" if proved else f"; at least {bound:g}, not proven")
        unit = UNITS.get(wish, "sessions")
        self.proofs.append(
            Proof(measure=wish, pool="booking", value=value, bound=bound, proved=proved, unit=unit, text=text)
        )

    def _cost(self, wish: str) -> Linear | None:
        terms = [penalty.amount * penalty.term for penalty in self._booking.penalties if penalty.wish == wish]
        return cp_model.LinearExpr.sum(terms) if terms else None

    def _stage(self, wish: str, cost: Linear) -> bool:
        """Make one wish as cheap as it can be and keep it so; whether to go on."""
        if self._solver is not None and self._solver.value(cost) == 0:
            value, bound, proved = 0, 0.0, True  # the plan in hand pays nothing for it, and less than nothing is not
        else:
            solver, status = self._solve(wish, cost)
            if solver is None or self.plan is None:
                return False
            if status in ("OPTIMAL", "FEASIBLE"):
                value, proved = round(solver.objective_value), status == "OPTIMAL"
            elif self._solver is not None:
                value, proved = self._solver.value(cost), False  # the plan of the stage before stands
            else:
                self.finished = False
                return False
            bound = solver.best_objective_bound
        self._note(wish, value, value if proved else max(0.0, bound), proved)
        self.finished = self.finished and proved
        self._booking.model.add(cost <= value)
        return not self.stopped and self._left > LEAST_LEFT

    def _solve(self, stage: str, cost: Linear | None) -> tuple[CpSolver | None, str]:
        """One solve from the best plan so far, and the status in CP-SAT's words."""
        model = self._booking.model
        model.proto.clear_objective()
        if cost is not None:
            model.minimize(cost)
        self._hint()
        allowed = self._left if self.plan is None else self._left * STAGE_SHARE
        solver = make_solver(max(0.01, allowed), probing=False)
        self._tell(stage)
        status = str(solver.solve(model, _Shout(stage, self._tell)).name)
        spent = float(solver.response_proto.deterministic_time)
        self.stopped = self.stopped or (status in ("FEASIBLE", "UNKNOWN") and spent < allowed * SPENT)
        self._left -= spent
        if status in ("OPTIMAL", "FEASIBLE"):
            self.plan = self._booking.read(solver)
            self._values = list(solver.response_proto.solution)
            self._solver = solver
        elif status == "INFEASIBLE":
            self.infeasible = self.plan is None
        elif status == "MODEL_INVALID":
            raise AssertionError(model.validate())
        return solver, status

    def _hint(self) -> None:
        hint = self._booking.model.proto.solution_hint
        hint.vars.clear()
        hint.values.clear()
        hint.vars.extend(range(len(self._values)))
        hint.values.extend(self._values)

    def _settle(self) -> None:
        """Slots kept: own sessions before others, earlier before later; own coaches come where they can."""
        booking, plan = self._booking, self.plan
        if plan is None:
            return
        from scheduler.booking.slots import slot_of

        for planned in plan.sessions:
            literal = booking.at(planned.session, slot_of(booking.club, planned))
            if literal is not None:
                booking.model.add(literal == 1)
        if any(planned.stood_down for planned in plan.sessions):
            self._settle_children(plan)
        absent = [
            1 - literal
            for planned in plan.sessions
            for coach, literal in booking.adults.possible(planned.session).items()
            if coach in booking.adults.own(planned.session)
        ]
        self._keep_least("own coaches there", cp_model.LinearExpr.sum(absent))

    def _settle_children(self, plan: WeekPlan) -> None:
        children, club = self._booking.children, self._booking.club
        ordered = sorted(plan.sessions, key=lambda one: (one.date, one.start, one.session))
        weight = {planned.session: len(ordered) - at for at, planned in enumerate(ordered)}
        lost = {(squad, s): children.lost(squad, s) for squad in children.squads for s in squad.sessions if s in weight}
        own = [term for (squad, session), term in lost.items() if club.is_own(club.player(squad.first), session)]
        self._keep_least("own team's sessions first", cp_model.LinearExpr.sum(own))
        early = [weight[session] * term for (_, session), term in lost.items()]
        self._keep_least("earlier sessions first", cp_model.LinearExpr.sum(early))

    def _keep_least(self, stage: str, cost: Linear) -> None:
        if self.stopped or self._left <= 0:
            return
        solver, status = self._solve(stage, cost)
        if solver is not None and status in ("OPTIMAL", "FEASIBLE"):
            self._booking.model.add(cost <= round(solver.objective_value))
