"""What is shown without a search: values that are forced, models without a solution, and bounds of no row at all."""

from __future__ import annotations

import os
import signal
from itertools import pairwise
from random import Random
from typing import Any

import numpy as np
import pytest

from scheduler.booking.forced import forced
from scheduler.booking.relaxation import UNITS, Relaxation
from scheduler.solver import Solver, cp_model
from tests.scheduler.test_booking_lifting import by_scipy as optimum
from tests.scheduler.test_booking_relaxation import (
    SEEDS,
    TIME,
    Small,
    a_model,
    by_scipy,
    costs,
    settled_rightly,
    solutions,
)

MANY_ROWS = 11  # with so many more, most models have no solution


def domains(model: cp_model.CpModel) -> list[list[int]]:
    return [list(one.domain) for one in model.proto.variables]


# values that are forced


@pytest.mark.parametrize("rows", [4, MANY_ROWS])
def test_no_value_that_a_solution_has_is_taken(rows: int) -> None:
    taken = empty = without = 0
    for seed in SEEDS:
        small = a_model(seed, rows)
        small.model.minimize(small.cost)  # what is dear is not what cannot be
        small.model.add_hint(small.variables[0], 1)
        before, points = domains(small.model), solutions(small.model)
        found = forced(small.model, TIME)
        assert not found.stopped
        assert found.work >= 0
        assert not (found.is_empty and len(points))
        if len(points):
            assert np.array_equal(solutions(small.model), points)
            taken += domains(small.model) != before
        empty += found.is_empty
        without += not len(points)
    assert taken > 10 or rows == MANY_ROWS
    assert empty > without / 2
    assert empty > 20 or rows == 4


def test_a_value_that_each_of_two_choices_forces_is_seen() -> None:
    """By trying both, which no row by itself does; and a value in between that nobody can have."""
    model = cp_model.CpModel()
    one, other, both = (model.new_bool_var(name) for name in ("one", "other", "both"))
    number = model.new_int_var(0, 5, "number")
    model.add(both >= one)
    model.add(both + one >= 1)
    model.add(other + both <= 1)
    model.add(2 * number <= 7)
    model.minimize(number)
    model.add_hint(other, 1)
    assert not forced(model, TIME).is_empty
    assert domains(model) == [[0, 1], [0, 0], [1, 1], [0, 3]]
    assert not model.proto.has_objective()
    assert list(model.proto.solution_hint.vars) == []


def test_a_model_without_a_solution_is_left_as_it_was_and_said_to_have_none() -> None:
    model = cp_model.CpModel()
    one, other = model.new_bool_var("one"), model.new_bool_var("other")
    model.add(one + other >= 1)
    model.add(one <= other)
    model.add(other + one <= 1)
    assert not forced(model, TIME).is_empty
    assert domains(model) == [[0, 0], [1, 1]]
    model.add(one >= other)
    assert forced(model, TIME).is_empty


def test_ctrl_c_leaves_whatever_a_solution_has(monkeypatch: pytest.MonkeyPatch) -> None:
    solve = cp_model.CpSolver.solve

    def pressed(self: Any, *about: Any) -> Any:
        os.kill(os.getpid(), signal.SIGINT)
        return solve(self, *about)

    small = a_model(1, MANY_ROWS)
    before = domains(small.model)
    points = solutions(small.model)
    monkeypatch.setattr(cp_model.CpSolver, "solve", pressed)
    found = forced(small.model, TIME)
    assert found.stopped
    assert not (found.is_empty and len(points))
    assert np.array_equal(solutions(small.model), points)
    monkeypatch.undo()
    monkeypatch.setattr(Solver, "solve", nothing_done)
    small = a_model(1, MANY_ROWS)
    assert forced(small.model, TIME) == (False, 0.0, True)
    assert domains(small.model) == before


def nothing_done(self: Any, model: cp_model.CpModel) -> Any:
    """A solve that Ctrl-C ended before it began."""
    self.parameters.max_deterministic_time = 0.0
    status = cp_model.CpSolver.solve(self, model)
    self.stopped = True
    return status


# models without a solution


@pytest.mark.parametrize("rows", [4, MANY_ROWS])
def test_what_is_said_to_have_no_solution_has_none(rows: int) -> None:
    """Where the plain relaxation has none either it is always seen."""
    said = unsaid = beyond = 0
    for seed in SEEDS:
        small = a_model(seed, rows)
        points, plain = solutions(small.model), by_scipy(small)
        found = Relaxation(small.model).emptiness(TIME)
        assert not found.stopped
        assert found.work >= 0
        assert not (found.is_empty and len(points)), seed
        said += found.is_empty
        unsaid += plain is None and not found.is_empty
        beyond += found.is_empty and plain is not None
    assert said > (30 if rows == MANY_ROWS else 0)
    assert unsaid <= 1
    assert beyond == 0 or rows == MANY_ROWS


def test_wide_rows_show_what_the_plain_relaxation_does_not() -> None:
    """Of an odd ring of choices, each of which excludes its neighbours, two at most; of five that all exclude each
    other one."""
    model = cp_model.CpModel()
    five = [model.new_bool_var(f"x{n}") for n in range(5)]
    for n, one in enumerate(five):
        for other in five[:n]:
            model.add(one + other <= 1)
    model.add(sum(five) >= 2)
    assert len(solutions(model)) == 0
    assert optimum(model, [0] * 5, []) == 0.0
    assert Relaxation(model).emptiness(TIME).is_empty
    ring = cp_model.CpModel()
    five = [ring.new_bool_var(f"x{n}") for n in range(5)]
    for one, other in pairwise([*five, five[0]]):
        ring.add(one + other <= 1)
    ring.add(sum(five) >= 2)
    assert len(solutions(ring)) == 5
    assert not Relaxation(ring).emptiness(TIME).is_empty


def test_whatever_the_prices_of_rows_no_solution_is_denied(monkeypatch: pytest.MonkeyPatch) -> None:
    """By lot; and of no prices nothing is said."""
    models = [small for small in map(a_model, SEEDS) if len(solutions(small.model))]
    for number, small in enumerate(models):
        relaxation, random = Relaxation(small.model), Random(number)

        def by_lot(*_: object, random: Random = random, **__: object) -> tuple[Any, int, bool]:
            prices = [random.uniform(-9, 9) for _ in range(99)]
            return np.array(prices[: relaxation._rows.lengths.size]), 1, False  # noqa: SLF001, B023

        monkeypatch.setattr(relaxation, "_solved", by_lot)
        assert not relaxation.emptiness(TIME).is_empty
        monkeypatch.setattr(relaxation, "_solved", lambda *_, **__: (None, 0, True))
        assert relaxation.emptiness(TIME) == (False, 0.0, True)
    assert len(models) > 20


@pytest.mark.parametrize(
    ("lower", "rows", "empty"),
    [
        ((0, 0), ("a + b >= 3",), True),  # too little where all is least
        ((0, 0), ("a + b >= 2",), False),
        ((1, 0), ("b - a >= 1",), True),
        ((1, 0), ("a - b <= -1",), True),  # too much
        ((1, 0), ("a - b <= 0",), False),
        ((-1, 0), ("a + 2 * b <= -2", "a + b >= 0"), True),  # both
        ((-1, -1), ("a == b", "a + b >= 1", "a <= 0"), True),
        ((-1, -1), ("a == b", "a + b >= 0", "a <= 0"), False),
        ((0, 0), ("a - b == -1", "b - a >= 1"), False),
        ((0, 0), ("a - b == -1", "b - a <= 0"), True),
        ((0, 0), ("0 * a <= 1", "b >= 1", "0 * a <= 1", "a + b >= 2", "a - b <= -1"), True),
        ((0, 0), (), False),
    ],
)
def test_rows_that_do_not_hold_where_all_is_least(lower: tuple[int, int], rows: tuple[str, ...], empty: bool) -> None:
    model = cp_model.CpModel()
    names = {name: model.new_int_var(least, 1, name) for name, least in zip("ab", lower, strict=True)}
    for row in rows:
        model.add(eval(row, names))
    assert (len(solutions(model)) == 0) is empty
    assert Relaxation(model).emptiness(TIME).is_empty is empty


# a bound without a look at the rows


def test_nothing_is_the_least_within_the_bounds_and_what_it_settles_keeps_every_plan() -> None:
    settled = negative = 0
    for seed in SEEDS:
        random, made = Random(seed), a_model(seed)
        factors = [random.randint(-6, 6) for _ in made.factors]
        small = Small(made.model, made.variables, factors, 30 + random.randint(0, 20))
        points, bounds = solutions(small.model), [(min(d), max(d)) for d in domains(small.model)]
        true = sum(min(f * low, f * high) for f, (low, high) in zip(factors, bounds, strict=True)) + small.offset
        relaxation = Relaxation(small.model)
        least = relaxation.nothing(small.cost)
        assert least.scaled == true * UNITS
        assert least.value == max(0, true)
        assert (least.work, least.stopped, least.raised) == (0.0, False, 0)
        negative += true < 0
        if len(points) and true >= 0:
            assert true <= costs(small, points).min()
            settled += settled_rightly(small, relaxation, least, points)
            most = true + 2
            within = points[costs(small, points) <= most]
            relaxation.settle(least, most)
            kept = solutions(small.model)
            assert np.array_equal(kept[costs(small, kept) <= most], within)
    assert settled > 100
    assert negative > 0


def test_of_prices_beyond_reason_nothing_is_said() -> None:
    model = cp_model.CpModel()
    one = model.new_bool_var("one")
    least = Relaxation(model).nothing(2**33 * one + 5)
    assert (least.value, least.scaled, list(least.prices)) == (0, 0, [0])
    great = Relaxation(model).nothing(2**30 * one + 5)
    assert (great.value, list(great.prices)) == (5, [2**60])
    assert list(Relaxation(model).settled(great, 2**30 + 4)) == [(0, 0)]
    assert list(Relaxation(model).settled(great, 2**30 + 5)) == []


def test_a_bound_that_is_raised_is_higher_by_one_and_settles_no_more() -> None:
    for seed in SEEDS:
        small = a_model(seed)
        relaxation, points = Relaxation(small.model), solutions(small.model)
        least = relaxation.least(small.cost, TIME)
        raised = least.raised_by_one().raised_by_one()
        assert (raised.value, raised.raised) == (least.value + 2, 2)
        assert raised.is_whole == least.is_whole
        assert raised.scaled == least.scaled
        if len(points):
            settled_rightly(small, relaxation, raised, points)
