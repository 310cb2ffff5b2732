"""What is seen of a solve of a booking while it is under way."""

from __future__ import annotations

from scheduler.progress import Report
from scheduler.solver import cp_model


class Watch(cp_model.CpSolverSolutionCallback):
    """Pass every better plan on to the progress line."""

    def __init__(self, stage: str, weight: int, on_progress: Report) -> None:
        super().__init__()
        self._stage, self._weight, self._tell = stage, weight, on_progress

    def on_solution_callback(self) -> None:
        """Tell how good a better plan is."""
        least = max(0, self.best_objective_bound)  # no wish costs less than nothing
        self._tell(self._stage, self.objective_value // self._weight, least // self._weight)
