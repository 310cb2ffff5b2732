"""Bounds from the linear relaxation, against every solution of small models and an independent LP solver."""

from __future__ import annotations

from math import ceil
from random import Random
from typing import Any, NamedTuple

import numpy as np
from scipy.optimize import linprog

from scheduler.booking.relaxation import UNITS, Least, Relaxation
from scheduler.solver import cp_model

CLOSE = 1e-3
TIME = 10.0
BOUNDLESS = 1 << 60
SEEDS = range(60)


class Small(NamedTuple):
    """A model, what it costs, and every solution of it with its cost."""

    model: cp_model.CpModel
    variables: list[cp_model.IntVar]
    factors: list[int]
    offset: int

    @property
    def cost(self) -> Any:
        return sum(f * v for f, v in zip(self.factors, self.variables, strict=True)) + self.offset


def a_row(small: cp_model.CpModel, variables: list[cp_model.IntVar], random: Random) -> Any:
    chosen = random.sample(variables, random.randint(2, 5))
    total = sum(random.choice((-3, -2, -1, 1, 1, 2, 3)) * one for one in chosen)
    least = random.randint(-2, 4)
    return small.add(random.choice((total <= max(least, 0), total >= least, total >= least, total == least)))


def a_model(seed: int, rows: int = 4) -> Small:
    """Seven literals and two numbers, one of them with a gap; three more rows hang on a literal."""
    random = Random(seed)
    model = cp_model.CpModel()
    literals = [model.new_bool_var(f"x{n}") for n in range(7)]
    gap = cp_model.Domain.from_values([-1, 0, 2])
    variables = [*literals, model.new_int_var(0, 3, "n"), model.new_int_var_from_domain(gap, "gap")]
    for _ in range(rows):
        a_row(model, variables, random)
    for _ in range(3):
        a_row(model, variables, random).only_enforce_if(random.choice((literals[0], ~literals[1])))
    model.add_at_most_one(random.sample(literals, 3))
    factors = [random.randint(0, 9) for _ in variables]
    return Small(model, variables, factors, 9 + random.randint(0, 3))


def solutions(model: cp_model.CpModel) -> np.ndarray[Any, Any]:
    """Every solution, by brute force over the domains, a solution a line."""
    domains = [
        [value for low, high in zip(*[iter(v.domain)] * 2, strict=True) for value in range(low, high + 1)]
        for v in model.proto.variables
    ]
    points = np.stack([axis.ravel() for axis in np.meshgrid(*domains, indexing="ij")], axis=1)
    for row in model.proto.constraints:
        off = np.zeros(len(points), bool)
        for literal in row.enforcement_literal:
            off |= points[:, literal] == 0 if literal >= 0 else points[:, -literal - 1] == 1
        if row.has_linear():
            total = points[:, list(row.linear.vars)] @ np.array(list(row.linear.coeffs), np.int64)
            low, high = list(row.linear.domain)
            points = points[off | ((total >= low) & (total <= high))]
        else:
            points = points[points[:, list(row.at_most_one.literals)].sum(axis=1) <= 1]
    return points


def by_scipy(small: Small) -> float | None:
    """The optimum of the rows that hang on nothing, by another library; None where there is none."""
    proto = small.model.proto
    count, above, most = len(proto.variables), [], []
    for row in proto.constraints:
        if not row.has_linear() or len(row.enforcement_literal):
            continue
        factors = np.zeros(count)
        factors[list(row.linear.vars)] = list(row.linear.coeffs)
        low, high = list(row.linear.domain)
        above += [one for one, side in ((factors, high), (-factors, -low)) if abs(side) < BOUNDLESS]
        most += [side for side in (high, -low) if abs(side) < BOUNDLESS]
    factors = np.zeros(count)
    factors[: len(small.factors)] = small.factors
    bounds = [(min(v.domain), max(v.domain)) for v in proto.variables]
    done = linprog(factors, A_ub=np.array(above), b_ub=np.array(most), bounds=bounds, method="highs")
    return float(done.fun) + small.offset if done.status == 0 else None


def costs(small: Small, points: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    of: np.ndarray[Any, Any] = points[:, : len(small.factors)] @ np.array(small.factors) + small.offset
    return of


def as_scipy_says(small: Small, least: Least) -> bool:
    """Whether the bound is the optimum of the relaxation; it is never beyond, but where there is no optimum."""
    exact = by_scipy(small)
    if exact is None:
        return False
    found = least.scaled / UNITS
    assert found <= exact + 1e-9
    assert least.value == max(0, ceil(found))
    assert least.is_whole == (ceil(found) - found < 0.01)
    return exact - found <= CLOSE and least.value >= ceil(exact - CLOSE)


def settled_rightly(small: Small, relaxation: Relaxation, least: Least, points: np.ndarray[Any, Any]) -> int:
    """How many variables were settled, for four limits of the cost; each plan within the limit has those values."""
    count, paid = 0, costs(small, points)
    for most in range(least.value, least.value + 4):
        for index, value in relaxation.settled(least, most):
            assert (points[paid <= most][:, index] == value).all(), (index, value, most)
            count += 1
    return count


def test_a_bound_is_the_optimum_of_the_relaxation_and_never_beyond_the_true_one() -> None:
    asked = close = strict = settled = 0
    for seed in SEEDS:
        small = a_model(seed)
        relaxation, points = Relaxation(small.model), solutions(small.model)
        least = relaxation.least(small.cost, TIME)
        asked += by_scipy(small) is not None
        close += as_scipy_says(small, least)
        if len(points):
            assert least.value <= costs(small, points).min()
            strict += int(costs(small, points).min() > least.value)
            settled += settled_rightly(small, relaxation, least, points)
    assert asked > 30
    assert asked - close <= 2  # an interior point method now and then ends short of it
    assert strict > 5  # rows that hang on a literal, and whole numbers, cost more than the relaxation knows
    assert settled > 200


def test_what_is_fixed_beforehand_and_added_later_counts() -> None:
    """As stages chain them: a bound of a copy with less room, asked of the model itself; then more is posted."""
    asked = close = settled = more = 0
    for seed in SEEDS:
        small = a_model(seed)
        relaxation, random = Relaxation(small.model), Random(seed)
        relaxation.least(small.cost, TIME)  # reads the rows there are
        copy = Small(small.model.clone(), small.variables, small.factors, small.offset)
        for index in random.sample(range(7), 2):
            domain = copy.model.proto.variables[index].domain
            domain.clear()
            domain.extend([index % 2, index % 2])
        chained = Relaxation(copy.model)
        least, points = chained.least(small.cost, TIME), solutions(copy.model)
        close += as_scipy_says(copy, least)
        asked += by_scipy(copy) is not None
        added = small.model.new_int_var(0, 2, "added")
        a_row(small.model, [*small.variables, added], random)
        small.model.add(small.cost + 2 * added >= least.value + 2)
        if len(points):
            assert least.value <= costs(copy, points).min()
            fixed = dict(relaxation.settled(least, least.value))
            once = {n for n in range(len(least.lower)) if least.lower[n] == least.upper[n]}
            assert len(once) >= 2
            assert once <= set(fixed)
            settled += settled_rightly(copy, relaxation, least, points)
        again, points = relaxation.least(small.cost, TIME), solutions(small.model)
        close += as_scipy_says(small, again)
        asked += by_scipy(small) is not None
        if len(points):
            assert again.value <= costs(small, points).min()
            settled_rightly(small, relaxation, again, points)
            more += again.value > least.value
    assert asked - close <= 2
    assert settled > 200
    assert more > 2


def test_a_model_keeps_its_plans_within_the_limit_and_no_others() -> None:
    """`below` in a copy, `settle` in the model itself, `out` tells what can no longer be."""
    lost = 0
    for seed in SEEDS:
        small = a_model(seed)
        relaxation, points = Relaxation(small.model), solutions(small.model)
        least = relaxation.least(small.cost, TIME)
        most = least.value + 1
        within = points[costs(small, points) <= most]
        part = relaxation.below(least, small.cost, most)
        assert np.array_equal(solutions(part), within)
        assert len(solutions(small.model)) == len(points)
        relaxation.settle(least, most)
        kept = solutions(small.model)
        assert np.array_equal(kept[costs(small, kept) <= most], within)
        assert all((kept[:, index] == 0).all() for index in relaxation.out())
        lost += len(kept) < len(points)
    assert lost > 20
