"""What the linear relaxation of a booking model shows of a wish: the least it costs, and what every such plan has.

HiGHS solves it by its interior point method. Nothing rests on its arithmetic: whatever prices it gives the rows, a
bound follows from them, and is reckoned here in whole numbers. Neumaier and Shcherbina, Safe bounds in linear and
mixed-integer linear programming, Mathematical Programming 99 (2004).
"""

from __future__ import annotations

from collections.abc import Container, Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from scheduler.booking.forced import Emptiness
from scheduler.booking.lifting import Lifting
from scheduler.booking.rows import ENDLESS, Rows, Silent
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
OPTIONS: dict[str, str | int | float | bool] = {
    "solver": "ipm",
    "run_crossover": "off",
    "threads": 1,
    "ipm_optimality_tolerance": 1e-4,
}


class Least(NamedTuple):
    """`value`: no plan costs less. `prices`: what each variable adds to `scaled`, that bound in parts of `UNITS`.

    `lower`, `upper`: the values that each variable could have then. `work`: reproducible seconds it took. `stopped`: by
    Ctrl-C, and then nothing is known. `raised`: how much of the value was shown in another way.
    """

    value: int
    scaled: int
    prices: Whole
    lower: Whole
    upper: Whole
    work: float
    stopped: bool = False
    raised: int = 0

    @property
    def is_whole(self) -> bool:
        """Whether the relaxation itself comes to a whole number, and so to what is likely the least there is."""
        return (self.value - self.raised) * UNITS - self.scaled < UNITS // 100

    def raised_by_one(self) -> Least:
        """The same where a plan is shown to cost more by one."""
        return self._replace(value=self.value + 1, raised=self.raised + 1)


class Relaxation:
    """The rows of a model that hold whatever happens, as many as it has by now; those that hang on a literal wait."""

    def __init__(self, model: cp_model.CpModel, implied: Container[int] = ()) -> None:
        self._model, self._rows = model, Rows(model, implied)

    def least(self, cost: Linear, seconds: float) -> Least:
        """What is shown of a cost in so many reproducible seconds; at worst that no plan costs less than nothing."""
        self._rows.read_on()
        lower, upper = self._rows.bounds()
        weights, offset = self._rows.weights(cost, len(lower))
        rows, steps, stopped = self._solved(weights, lower, upper, seconds)
        work = SECONDS * steps * self._rows.numbers(lower, upper)
        if stopped or rows is None or np.abs(weights).max(initial=0) >= MOST_PRICE:
            return Least(0, 0, np.zeros(len(lower), np.int64), lower, upper, work, stopped)
        scaled, prices = self._priced(rows, weights, lower, upper)
        scaled += offset * UNITS
        return Least(max(0, -(-scaled // UNITS)), scaled, prices, lower, upper, work)

    def nothing(self, cost: Linear) -> Least:
        """What is known of a cost that is never below nothing, without a look at the rows."""
        self._rows.read_on()
        lower, upper = self._rows.bounds()
        weights, offset = self._rows.weights(cost, len(lower))
        if np.abs(weights).max(initial=0) >= MOST_PRICE:
            return Least(0, 0, np.zeros(len(lower), np.int64), lower, upper, 0.0)
        least = int(np.where(weights > 0, lower, upper) @ weights) + offset
        return Least(max(0, least), least * UNITS, weights * UNITS, lower, upper, 0.0)

    def emptiness(self, seconds: float) -> Emptiness:
        """Whether the rows, made as wide as they can be and then relaxed, are shown to have no solution.

        Rows that do not hold where every variable is at its least may be missed at a price; what follows from the
        prices of rows then shows it, as it does of a cost.
        """
        self._rows.read_on()
        lower, upper = self._rows.bounds()
        self._rows.widen([])
        self._rows.widen(Lifting(self._rows, lower, upper).rows())
        nothing = np.zeros(len(lower), np.int64)
        rows, steps, stopped = self._solved(nothing, lower, upper, seconds, elastic=True)
        work = SECONDS * steps * self._rows.numbers(lower, upper)
        return Emptiness(rows is not None and self._priced(rows, nothing, lower, upper)[0] > 0, work, stopped)

    def settled(self, least: Least, most: int) -> Iterator[tuple[int, int]]:
        """The variables that have one value in every plan that costs so much at most, and that value.

        What could have one value alone when the cost was looked at still can.
        """
        known = len(least.prices)  # the model may have more variables by now
        lower, upper = (side[:known] for side in self._rows.bounds())
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
        _, upper = self._rows.bounds()
        return {int(index) for index in np.flatnonzero(upper == 0)}

    def _solved(
        self, weights: Whole, lower: Whole, upper: Whole, seconds: float, *, elastic: bool = False
    ) -> tuple[NDArray[np.float64] | None, int, bool]:
        """The prices of the rows, the iterations it took and whether Ctrl-C came; no prices where none were found."""
        problem = self._rows.problem(lower, upper, [])
        problem.col_cost_ = weights.astype(float)
        if elastic:
            self._rows.stretch(problem, lower)
        highs = Silent()  # type: ignore[no-untyped-call]
        steps = int(seconds / SECONDS / max(1, self._rows.numbers(lower, upper)))
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
        low, high = self._rows.sides
        prices = np.rint(np.where(self._is_safe(rows), rows, 0) * UNITS).astype(np.int64)
        prices[((prices > 0) & (low < -ENDLESS)) | ((prices < 0) & (high > ENDLESS))] = 0
        left = weights * UNITS
        each = np.repeat(prices, self._rows.lengths)
        np.subtract.at(left, self._rows.index, each * self._rows.value)
        sides = ((prices, np.where(prices > 0, low, high)), (left, np.where(left > 0, lower, upper)))
        return sum(int(a) * int(b) for price, side in sides for a, b in zip(price, side, strict=True) if a), left

    def _is_safe(self, rows: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Whether a row's price is so small that sums of all of them are whole numbers of 64 bits; else it has none."""
        index, value = self._rows.index, np.abs(self._rows.value)
        greatest, filled = np.ones(len(rows)), np.flatnonzero(self._rows.lengths)
        if len(filled):
            greatest[filled] = np.maximum.reduceat(value, self._rows.starts[filled])
        most = MOST_PRICE / max(1, int(np.bincount(index).max(initial=1)))
        return np.isfinite(rows) & (np.abs(rows) * greatest < most)


def _fix(model: cp_model.CpModel, index: int, value: int) -> None:
    domain = model.proto.variables[index].domain
    domain.clear()
    domain.extend([value, value])
