"""The one place for CP-SAT parameters: reproducible by one worker, a fixed seed and deterministic limits.

Measured before this was written: two default workers give different plans from run to run, and for the booking one
worker with `linearization_level = 2` proves what two do not.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver

SEED = 20240101


def make_solver(
    deterministic_limit: float, linearization: int = 1, presolve: bool = True, probing: int | None = None
) -> CpSolver:
    """A solver that gives the same answer on every run; the limit is in CP-SAT's deterministic seconds.

    `probing`: one round of presolve with so much probing (0: none), for models that are solved in many short stages.
    """
    from scheduler.solver import Solver

    solver = Solver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = deterministic_limit
    solver.parameters.linearization_level = linearization
    solver.parameters.cp_model_presolve = presolve
    if probing is not None:
        solver.parameters.max_presolve_iterations = 1
        solver.parameters.cp_model_probing_level = probing
    if probing == 0:
        solver.parameters.merge_at_most_one_work_limit = 0
    return solver
