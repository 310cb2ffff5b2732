"""The rows of a booking model as HiGHS takes them, as many as the model has by now."""

from __future__ import annotations

from array import array
from collections.abc import Container
from typing import TYPE_CHECKING, Any, NamedTuple

import highspy
import numpy as np

from scheduler.solver import cp_model

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scheduler.booking.model import Linear

    Whole = NDArray[np.int64]

ENDLESS = 1 << 60  # a side of a row that CP-SAT does not bound lies beyond


class Silent(highspy.Highs):
    """HiGHS without a word on the screen; by itself it says its name as soon as it listens."""

    def enableCallbacks(self) -> None:  # noqa: N802 (its own name)
        """Listen, and say nothing."""
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]


class Row(NamedTuple):
    """Variables and their factors, and the least and the most that they come to."""

    variables: list[int]
    factors: list[int]
    low: int
    high: int


class Rows:
    """The linear rows of a model that hold whatever happens; those that hang on literals come with `hanging`.

    `implied`: rows, by their number, that others say as well.
    """

    def __init__(self, model: cp_model.CpModel, implied: Container[int] = ()) -> None:
        self.model, self._implied = model, implied
        self._read = 0
        self._starts, self._index, self._value = array("q", [0]), array("i"), array("q")
        self._low, self._high = array("q"), array("q")
        self._hanging: list[Any] = []
        self._wide: list[Row] = []

    def read_on(self) -> None:
        """Read what the model has more of by now."""
        constraints = self.model.proto.constraints
        for number in range(self._read, len(constraints)):
            row = constraints[number]
            if number in self._implied or not row.has_linear():
                continue
            if len(row.enforcement_literal):
                self._hanging.append(row)
                continue
            linear = row.linear
            domain = list(linear.domain)
            self._index.extend(linear.vars)
            self._value.extend(linear.coeffs)
            self._starts.append(len(self._index))
            self._low.append(domain[0])
            self._high.append(domain[-1])
        self._read = len(constraints)

    def bounds(self) -> tuple[Whole, Whole]:
        """The least and the greatest value of each variable by now."""
        domains = [variable.domain for variable in self.model.proto.variables]
        lower = np.fromiter((domain[0] for domain in domains), np.int64, len(domains))
        return lower, np.fromiter((domain[len(domain) - 1] for domain in domains), np.int64, len(domains))

    def widen(self, wide: list[Row]) -> None:
        """Have these rows too, instead of those that were given like this before."""
        self._wide = wide

    @property
    def index(self) -> NDArray[np.int32]:
        """The variables in the rows, row after row."""
        more = [variable for row in self._wide for variable in row.variables]
        return np.concatenate([np.frombuffer(self._index, np.int32), np.array(more, np.int32)])

    @property
    def value(self) -> Whole:
        """Their factors."""
        more = [factor for row in self._wide for factor in row.factors]
        return np.concatenate([np.frombuffer(self._value, np.int64), np.array(more, np.int64)])

    @property
    def starts(self) -> Whole:
        """Where in these each row begins, and the end."""
        lengths = np.array([len(row.variables) for row in self._wide], np.int64)
        return np.concatenate([np.frombuffer(self._starts, np.int64), self._starts[-1] + np.cumsum(lengths)])

    @property
    def lengths(self) -> Whole:
        """How many variables each row has."""
        starts = self.starts
        lengths: Whole = starts[1:] - starts[:-1]
        return lengths

    @property
    def sides(self) -> tuple[Whole, Whole]:
        """The least and the most that each row comes to."""
        low = np.array([row.low for row in self._wide], np.int64)
        high = np.array([row.high for row in self._wide], np.int64)
        return (
            np.concatenate([np.frombuffer(self._low, np.int64), low]),
            np.concatenate([np.frombuffer(self._high, np.int64), high]),
        )

    def numbers(self, lower: Whole, upper: Whole) -> int:
        """How many numbers there are in the rows, those of settled variables left out."""
        return int(np.count_nonzero((upper > lower)[self.index]))

    def weights(self, cost: Linear, variables: int) -> tuple[Whole, int]:
        """The factor of each variable in a cost, and what it comes to without any."""
        weights = np.zeros(variables, np.int64)
        flat = cp_model.FlatIntExpr(cp_model.LinearExpr.sum([cost]))
        for variable, factor in zip(flat.vars, flat.coeffs, strict=True):
            weights[variable.index] += factor
        return weights, int(flat.offset)

    def hanging(self, lower: Whole, upper: Whole) -> list[Row]:
        """Rows that hang on one literal, said without it: where it is 0 they are so wide that they always hold."""
        return [row for found in self._hanging for row in _wide(found, lower, upper)]

    def problem(self, lower: Whole, upper: Whole, more: list[Row]) -> highspy.HighsLp:
        """The rows and some more of them with bounds of the variables, without a cost."""
        problem = highspy.HighsLp()
        problem.num_col_, problem.num_row_ = len(lower), len(self.lengths) + len(more)
        problem.col_cost_ = np.zeros(len(lower))
        problem.col_lower_, problem.col_upper_ = lower.astype(float), upper.astype(float)
        low, high = (
            np.concatenate([side, np.fromiter(ends, np.int64, len(more))]).astype(float)
            for side, ends in zip(self.sides, ((row.low for row in more), (row.high for row in more)), strict=True)
        )
        problem.row_lower_ = np.where(low < -ENDLESS, -highspy.kHighsInf, low)
        problem.row_upper_ = np.where(high > ENDLESS, highspy.kHighsInf, high)
        lengths = np.cumsum([self.starts[-1], *(len(row.variables) for row in more)])
        problem.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        problem.a_matrix_.start_ = np.concatenate([self.starts, lengths[1:]])
        index = [self.index, *(np.array(row.variables, np.int32) for row in more)]
        value = [self.value, *(np.array(row.factors, np.int64) for row in more)]
        problem.a_matrix_.index_, problem.a_matrix_.value_ = np.concatenate(index), np.concatenate(value).astype(float)
        return problem

    def stretch(self, problem: highspy.HighsLp, lower: Whole) -> None:
        """Let rows that do not hold where every variable is at its least be missed, by more variables that cost one."""
        low, high = self.sides
        terms = np.concatenate([[0], np.cumsum(self.value * lower[self.index])])
        sums = terms[self.starts[1:]] - terms[self.starts[:-1]]
        short, long = np.flatnonzero(sums < low), np.flatnonzero(sums > high)
        missed = np.concatenate([short, long])
        many, columns = len(missed), problem.num_col_
        lengths = self.lengths.copy()
        at = self.starts[1:][missed]  # at the end of each such row
        order = np.argsort(at, kind="stable")
        signs = np.concatenate([np.ones(len(short)), -np.ones(len(long))])
        index, value = np.array(problem.a_matrix_.index_), np.array(problem.a_matrix_.value_)
        problem.a_matrix_.index_ = np.insert(index, at[order], (columns + np.arange(many))[order]).astype(np.int32)
        problem.a_matrix_.value_ = np.insert(value, at[order], signs[order])
        lengths[missed] += 1
        problem.a_matrix_.start_ = np.concatenate([[0], np.cumsum(lengths)])
        problem.num_col_ = columns + many
        problem.col_cost_ = np.concatenate([np.array(problem.col_cost_), np.ones(many)])
        problem.col_lower_ = np.concatenate([np.array(problem.col_lower_), np.zeros(many)])
        problem.col_upper_ = np.concatenate([np.array(problem.col_upper_), np.full(many, highspy.kHighsInf)])


def _wide(row: Any, lower: Whole, upper: Whole) -> list[Row]:
    """One row for each side of a row that binds; none where it hangs on several literals."""
    literals, linear = list(row.enforcement_literal), row.linear
    if len(literals) > 1:
        return []
    index, value, domain = list(linear.vars), list(linear.coeffs), list(linear.domain)
    on = literals[0]
    variable = on if on >= 0 else -on - 1
    ends = [(factor * int(lower[one]), factor * int(upper[one])) for one, factor in zip(index, value, strict=True)]
    found = []
    for bound, sign, far in (
        (domain[0], 1, sum(map(min, ends))),
        (domain[-1], -1, sum(map(max, ends))),
    ):
        slack = sign * (bound - far)  # how far beyond the side the row could lie
        if slack <= 0:
            continue
        factor, wide = (-sign * slack, far) if on >= 0 else (sign * slack, bound)
        low, high = (wide, ENDLESS * 2) if sign > 0 else (-ENDLESS * 2, wide)
        factors = dict(zip(index, value, strict=True))
        factors[variable] = factors.get(variable, 0) + factor  # HiGHS takes no row that names a variable twice
        found.append(Row(list(factors), list(factors.values()), low, high))
    return found
