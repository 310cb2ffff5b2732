"""What is seen of a solve of a booking while it is under way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.progress import Report
from scheduler.solver import cp_model
from scheduler.solving import Solution

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel


class Watch(cp_model.CpSolverSolutionCallback):
    """Pass every better plan on to the progress line; stop at one whose zones cannot be dealt out.

    `last`: the best solution before that. To go on would only lead to plans that are better and no more lawful.
    """

    def __init__(self, booking: BookingModel, stage: str, weight: int, on_progress: Report) -> None:
        super().__init__()
        self._booking, self._stage, self._weight, self._tell = booking, stage, weight, on_progress
        self.last: Solution | None = None
        self.crowded = False

    def on_solution_callback(self) -> None:
        """Look at a better plan: pass it on, or stop."""
        found = Solution(list(self.response_proto.solution))
        if self._booking.is_crowded(found):
            self.crowded = True
            self.stop_search()
        else:
            self.last = found
            least = max(0, self.best_objective_bound)  # no wish costs less than nothing
            self._tell(self._stage, self.objective_value // self._weight, least // self._weight)
