"""The booking model as plain linear rows of whole numbers, for another engine to solve: a second opinion on values."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import Any

from ortools.sat.python import cp_model

from scheduler.booking.model import BookingModel
from scheduler.priorities import BOOKING_ORDER

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


@dataclass(frozen=True)
class Second:
    """What the other engine came to, wish by wish in the order of priorities; `first`, `proven`: seconds."""

    values: dict[str, int]
    first: float | None
    proven: float | None


def solve_rows(booking: BookingModel, seconds: float) -> Second:
    """Every wish in its order on the rows of a booking, by HiGHS: each as small as it can be, then kept so."""
    began = time.perf_counter()
    rows = rows_of(booking.model)
    values: dict[str, int] = {}
    first = None
    for wish in BOOKING_ORDER:
        terms = [penalty.amount * penalty.term for penalty in booking.penalties if penalty.wish == wish]
        if not terms:
            continue
        booking.model.proto.clear_objective()
        booking.model.minimize(cp_model.LinearExpr.sum(terms))
        objective: Any = booking.model.proto.objective
        cost = dict(zip(list(objective.vars), list(objective.coeffs), strict=True))
        value = _least(rows, cost, seconds - (time.perf_counter() - began))
        if value is None:
            return Second(values, first, None)
        first = first or time.perf_counter() - began
        values[wish] = round(value + objective.offset)
        rows.add(list(cost.items()), float("-inf"), round(value), [])
    return Second(values, first, time.perf_counter() - began)


def _least(rows: Rows, cost: dict[int, int], seconds: float) -> float | None:
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    count = len(rows.bounds)
    weights = np.zeros(count)
    for variable, factor in cost.items():
        at, sign = (variable, 1) if variable >= 0 else (-variable - 1, -1)
        weights[at] += sign * factor
    entries = [(r, v, f) for r, (row, _, _) in enumerate(rows.rows) for v, f in row.items()]
    of_row, of_variable, factors = zip(*entries, strict=True)
    matrix = csr_array((factors, (of_row, of_variable)), shape=(len(rows.rows), count))
    done = milp(
        weights,
        integrality=np.ones(count),
        bounds=Bounds([low for low, _ in rows.bounds], [high for _, high in rows.bounds]),
        constraints=LinearConstraint(matrix, [row[1] for row in rows.rows], [row[2] for row in rows.rows]),
        options={"time_limit": max(0.1, seconds), "mip_rel_gap": 0.0},
    )
    return float(done.fun) if done.status == 0 else None
