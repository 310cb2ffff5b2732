"""A plan that a model of a booking allows, by HiGHS' branch and bound: cuts make large relaxations nearly whole.

What it finds is a proposal: it is read as a plan and then said in the model itself, where every row is looked at in
whole numbers. That it finds none shows nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import highspy
import numpy as np

from scheduler.booking.rows import Rows, Silent
from scheduler.stopping import Ears

if TYPE_CHECKING:
    from collections.abc import Container, Sequence

    from scheduler.booking.model import Linear
    from scheduler.solver import cp_model

A_LOOK = 5e-7  # reproducible seconds between two looks of HiGHS at whether to stop, for each number in the rows
TO_BEGIN = 8  # as much as so many looks, before the first
AN_ITERATION, MOST = 1.1e-8, 8e-4  # reproducible seconds for each number in the rows, and in all
A_LOOK_HAS = 400  # iterations, about; how many there were is known only at the end
OPTIONS: dict[str, str | int | float | bool] = {"threads": 1, "parallel": "off", "mip_max_improving_sols": 1}
INSIDE: dict[str, str | int | float | bool] = {"mip_lp_solver": "ipm", "random_seed": 8}
# of seeds 0, 7, 8 and 11 the one with which four towns of 120 teams took 14 to 21 seconds each; with 0 one took 43


class Proposal(NamedTuple):
    """The value of each variable, None where no plan was found; reproducible seconds; whether Ctrl-C came.

    `refused`: HiGHS says that there is none.
    """

    values: Sequence[int] | None
    work: float
    stopped: bool
    refused: bool = False


def proposal(
    model: cp_model.CpModel,
    seconds: float,
    cost: Linear = 0,
    implied: Container[int] = (),
    *,
    through_the_inside: bool = False,
) -> Proposal:
    """A solution of the linear rows of a model, those that hang on one literal included, the first that is found.

    It is looked for where a cost is low. `implied`: see `Rows`. `through_the_inside`: relaxations by the interior point
    method, which is sooner done where hardly any plan is left.
    """
    rows = Rows(model, implied)
    rows.read_on()
    lower, upper = rows.bounds()
    numbers = max(1, rows.numbers(lower, upper))
    problem = rows.problem(lower, upper, rows.hanging(lower, upper))
    problem.col_cost_ = rows.weights(cost, len(lower))[0].astype(float)
    problem.integrality_ = [highspy.HighsVarType.kInteger] * len(lower)
    highs = Silent()  # type: ignore[no-untyped-call]
    for name, value in (OPTIONS | (INSIDE if through_the_inside else {})).items():
        highs.setOptionValue(name, value)
    highs.passModel(problem)
    looks = 0

    def spent(iterations: int) -> float:
        return (looks + TO_BEGIN) * A_LOOK * numbers + iterations * min(MOST, AN_ITERATION * numbers)

    with Ears(lambda: None) as ears:

        def look(event: highspy.HighsCallbackEvent) -> None:
            nonlocal looks
            looks += 1
            event.interrupt(ears.told or spent(looks * A_LOOK_HAS) > seconds)

        highs.cbMipInterrupt.subscribe(look)
        highs.run()
    found = highs.getInfo()
    work = spent(max(0, found.simplex_iteration_count))
    if ears.told or found.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Proposal(None, work, ears.told, highs.getModelStatus() == highspy.HighsModelStatus.kInfeasible)
    return Proposal([int(value) for value in np.rint(highs.getSolution().col_value)], work, False)
