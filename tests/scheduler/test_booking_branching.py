"""The rows of a model for HiGHS, and plans that it proposes, against every point of small models."""

from __future__ import annotations

import os
import signal
from random import Random
from typing import Any, NamedTuple

import numpy as np
import pytest

from scheduler.booking.branching import A_LOOK, OPTIONS, TO_BEGIN, proposal
from scheduler.booking.rows import Rows, Silent
from scheduler.solver import cp_model
from tests.scheduler.test_booking_relaxation import TIME, a_row, solutions

SEEDS = range(60)


class Asked(NamedTuple):
    """A model, and its literals and numbers."""

    model: cp_model.CpModel
    variables: list[cp_model.IntVar]


def a_model(seed: int) -> Asked:
    """Seven literals and two numbers; half of the rows hang on a literal or on a denied one, maybe one of their own."""
    random = Random(seed)
    model = cp_model.CpModel()
    literals = [model.new_bool_var(f"x{n}") for n in range(7)]
    variables = [*literals, model.new_int_var(0, 3, "n"), model.new_int_var(-2, 1, "m")]
    for _ in range(random.choice((3, 6))):
        a_row(model, variables, random)
    for _ in range(5):
        a_row(model, variables, random).only_enforce_if(random.choice((random.choice(literals), ~literals[1])))
    return Asked(model, variables)


def every_point(model: cp_model.CpModel) -> np.ndarray[Any, Any]:
    bare = cp_model.CpModel()
    for variable in model.proto.variables:
        bare.new_int_var(*list(variable.domain), "")
    return solutions(bare)


def held(points: np.ndarray[Any, Any], rows: Rows) -> np.ndarray[Any, Any]:
    """Whether each point keeps all rows, as HiGHS is given them."""
    lower, upper = rows.bounds()
    problem = rows.problem(lower, upper, rows.hanging(lower, upper))
    starts, index, value = (np.array(of) for of in (problem.a_matrix_.start_, problem.a_matrix_.index_,
                                                    problem.a_matrix_.value_))  # fmt: skip
    kept = np.ones(len(points), bool)
    for number in range(problem.num_row_):
        row = slice(starts[number], starts[number + 1])
        assert len(set(index[row])) == len(index[row]), "HiGHS takes no row that names a variable twice"
        total = points[:, index[row]] @ value[row]
        kept &= (total >= problem.row_lower_[number]) & (total <= problem.row_upper_[number])
    return kept


def test_the_rows_hold_for_every_solution_and_for_nothing_else() -> None:
    """Those that hang on a literal included, made so wide that without it they always hold."""
    hanging = empty = 0
    for seed in SEEDS:
        asked = a_model(seed)
        points, rows = every_point(asked.model), Rows(asked.model)
        rows.read_on()
        kept = points[held(points, rows)]
        assert np.array_equal(kept, solutions(asked.model)), seed
        empty += not len(kept)
        hanging += len(rows.hanging(*rows.bounds()))
    assert hanging > 200
    assert 5 < empty < 40


def test_a_row_that_hangs_on_two_literals_is_left_out() -> None:
    model = cp_model.CpModel()
    one, other, third = (model.new_bool_var(f"x{n}") for n in range(3))
    model.add(one + third >= 2).only_enforce_if(other, ~third)
    model.add(one + other <= 0).only_enforce_if(third)
    rows = Rows(model)
    rows.read_on()
    assert [set(row.variables) for row in rows.hanging(*rows.bounds())] == [{0, 1, 2}]
    points = every_point(model)
    kept = points[held(points, rows)].tolist()
    assert [1, 1, 0] in kept
    assert [1, 1, 0] not in solutions(model).tolist()
    assert proposal(model, TIME).values in kept


def test_sides_that_a_row_has_not_or_that_always_hold_ask_for_nothing() -> None:
    """One row for each side that could be broken, and none for the others."""
    model = cp_model.CpModel()
    on, number = model.new_bool_var("on"), model.new_int_var(-3, 4, "number")
    for row in (number >= -3, number <= 4, number >= -2, number == 2):
        model.add(row).only_enforce_if(on)
    rows = Rows(model)
    rows.read_on()
    assert len(rows.hanging(*rows.bounds())) == 3


def test_what_is_posted_later_is_read_too() -> None:
    model = cp_model.CpModel()
    one, other = model.new_bool_var("one"), model.new_bool_var("other")
    model.add(one + other <= 1)
    rows = Rows(model)
    rows.read_on()
    model.add(one >= 1)
    model.add(other >= 1).only_enforce_if(one)
    points = every_point(model)
    assert len(points[held(points, rows)]) == 3
    rows.read_on()
    rows.read_on()
    assert len(rows.lengths) == 2
    assert not held(points, rows).any()


# proposals


def test_a_plan_is_proposed_exactly_where_there_is_one() -> None:
    found = 0
    for seed in SEEDS:
        asked = a_model(seed)
        proposed, points = proposal(asked.model, TIME), solutions(asked.model).tolist()
        assert (proposed.values is None) == (not points), seed
        assert proposed.values is None or list(proposed.values) in points
        assert proposed.work > 0
        assert not proposed.stopped
        assert proposal(asked.model, TIME) == proposed
        found += proposed.values is not None
    assert 20 < found < 55


def a_hard_model() -> cp_model.CpModel:
    """Five times half of sixty numbers by lot, exactly: more than can be looked at in the time given here."""
    random, model = Random(3), cp_model.CpModel()
    many = [model.new_bool_var(f"x{n}") for n in range(60)]
    for _ in range(5):
        factors = [random.randint(1, 40) for _ in many]
        model.add(sum(factor * one for factor, one in zip(factors, many, strict=True)) == sum(factors) // 2)
    return model


@pytest.fixture
def not_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    """Five seconds by the clock at most, so that a search that nothing ends fails soon."""
    monkeypatch.setitem(OPTIONS, "time_limit", 5.0)


@pytest.mark.usefixtures("not_for_ever")
def test_in_too_short_a_time_nothing_is_proposed_and_the_time_is_told() -> None:
    model = a_hard_model()
    rows = Rows(model)
    rows.read_on()
    numbers = rows.numbers(*rows.bounds())
    for seconds in (0.0, 0.05):
        short = proposal(model, seconds)
        assert short.values is None
        assert not short.stopped
        assert (1 + TO_BEGIN) * A_LOOK * numbers <= short.work
        assert short.work < seconds + 0.05
        assert proposal(model, seconds) == short


@pytest.mark.usefixtures("not_for_ever")
def test_ctrl_c_ends_the_search(monkeypatch: pytest.MonkeyPatch) -> None:
    run = Silent.run

    def pressed(self: Any) -> Any:
        os.kill(os.getpid(), signal.SIGINT)
        return run(self)

    monkeypatch.setattr(Silent, "run", pressed)
    found = proposal(a_hard_model(), TIME)
    assert found.values is None
    assert found.stopped
    assert found.work < TIME / 10
