"""The problem that is given to HiGHS: wide rows in it, and rows that may be missed at a price."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import highspy
import numpy as np

from scheduler.booking.rows import ENDLESS, Row, Rows
from tests.scheduler.test_booking_relaxation import SEEDS, a_model

MANY_ROWS = 11


def dense(problem: highspy.HighsLp) -> np.ndarray[Any, Any]:
    matrix = np.zeros((problem.num_row_, problem.num_col_))
    starts = list(problem.a_matrix_.start_)
    for row, (start, end) in enumerate(pairwise(starts)):
        for at in range(start, end):
            matrix[row, problem.a_matrix_.index_[at]] += problem.a_matrix_.value_[at]
    return matrix


def test_a_stretched_problem_has_each_row_that_does_not_hold_made_good_once_and_no_other() -> None:
    """A column for each; with what it lacks the least values are a solution. Wide rows too."""
    short = long = 0
    for seed in SEEDS:
        small = a_model(seed, MANY_ROWS)
        rows = Rows(small.model)
        rows.read_on()
        rows.widen([Row([0, 3], [1, -1], -2 * ENDLESS, -1), Row([1, 2], [1, 1], 1, 2 * ENDLESS)])
        lower, upper = rows.bounds()
        plain, problem = rows.problem(lower, upper, []), rows.problem(lower, upper, [])
        rows.stretch(problem, lower)
        many, matrix = plain.num_col_, dense(problem)
        assert np.array_equal(matrix[:, :many], dense(plain))
        total, at = dense(plain) @ lower, matrix[:, many:]
        low, high = np.array(problem.row_lower_), np.array(problem.row_upper_)
        assert np.array_equal(low, plain.row_lower_)
        assert np.array_equal(high, plain.row_upper_)
        assert np.array_equal(at.sum(axis=1), np.where(total < low, 1, np.where(total > high, -1, 0)))
        assert (np.abs(at).sum(axis=0) == 1).all()
        assert list(problem.col_cost_) == [0.0] * many + [1.0] * at.shape[1]
        assert list(problem.col_lower_) == [*plain.col_lower_, *[0.0] * at.shape[1]]
        assert list(problem.col_upper_) == [*plain.col_upper_, *[highspy.kHighsInf] * at.shape[1]]
        short, long = short + int((total < low).sum()), long + int((total > high).sum())
    assert short > 100
    assert long > 100


def test_rows_have_the_wide_ones_last_and_those_given_before_no_more() -> None:
    small = a_model(3)
    rows = Rows(small.model)
    rows.read_on()
    before = dense(rows.problem(*rows.bounds(), []))
    rows.widen([Row([4], [7], 0, 1)])
    rows.widen([Row([0, 3], [1, -1], -2 * ENDLESS, 0), Row([2], [2], -5, 9)])
    after = rows.problem(*rows.bounds(), [Row([1], [3], 1, 2)])
    more = np.zeros((3, len(small.model.proto.variables)))
    more[0, [0, 3]], more[1, 2], more[2, 1] = (1, -1), 2, 3
    assert np.array_equal(dense(after), np.concatenate([before, more]))
    assert list(after.row_lower_)[-3:] == [-highspy.kHighsInf, -5, 1]
    assert list(after.row_upper_)[-3:] == [0, 9, 2]
