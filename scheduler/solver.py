"""The solver, imported lightly: `from scheduler.solver import cp_model`, and only where something is solved.

CP-SAT's Python side imports pandas for its functions on whole series, of which nothing here is used; pandas is more
than half of the time. A stand-in takes its place and brings the real one at the first use of it.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

from scheduler.stopping import Ears

if TYPE_CHECKING:
    from ortools.sat.python.cp_model_helper import CpSolverStatus

WHOLE = "pandas"
NAMED_AT_IMPORT = ("Index", "Series")  # in annotations, worked out while the solver is imported


class _StandIn(ModuleType):
    """Pandas as far as annotations need it; everything else comes from the real one."""

    ready = False

    def __getattr__(self, name: str) -> object:
        if not self.ready and name in NAMED_AT_IMPORT:
            return type(name, (), {})
        if not self.ready:
            raise AttributeError(name)
        return getattr(import_module(WHOLE), name)


def _import_lightly() -> None:
    if WHOLE in sys.modules:
        return
    stand_in = _StandIn(WHOLE)
    sys.modules[WHOLE] = stand_in
    try:
        import_module("ortools.sat.python.cp_model")
    finally:
        del sys.modules[WHOLE]
        stand_in.ready = True


_import_lightly()

from ortools.sat.python import cp_model as cp_model  # noqa: E402  (after the stand-in)


class Solver(cp_model.CpSolver):
    """CP-SAT that ends soon after Ctrl-C and tells the program of it once its answer is there.

    By itself it answers Ctrl-C without a word to the program, and leaves the system's default behind, which ends a
    process on the spot. `keeps_best`: whoever asks goes on from the answer and looks at `stopped`; else Ctrl-C is
    KeyboardInterrupt here as anywhere.
    """

    keeps_best = stopped = False

    def solve(
        self, model: cp_model.CpModel, solution_callback: cp_model.CpSolverSolutionCallback | None = None
    ) -> CpSolverStatus:
        """As CP-SAT's own, but for a model that it cannot read: that is our defect, and never an answer."""
        self.parameters.catch_sigint_signal = False
        with Ears(self.stop_search) as ears:
            status = super().solve(model, solution_callback)
        self.stopped = ears.told
        if status == cp_model.MODEL_INVALID:
            raise AssertionError(model.validate())
        if not self.keeps_best:
            ears.tell()
        return status
