"""The solver, imported lightly: `from scheduler.solver import cp_model`, and only where something is solved.

CP-SAT's Python side imports pandas for its functions on whole series, of which nothing here is used; pandas is more
than half of the time. A stand-in takes its place and brings the real one at the first use of it.
"""

from __future__ import annotations

import signal
import sys
import threading
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

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
    """CP-SAT that gives Ctrl-C back after each solve: by itself it leaves the system's default, which ends a process
    on the spot, without a word and without what is to be done at the end."""

    def solve(
        self, model: cp_model.CpModel, solution_callback: cp_model.CpSolverSolutionCallback | None = None
    ) -> CpSolverStatus:
        """As CP-SAT's own."""
        handler = signal.getsignal(signal.SIGINT)
        try:
            return super().solve(model, solution_callback)
        finally:
            if handler is not None and threading.current_thread() is threading.main_thread():
                signal.signal(signal.SIGINT, handler)
