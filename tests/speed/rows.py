"""The booking model as plain linear rows of whole numbers, for another engine to solve: a second opinion on values."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from ortools.sat.python import cp_model

from constraints import RULES
from scheduler.booking.build import build_booking
from scheduler.booking.climb import LADDER
from scheduler.booking.model import BookingModel
from scheduler.booking.stages import Stages
from scheduler.booking.twins import order_twins
from scheduler.club.club import Club
from scheduler.progress import silent
from tests.speed.clock import Stopwatch, alarm
from tests.speed.monolith import Timed
from tests.speed.order import Costs, Solution, costs, in_groups, paid, vector, weights

HEAVIEST = 10**6
FAR = 10**15  # the solver's own ends stand for no bound at all
Row = tuple[dict[int, int], float, float]


class NotLinear(Exception):
    """A constraint of another kind than a linear row."""


@dataclass
class Rows:
    """Rows `least <= sum <= most` over variables with bounds."""

    bounds: list[tuple[int, int]]
    rows: list[Row] = field(default_factory=list)

    def add(self, terms: list[tuple[int, int]], least: float, most: float, given: list[int]) -> None:
        """A row over literals (negative: the opposite of a variable), to hold where every given literal is 1."""
        total: dict[int, int] = {}
        constant = 0
        for reference, factor in terms:
            variable = reference if reference >= 0 else -reference - 1
            if reference < 0:
                constant, factor = constant + factor, -factor
            total[variable] = total.get(variable, 0) + factor
        least = least - constant if least > -FAR else float("-inf")
        most = most - constant if most < FAR else float("inf")
        if not given:
            self.rows.append((total, least, most))
            return
        low = sum(min(f * self.bounds[v][0], f * self.bounds[v][1]) for v, f in total.items())
        high = sum(max(f * self.bounds[v][0], f * self.bounds[v][1]) for v, f in total.items())
        if high > most:
            self._given(total, given, high - most, least=float("-inf"), most=most)
        if low < least:
            self._given(total, given, low - least, least=least, most=float("inf"))

    def _given(self, total: dict[int, int], given: list[int], slack: float, least: float, most: float) -> None:
        """The row may be off by `slack` for each given literal that is 0."""
        row, constant = dict(total), 0.0
        for literal in given:
            variable = literal if literal >= 0 else -literal - 1
            factor = int(slack) if literal >= 0 else -int(slack)
            row[variable] = row.get(variable, 0) + factor
            constant += slack if literal >= 0 else 0.0
        self.rows.append((row, least + constant, most + constant))


def rows_of(model: cp_model.CpModel) -> Rows:
    """Every constraint of a model as linear rows. Raises NotLinear where one has another kind."""
    proto: Any = model.proto
    found = Rows([(list(variable.domain)[0], list(variable.domain)[-1]) for variable in proto.variables])
    for constraint in proto.constraints:
        given = list(constraint.enforcement_literal)
        if constraint.has_linear():
            row = constraint.linear
            domain = list(row.domain)
            if len(domain) != 2:
                raise NotLinear("a row with a gap in what it allows")
            found.add(list(zip(list(row.vars), list(row.coeffs), strict=True)), domain[0], domain[1], given)
        elif constraint.has_bool_or():
            found.add([(one, 1) for one in constraint.bool_or.literals], 1, float("inf"), given)
        elif constraint.has_bool_and():
            for one in constraint.bool_and.literals:
                found.add([(one, 1)], 1, 1, given)
        elif constraint.has_at_most_one():
            found.add([(one, 1) for one in constraint.at_most_one.literals], float("-inf"), 1, given)
        elif constraint.has_exactly_one():
            found.add([(one, 1) for one in constraint.exactly_one.literals], 1, 1, given)
        else:
            raise NotLinear(str(constraint)[:60])
    return found


def on_rows(club: Club, seconds: float) -> Timed:
    """The rows of this program's own model on HiGHS, as many wishes at a time as its tolerances can tell apart.

    First the rows of the small models that `book` tries first, then where nothing meets those the rows of the last;
    rows that had waited are posted where a plan breaks them, as there.
    """
    watch, done = Stopwatch(), Timed()
    for narrowed in LADDER:
        booking = build_booking(club, RULES, relaxed=True, **narrowed)
        order_twins(booking)
        stages = Stages(booking, seconds, silent)
        if narrowed and not stages.assume_least():
            continue
        settled = {proof.measure: int(proof.value) for proof in stages.proofs}
        terms = {wish: term for wish, term in costs(booking).items() if wish not in settled}
        _stage_by_stage(booking, terms, settled, done, watch, seconds)
        if done.outcome != "kInfeasible":
            break
    return done


def _stage_by_stage(booking: BookingModel, terms: Costs, settled: dict[str, int], done: Timed, watch: Stopwatch,
                    seconds: float) -> None:  # fmt: skip
    """Solve for one group of wishes after the other, and keep each as good as it was found."""
    values: Sequence[float] = ()
    shout = partial(_shout, done, watch, terms, settled)
    for group in in_groups(terms, HEAVIEST) or [{}]:
        weight = weights(group)
        cost = cp_model.LinearExpr.sum([weight[wish] * term for wish, term in group.items()])
        plan = None
        while plan is None and watch() < seconds:
            values, done.outcome = _least(booking, cost, values, watch, seconds, shout)
            if not len(values):
                return
            plan = booking.mended(booking.read(Solution(values)))  # type: ignore[arg-type]
        done.plan = plan or done.plan
        if done.outcome != "kOptimal" or plan is None:
            done.outcome = f"{next(iter(group), 'booking')}: {done.outcome}"
            return
        for term in group.values():
            booking.model.add(term <= Solution(values).value(term))
    done.proven = watch()


def _shout(done: Timed, watch: Stopwatch, terms: Costs, settled: dict[str, int], values: Sequence[float]) -> None:
    found = vector(settled | paid(terms, Solution(values).value))
    if not done.path or found < done.path[-1][1]:
        done.path.append((watch(), found))


def _least(booking: BookingModel, cost: Any, start: Sequence[float], watch: Stopwatch, seconds: float,
           shout: Callable[[Sequence[float]], None]) -> tuple[Sequence[float], str]:  # fmt: skip
    """One solve of the rows for one sum, from a solution to start from; the values found (maybe none), the status."""
    import highspy
    import numpy as np

    booking.model.proto.clear_objective()
    booking.model.minimize(cost)
    rows, objective = rows_of(booking.model), booking.model.proto.objective
    count = len(rows.bounds)
    weight = np.zeros(count)
    for reference, factor in zip(list(objective.vars), list(objective.coeffs), strict=True):
        at, sign = (reference, 1) if reference >= 0 else (-reference - 1, -1)
        weight[at] += sign * factor
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_, lp.col_cost_ = count, len(rows.rows), weight
    lp.col_lower_ = np.array([low for low, _ in rows.bounds], float)
    lp.col_upper_ = np.array([high for _, high in rows.bounds], float)
    lp.row_lower_ = np.array([row[1] for row in rows.rows], float)
    lp.row_upper_ = np.array([row[2] for row in rows.rows], float)
    lp.integrality_ = [highspy.HighsVarType.kInteger] * count
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0, *(len(row) for row, _, _ in rows.rows)])
    lp.a_matrix_.index_ = np.array([v for row, _, _ in rows.rows for v in row])
    lp.a_matrix_.value_ = np.array([f for row, _, _ in rows.rows for f in row.values()], float)
    engine = highspy.Highs()
    for option, value in (("output_flag", False), ("threads", 1), ("parallel", "off"), ("mip_rel_gap", 0.0)):
        engine.setOptionValue(option, value)
    engine.passModel(lp)
    if len(start) == count:
        known = highspy.HighsSolution()
        known.col_value = list(start)
        engine.setSolution(known)
    engine.cbMipImprovingSolution += lambda event: shout(list(event.data_out.mip_solution))
    with alarm(watch, seconds, engine.cancelSolve):
        engine.HandleUserInterrupt = True
        engine.solve()
    status = engine.getModelStatus().name
    found = list(engine.getSolution().col_value) if engine.getInfo().primal_solution_status == 2 else []
    return found, status
