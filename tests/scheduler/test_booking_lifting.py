"""Rows made wider, against every solution of small models: none is cut off, and each row says more than it did."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import Any

import numpy as np
import pytest
from scipy.optimize import linprog

from scheduler.booking.lifting import Lifting
from scheduler.booking.relaxation import Relaxation
from scheduler.booking.rows import Row, Rows
from scheduler.solver import cp_model
from tests.scheduler.test_booking_relaxation import CLOSE, TIME, solutions

SEEDS = range(120)
Literals = frozenset[tuple[int, bool]]
"""Variables, and whether they are 1."""


def a_model(seed: int) -> cp_model.CpModel:
    """Nine literals, one of them settled at 1 and one at 0, and a number; rows of all kinds that say what goes with
    what, and of some that say other things."""
    random, model = Random(seed), cp_model.CpModel()
    literals = [model.new_bool_var(f"x{n}") for n in range(7)]
    literals += [model.new_int_var(1, 1, "one"), model.new_int_var(0, 0, "none")]
    random.shuffle(literals)
    number = model.new_int_var(*random.choice(((0, 2), (-1, 1))), "number")
    for _ in range(12):
        some = random.sample(literals, random.randint(1, 3))
        signed = [one if random.random() < 0.8 else ~one for one in some]
        first, *others = some
        rows = (
            sum(signed[:2]) <= 1,
            sum(signed) <= 1,
            sum(signed) >= 1,
            first == sum(others),
            first >= random.choice(literals),
            2 * first + sum(others) <= 2,
            sum(others) <= 2 * first,
            sum(others) <= first + number,
            number >= sum(some),
        )
        model.add(random.choices(rows, weights=(12, 3, 1, 1, 3, 1, 1, 1, 1))[0])
    return model


def widened(model: cp_model.CpModel) -> list[Row]:
    rows = Rows(model)
    rows.read_on()
    return Lifting(rows, *rows.bounds()).rows()


def within(row: Row, points: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    total = points[:, row.variables] @ np.array(row.factors, np.int64)
    inside: np.ndarray[Any, Any] = (total >= row.low) & (total <= row.high)
    return inside


def corners(model: cp_model.CpModel) -> np.ndarray[Any, Any]:
    """Every choice of values, whatever the rows say."""
    bare = model.clone()
    bare.proto.constraints.clear()
    return solutions(bare)


def sides(model: cp_model.CpModel) -> list[tuple[list[int], list[int], int]]:
    """Variables, factors and the most they come to, of each side of each row."""
    found = []
    for row in model.proto.constraints:
        low, high = row.linear.domain
        index, value = list(row.linear.vars), list(row.linear.coeffs)
        found += [(index, value, high), (index, [-factor for factor in value], -low)]
    return found


def allows(side: tuple[list[int], list[int], int], points: np.ndarray[Any, Any]) -> bool:
    """Whether a side of a row lets any of some points be."""
    index, value, most = side
    return bool((points[:, index] @ np.array(value, np.int64) <= most).any())


def follows(model: cp_model.CpModel, row: Row, side: tuple[list[int], list[int], int]) -> bool:
    """Whether one row says all that a side of another says, of whatever is within the bounds; by another library."""
    count = len(model.proto.variables)
    above, most = np.zeros(count), np.zeros(count)
    above[row.variables] = row.factors
    most[side[0]] = side[1]
    bounds = [(min(one.domain), max(one.domain)) for one in model.proto.variables]
    done = linprog(-most, A_ub=[above], b_ub=[row.high], bounds=bounds, method="highs")
    return bool(done.status == 2 or -done.fun <= side[2] + 1e-9)


def test_no_solution_is_cut_off_and_each_row_says_more_than_one_of_the_model() -> None:
    made = denied = settled = 0
    for seed in SEEDS:
        model = a_model(seed)
        points, everything = solutions(model), corners(model)
        for row in widened(model):
            assert within(row, points).all(), (seed, row)
            assert len(set(row.variables)) == len(row.variables)  # HiGHS takes no others
            made += 1
            denied += min(row.factors) < 0
            settled += any(model.proto.variables[one].domain[0] == 1 for one in row.variables)
            beyond = everything[~within(row, everything)]
            assert any(allows(side, beyond) and follows(model, row, side) for side in sides(model)), (seed, row)
    assert made > 100
    assert denied > 50
    assert settled == 0  # whoever has one value is in no row


def test_the_relaxation_with_them_is_never_weaker_and_never_beyond_the_truth() -> None:
    """`Relaxation` has the rows from `emptiness` on."""
    higher = asked = 0
    for seed in SEEDS:
        model, random = a_model(seed), Random(seed)
        points = solutions(model)
        if not len(points):
            continue
        wide = widened(model)
        row = random.choice(wide or [Row([0, 1], [1, -1], 0, 1)])
        factors = [-dict(zip(row.variables, row.factors, strict=True)).get(n, 0) for n in range(10)]
        cost = sum(f * model.get_int_var_from_proto_index(n) for n, f in enumerate(factors)) + 40
        true = (points @ np.array(factors)).min() + 40
        relaxation = Relaxation(model)
        before = relaxation.least(cost, TIME)
        assert not relaxation.emptiness(TIME).is_empty
        after = relaxation.least(cost, TIME)
        assert before.value <= after.value <= true
        exact = [by_scipy(model, factors, more) for more in ([], wide)]
        for found, least in zip(exact, (before, after), strict=True):
            assert abs(least.scaled / (1 << 30) - 40 - found) < CLOSE
        higher += exact[1] > exact[0] + CLOSE
        asked += 1
    assert asked > 60
    assert higher > 10


def by_scipy(model: cp_model.CpModel, factors: Sequence[int], more: Sequence[Row]) -> float:
    """The optimum of the relaxation with some more rows, by another library."""
    above, most = [], []
    every = [*sides(model), *((row.variables, row.factors, row.high) for row in more)]
    for index, value, side in every:
        if abs(side) < 1 << 60:
            above.append(np.bincount(index, value, len(factors)))
            most.append(side)
    bounds = [(min(one.domain), max(one.domain)) for one in model.proto.variables]
    done = linprog(factors, A_ub=np.array(above), b_ub=np.array(most), bounds=bounds, method="highs")
    assert done.status == 0
    return float(done.fun)


# by hand


def an_evening(model: cp_model.CpModel, day: int) -> tuple[cp_model.IntVar, ...]:
    """Two sessions of one coach, two starts each, and whether the coach comes out on that evening."""
    starts = [[model.new_bool_var(f"{who} {start} {day}") for start in range(2)] for who in "ab"]
    on = [model.new_bool_var(f"{who} {day}") for who in "ab"]
    outing = model.new_bool_var(f"outing {day}")
    for at, who in zip(starts, on, strict=True):
        model.add(who == sum(at))
        model.add(outing >= who)
    for one in starts[0]:
        for other in starts[1]:
            model.add(one + other <= 1)
    return outing, *on


def two_evenings() -> tuple[cp_model.CpModel, list[cp_model.IntVar]]:
    model = cp_model.CpModel()
    evenings = [an_evening(model, day) for day in range(2)]
    for of in zip(*(evening[1:] for evening in evenings), strict=True):
        model.add(sum(of) >= 1)
    return model, [evening[0] for evening in evenings]


def named(model: cp_model.CpModel, row: Row) -> tuple[frozenset[tuple[str, int]], int]:
    names = [model.proto.variables[one].name for one in row.variables]
    return frozenset(zip(names, row.factors, strict=True)), row.high


def test_an_outing_for_a_session_is_one_for_both_where_a_coach_has_time_for_one() -> None:
    model = cp_model.CpModel()
    an_evening(model, 0)
    rows = [named(model, row) for row in widened(model)]
    starts = {who: {(f"{who} {start} 0", 1) for start in range(2)} for who in "ab"}
    outing = ("outing 0", -1)
    assert (frozenset({outing, ("a 0", 1), *starts["b"]}), 0) in rows
    assert (frozenset({outing, ("b 0", 1), *starts["a"]}), 0) in rows
    assert (frozenset({outing, *starts["a"], *starts["b"]}), 0) in rows
    assert len(set(rows)) == len(rows) == 3


def test_a_coach_with_one_of_two_sessions_on_an_evening_needs_two_outings() -> None:
    """Half an outing on each of two evenings has both sessions by halves; "outing >= both" makes it two outings."""
    model, outings = two_evenings()
    assert len(solutions(model)) == 8  # which of them comes first, and each one's start
    relaxation = Relaxation(model)
    assert relaxation.least(sum(outings), TIME).value == 1
    assert not relaxation.emptiness(TIME).is_empty
    risen = relaxation.least(sum(outings), TIME)
    assert (risen.value, risen.is_whole) == (2, True)
    model.add(sum(outings) <= 1)
    assert len(solutions(model)) == 0
    assert by_scipy(model, [0] * len(model.proto.variables), []) == 0.0  # halves are still a solution
    assert Relaxation(model).emptiness(TIME).is_empty


def test_choices_that_come_to_nothing_leave_rows_that_can_be_solved() -> None:
    """One stands for another that excludes it: it is in a row twice, or with its opposite."""
    model = cp_model.CpModel()
    one, same, never, other = (model.new_bool_var(name) for name in ("one", "same", "never", "other"))
    model.add(one == same)
    model.add(never <= one)
    model.add(never + same <= 1)
    model.add(never + other <= 1)
    model.add(one + other <= 1)
    rows, points = widened(model), solutions(model)
    assert rows
    for row in rows:
        assert within(row, points).all()
        assert len(set(row.variables)) == len(row.variables)
        assert 0 not in row.factors
    relaxation = Relaxation(model)
    assert not relaxation.emptiness(TIME).is_empty
    assert relaxation.least(~one + 2 * ~other, TIME).value == 1
    model.add(never + other + one >= 2)
    assert len(solutions(model)) == 0
    assert Relaxation(model).emptiness(TIME).is_empty


def in_rows(*built: str, settled: dict[str, int] | None = None) -> list[tuple[frozenset[tuple[str, int]], int]]:
    """What is made of three pairs of which at most one each, said in other ways."""
    model, fixed = cp_model.CpModel(), settled or {}
    names = {name: model.new_int_var(fixed.get(name, 0), fixed.get(name, 1), name) for name in "abcdefg"}
    for row in built:
        model.add(eval(row, names))
    points = solutions(model)
    rows = widened(model)
    assert all(within(row, points).all() for row in rows)
    return sorted((named(model, row) for row in rows), key=repr)


ALL = [(frozenset({("a", 1), ("b", 1), ("c", 1)}), 1)]


@pytest.mark.parametrize(
    ("rows", "settled", "found"),
    [
        (("a + b <= 1", "b + c <= 1", "a + c <= 1"), {}, ALL),
        (("a + b <= 1", "-b - c >= -1", "1 - a >= c"), {}, ALL),
        (("a + b + d <= 2", "b + c <= 1", "a + c + 3 * d <= 4"), {"d": 1}, ALL),
        (("a + b + d <= 1", "b + c - d <= 1", "a + c <= 1"), {"d": 0}, ALL),
        (("a + b + d <= 1", "b + c <= 1", "a + c <= 1"), {"d": 1}, []),  # neither a nor b: nothing for a clique
        (("a + b <= 1", "b + c <= 1", "a + 2 * c <= 2"), {}, []),
        (("a + b <= 1", "b + c <= 1", "a + c <= 1", "d <= 1"), {}, ALL),
        (("a + b <= 1", "b + c <= 1"), {}, []),
        (("a + b + c <= 2", "a + d <= 1"), {}, []),
        (("a <= 1", "b >= 0"), {}, []),
        (("c + d <= 1",), {"c": 0, "d": 1}, []),
        (("a >= b", "1 - a >= c", "b + c <= 1"), {}, []),  # said by the first two: neither is wider for it
        ((), {}, []),
    ],
)  # fmt: skip
def test_rows_by_hand(rows: tuple[str, ...], settled: dict[str, int], found: list[Any]) -> None:
    assert in_rows(*rows, settled=settled) == found


def test_what_both_of_a_pair_exclude_its_sum_excludes() -> None:
    """a or b, whichever: c stands for "a or b", and d is excluded by both."""
    rows = in_rows("c == a + b", "a + d <= 1", "b + d <= 1")
    assert (frozenset({("a", 1), ("b", 1), ("d", 1)}), 1) in rows
    assert in_rows("c == a + b", "a + d <= 1") == []
    assert in_rows("c <= a + b", "a + d <= 1", "c + e <= 1", "d + e <= 1", "d + g <= 1") == []  # b excludes nothing


def test_what_stands_for_others_that_stand_for_others_excludes_what_these_do() -> None:
    """Whichever row comes first."""
    rows = ("e == c + f", "c == a + b", "a + d <= 1", "b + d <= 1", "f + d <= 1", "e + g <= 1", "d + g <= 1")
    for order in (rows, rows[::-1]):
        assert (frozenset({("d", 1), ("e", 1), ("g", 1)}), 1) in in_rows(*order)
