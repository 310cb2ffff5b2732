"""What the linear relaxation of a booking model shows of a wish: the least it costs, and what every such plan has.

HiGHS solves it by its interior point method. Nothing rests on its arithmetic: whatever prices it gives the rows, a
bound follows from them, and is reckoned here in whole numbers. Neumaier and Shcherbina, Safe bounds in linear and
mixed-integer linear programming, Mathematical Programming 99 (2004).
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

import highspy
import numpy as np

from scheduler.solver import cp_model
from scheduler.stopping import Ears

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scheduler.booking.model import Linear

    Whole = NDArray[np.int64]

UNITS = 1 << 30  # prices in whole numbers of such a part: rounding them costs less than a thousandth in all
MOST_PRICE = 2**61 // UNITS  # so that sums of two are whole numbers of 64 bits
SECONDS = 2.2e-7  # reproducible seconds that an iteration takes for each number in the rows, about those of CP-SAT
MOST_STEPS = 100
LEAST_STEPS = 10
ENDLESS = 1 << 60  # a side of a row that CP-SAT does not bound lies beyond
OPTIONS: dict[str, str | int | float | bool] = {
    "solver": "ipm",
    "run_crossover": "off",
    "threads": 1,
    "ipm_optimality_tolerance": 1e-4,
}


class _Silent(highspy.Highs):
    """HiGHS without a word on the screen; by itself it says its name as soon as it listens."""

    def enableCallbacks(self) -> None:  # noqa: N802 (its own name)
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]


class Least(NamedTuple):
    """`value`: no plan costs less. `prices`: what each variable adds to `scaled`, that bound in parts of `UNITS`.

    `lower`, `upper`: the values that each variable could have then. `work`: reproducible seconds it took. `stopped`: by
    Ctrl-C, and then nothing is known.
    """

    value: int
    scaled: int
    prices: Whole
    lower: Whole
    upper: Whole
    work: float
    stopped: bool = False

    @property
    def is_whole(self) -> bool:
        """Whether the relaxation itself comes to a whole number, and so to what is likely the least there is."""
        return self.value * UNITS - self.scaled < UNITS // 100


class Relaxation:
    """The rows of a model that hold whatever happens, as many as it has by now; those that hang on a literal wait."""

    def __init__(self, model: cp_model.CpModel) -> None:
        self._model = model
        self._read = 0
        self._starts, self._index, self._value = array("q", [0]), array("i"), array("q")
        self._low, self._high = array("q"), array("q")

    def least(self, cost: Linear, seconds: float) -> Least:
        """What is shown of a cost in so many reproducible seconds; at worst that no plan costs less than nothing."""
        self._read_on()
        lower, upper = self._bounds()
        weights, offset = self._weights(cost, len(lower))
        rows, steps, stopped = self._solved(weights, lower, upper, seconds)
        work = SECONDS * steps * self._numbers(lower, upper)
        if stopped or rows is None or np.abs(weights).max(initial=0) >= MOST_PRICE:
            return Least(0, 0, np.zeros(len(lower), np.int64), lower, upper, work, stopped)
        scaled, prices = self._priced(rows, weights, lower, upper)
        scaled += offset * UNITS
        return Least(max(0, -(-scaled // UNITS)), scaled, prices, lower, upper, work)

    def settled(self, least: Least, most: int) -> Iterator[tuple[int, int]]:
        """The variables that have one value in every plan that costs so much at most, and that value.

        What could have one value alone when the cost was looked at still can.
        """
        known = len(least.prices)  # the model may have more variables by now
        lower, upper = (side[:known] for side in self._bounds())
        away = np.abs(least.prices) > most * UNITS - least.scaled
        once = least.lower == least.upper
        near = np.where(once | (least.prices > 0), least.lower, least.upper)
        for index in np.flatnonzero((upper > lower) & (once | (away & (least.upper - least.lower == 1)))):
            yield int(index), int(near[index])

    def below(self, least: Least, cost: Linear, most: int) -> cp_model.CpModel:
        """The model once more, for plans alone that cost so much at most, with what is settled for these."""
        model = self._model.clone()
        for index, value in self.settled(least, most):
            _fix(model, index, value)
        model.add(cost <= most)
        return model

    def settle(self, least: Least, most: int) -> None:
        """Fix in the model itself what is settled for plans that cost so much at most."""
        for index, value in list(self.settled(least, most)):
            _fix(self._model, index, value)

    def out(self) -> set[int]:
        """The variables that are fixed at 0."""
        _, upper = self._bounds()
        return {int(index) for index in np.flatnonzero(upper == 0)}

    def _read_on(self) -> None:
        constraints = self._model.proto.constraints
        for number in range(self._read, len(constraints)):
            row = constraints[number]
            if not row.has_linear() or len(row.enforcement_literal):
                continue
            linear = row.linear
            domain = list(linear.domain)
            self._index.extend(linear.vars)
            self._value.extend(linear.coeffs)
            self._starts.append(len(self._index))
            self._low.append(domain[0])
            self._high.append(domain[-1])
        self._read = len(constraints)

    def _bounds(self) -> tuple[Whole, Whole]:
        domains = [variable.domain for variable in self._model.proto.variables]
        lower = np.fromiter((domain[0] for domain in domains), np.int64, len(domains))
        return lower, np.fromiter((domain[len(domain) - 1] for domain in domains), np.int64, len(domains))

    def _numbers(self, lower: Whole, upper: Whole) -> int:
        """How many numbers there are in the rows, those of settled variables left out."""
        return int(np.count_nonzero((upper > lower)[np.frombuffer(self._index, np.int32)]))

    def _lengths(self) -> Whole:
        starts = np.frombuffer(self._starts, np.int64)
        lengths: Whole = starts[1:] - starts[:-1]
        return lengths

    def _weights(self, cost: Linear, variables: int) -> tuple[Whole, int]:
        weights = np.zeros(variables, np.int64)
        flat = cp_model.FlatIntExpr(cp_model.LinearExpr.sum([cost]))
        for variable, factor in zip(flat.vars, flat.coeffs, strict=True):
            weights[variable.index] += factor
        return weights, int(flat.offset)

    def _solved(self, weights: Whole, lower: Whole, upper: Whole, seconds: float
                ) -> tuple[NDArray[np.float64] | None, int, bool]:  # fmt: skip
        """The prices of the rows, the iterations it took and whether Ctrl-C came; no prices where none were found."""
        problem = highspy.HighsLp()
        problem.num_col_, problem.num_row_ = len(weights), len(self._low)
        problem.col_cost_, problem.col_lower_, problem.col_upper_ = (
            np.asarray(x, float) for x in (weights, lower, upper)
        )
        low, high = (np.frombuffer(side, np.int64).astype(float) for side in (self._low, self._high))
        problem.row_lower_ = np.where(low < -ENDLESS, -highspy.kHighsInf, low)
        problem.row_upper_ = np.where(high > ENDLESS, highspy.kHighsInf, high)
        problem.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        problem.a_matrix_.start_ = np.frombuffer(self._starts, np.int64)
        problem.a_matrix_.index_ = np.frombuffer(self._index, np.int32)
        problem.a_matrix_.value_ = np.frombuffer(self._value, np.int64).astype(float)
        highs = _Silent()  # type: ignore[no-untyped-call]
        steps = int(seconds / SECONDS / max(1, self._numbers(lower, upper)))
        for name, value in (OPTIONS | {"ipm_iteration_limit": min(MOST_STEPS, max(LEAST_STEPS, steps))}).items():
            highs.setOptionValue(name, value)
        highs.passModel(problem)
        with Ears(lambda: None) as ears:
            highs.cbIpmInterrupt.subscribe(lambda event: event.interrupt(ears.told))
            highs.run()
        found, done = highs.getSolution(), max(0, highs.getInfo().ipm_iteration_count)
        return np.array(found.row_dual) if found.dual_valid else None, done, ears.told

    def _priced(self, rows: NDArray[np.float64], weights: Whole, lower: Whole, upper: Whole) -> tuple[int, Whole]:
        """The bound that follows from prices of the rows, in parts, and what is left of the cost of each variable.

        A row's price counts at the side of the row that it pulls to; where there is no such side it is none.
        """
        low, high = np.frombuffer(self._low, np.int64), np.frombuffer(self._high, np.int64)
        prices = np.rint(np.where(self._is_safe(rows), rows, 0) * UNITS).astype(np.int64)
        prices[((prices > 0) & (low < -ENDLESS)) | ((prices < 0) & (high > ENDLESS))] = 0
        left = weights * UNITS
        each = np.repeat(prices, self._lengths())
        np.subtract.at(left, np.frombuffer(self._index, np.int32), each * np.frombuffer(self._value, np.int64))
        sides = ((prices, np.where(prices > 0, low, high)), (left, np.where(left > 0, lower, upper)))
        return sum(int(a) * int(b) for price, side in sides for a, b in zip(price, side, strict=True) if a), left

    def _is_safe(self, rows: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Whether a row's price is so small that sums of all of them are whole numbers of 64 bits; else it has none."""
        index, value = np.frombuffer(self._index, np.int32), np.abs(np.frombuffer(self._value, np.int64))
        greatest, filled = np.ones(len(rows)), np.flatnonzero(self._lengths())
        if len(filled):
            greatest[filled] = np.maximum.reduceat(value, np.frombuffer(self._starts, np.int64)[filled])
        most = MOST_PRICE / max(1, int(np.bincount(index).max(initial=1)))
        return np.isfinite(rows) & (np.abs(rows) * greatest < most)


def _fix(model: cp_model.CpModel, index: int, value: int) -> None:
    domain = model.proto.variables[index].domain
    domain.clear()
    domain.extend([value, value])
