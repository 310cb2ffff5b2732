"""The naive ways: the whole booking, or a whole ring of rotations, as one model with every rule and choice in it.

All wishes of a booking are one weighted sum; a rotation has the repeated pairs as its aim and no excess allowed.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from constraints import RULES
from scheduler.booking.build import build_booking
from scheduler.booking.model import BookingModel
from scheduler.club.club import Club
from scheduler.plan.plan import WeekPlan
from scheduler.rotation.exact import build_rotation
from scheduler.rotation.setting import Ring
from scheduler.solving import SEED
from tests.speed.clock import Stopwatch, alarm
from tests.speed.order import Costs, costs, most, paid, vector, weights

HEAVIEST = 2**61  # of all wishes together at their worst: the solver counts in 64 bits
Path = list[tuple[float, tuple[float, ...]]]


@dataclass
class Timed:
    """One measured booking: every better plan with its processor second, the second of the proof, the bound."""

    plan: WeekPlan | None = None
    path: Path = field(default_factory=list)
    proven: float | None = None
    bound: str = ""
    outcome: str = ""


class _Shout(cp_model.CpSolverSolutionCallback):
    def __init__(self, terms: Costs, watch: Stopwatch, path: Path) -> None:
        super().__init__()
        self._terms, self._watch, self._path = terms, watch, path

    def on_solution_callback(self) -> None:
        found = vector(paid(self._terms, lambda term: term if isinstance(term, int) else self.value(term)))
        self._path.append((self._watch(), found))


def one_model(club: Club, seconds: float, threads: int = 1) -> Timed:
    """Solve it with the solver's own settings and so many threads, for so many processor seconds, building included."""
    watch, done = Stopwatch(), Timed()
    booking: BookingModel = build_booking(club, RULES)
    terms = costs(booking)
    exact = weights(terms)
    scale = -(-sum(exact[wish] * most(term) for wish, term in terms.items()) // HEAVIEST)  # the last wishes may blur
    weight = {wish: max(1, heavy // max(1, scale)) for wish, heavy in exact.items()}
    booking.model.minimize(cp_model.LinearExpr.sum([weight[wish] * term for wish, term in terms.items()]))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.random_seed = threads, SEED
    with alarm(watch, seconds, solver.stop_search):
        status = solver.solve(booking.model, _Shout(terms, watch, done.path))
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        done.outcome = str(status.name).lower()
        return done
    done.plan = booking.read(solver)
    if status == cp_model.OPTIMAL:
        done.proven = watch()
    elif terms:
        first = next(iter(terms))
        done.bound = f"{first} at least {max(0, int(solver.best_objective_bound)) // weight[first]}"
    return done


def one_rotation(club: Club, week: WeekPlan, ring: Ring, seconds: float, groups: WeekPlan | None) -> Timed:
    """Solve the complete model of a ring; groups too large to be chosen in it are taken from a plan."""
    watch, done = Stopwatch(), Timed()
    model = build_rotation(club, week, ring, RULES, groups_from=groups, wishes=("mixing",))
    model.switches.fix_on()
    model.model.add(model.shares.excess == 0)
    cost = model.cost("mixing")
    model.model.minimize(0 if cost is None else cost)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.random_seed = 1, SEED
    shout = _Shout({} if cost is None else {"mixing": cost}, watch, done.path)
    with alarm(watch, seconds, solver.stop_search):
        status = solver.solve(model.model, shout)
    done.outcome = str(status.name).lower()
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        done.plan = model.read(solver)
    if status == cp_model.OPTIMAL:
        done.proven = watch()
    done.bound = f"{max(0, int(solver.best_objective_bound))}"
    return done
