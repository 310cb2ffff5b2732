"""Bounds from the linear relaxation where numbers are beyond reason, or there is little to ask."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest

from scheduler.booking.relaxation import UNITS, Relaxation
from scheduler.solver import cp_model
from tests.scheduler.test_booking_relaxation import SEEDS, TIME, a_model, costs, settled_rightly, solutions

ROOT = Path(__file__).parents[2]
FAR = 1 << 45  # no finite side of a row here brings a bound so low


@pytest.mark.parametrize("scale", [0.5, 20.0, 1e8, 1e9, 1e10, 1e300])
def test_whatever_the_prices_of_rows_the_bound_is_true(scale: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Prices by lot, beyond any reason, none at all, and such as pull to a side that a row has not."""
    told = 0
    for seed in SEEDS:
        small, random = a_model(seed), Random(seed)
        relaxation, points = Relaxation(small.model), solutions(small.model)

        def by_lot(*_: object, random: Random = random) -> tuple[Any, int, bool]:
            odd = (0.0, float("nan"), float("inf"), -float("inf"))
            prices = [random.uniform(-scale, scale) if random.random() < 0.9 else random.choice(odd) for _ in range(99)]
            return np.array(prices[: relaxation._rows.lengths.size]), 1, False  # noqa: SLF001, B023

        monkeypatch.setattr(relaxation, "_solved", by_lot)
        least = relaxation.least(small.cost, TIME)
        if len(points):
            assert -FAR * UNITS < least.scaled <= int(costs(small, points).min()) * UNITS
            settled_rightly(small, relaxation, least, points)
            told += least.scaled != small.offset * UNITS
    assert told > 15


@pytest.mark.parametrize("power", [33, 34, 40])
def test_no_factor_is_so_great_that_a_bound_overflows(power: int) -> None:
    """In the cost, in the rows, and both; by a literal denied, where a lost factor is a bound too high."""
    great = 2**power
    for in_cost, in_rows in ((great + 5, 3), (5, great + 3), (great + 5, great)):
        model = cp_model.CpModel()
        one, other = model.new_bool_var("one"), model.new_bool_var("other")
        number = model.new_int_var(-great, great, "number")
        model.add(in_rows * one + in_rows * other >= in_rows)
        model.add(in_rows * number - one >= -1)
        cost = in_cost * ~one + in_cost * ~other + 7 * number
        relaxation = Relaxation(model)
        least = relaxation.least(cost, TIME)
        assert least.value == 0
        assert least.work >= 0
        for index, value in relaxation.settled(least, 0):
            assert (index, value) in ((one.index, 1), (other.index, 1), (number.index, 0))


def test_of_a_model_without_a_plan_and_in_no_time_nothing_false_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    model = cp_model.CpModel()
    one, other = model.new_bool_var("one"), model.new_bool_var("other")
    model.add(one + other >= 2)
    model.add(one + other <= 1)
    none = Relaxation(model).least(3 * one + 2 * other, TIME)
    assert (none.value, none.stopped) == (0, False)
    assert none.work >= 0
    model = cp_model.CpModel()
    one, other = model.new_bool_var("one"), model.new_bool_var("other")
    model.add(2**50 * one + 2**50 * other >= 2**50)  # a solver of floating numbers does not even begin
    model.add(one - 2**45 * other >= -(2**44))
    refused = Relaxation(model).least(5 * one + 7 * other, TIME)
    assert refused.value <= 5
    assert refused.work >= 0
    random = Random(5)
    model = cp_model.CpModel()
    many = [model.new_bool_var(f"x{n}") for n in range(60)]
    for _ in range(50):
        model.add(sum(random.sample(many, 6)) >= 2)
    cost = sum(random.randint(1, 9) * one for one in many)
    full = Relaxation(model).least(cost, TIME)
    assert full.value > 50
    for steps in range(6):
        monkeypatch.setattr("scheduler.booking.relaxation.LEAST_STEPS", steps)
        short = Relaxation(model).least(cost, 0.0)
        assert short.value <= full.value
        assert 0 <= short.work <= full.work
        assert list(Relaxation(model).settled(short, full.value)) == [] or short.value
    assert short.value < full.value


def test_models_without_rows_or_variables_have_their_bound() -> None:
    model = cp_model.CpModel()
    assert Relaxation(model).least(cp_model.LinearExpr.sum([]), TIME).value == 0
    one = model.new_bool_var("one")
    assert Relaxation(model).least(3 * one + 2, TIME).value == 2
    model.add(0 * one <= 1)
    model.add(one + one >= 1)
    assert Relaxation(model).least(3 * one + 2, TIME).value in (4, 5)


def test_whole_bounds_are_told_from_others() -> None:
    """Two of three pairs: three halves of a literal, where one that holds alone is whole."""
    model = cp_model.CpModel()
    three = [model.new_bool_var(f"x{n}") for n in range(3)]
    for n in range(3):
        model.add(three[n] + three[n - 1] >= 1)
    half = Relaxation(model).least(sum(three), TIME)
    assert (half.value, half.is_whole) == (2, False)
    model.add(three[0] >= 1)
    whole = Relaxation(model).least(sum(three), TIME)
    assert (whole.value, whole.is_whole) == (2, True)


def test_not_a_word_on_the_screen() -> None:
    code = (
        "from scheduler.booking.relaxation import Relaxation; from scheduler.solver import cp_model;"
        "model = cp_model.CpModel(); one = model.new_bool_var('one'); model.add(one >= 1);"
        "assert Relaxation(model).least(3 * one, 1.0).value == 3"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout + done.stderr == ""
