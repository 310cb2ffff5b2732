"""Demands of a model that cannot stand together, none of which can be spared: a core, then each left out in turn.

Measured before this was written: cores are short only with presolve off and without an objective, one worker. Measured
since: without presolve nine tenths of the time went into probing and the linear relaxation, which most questions about
a few sessions do not need.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.outcome import Demand
from scheduler.solving import make_solver

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import BoolVarT, CpModel, CpSolver, IntVar

LIGHT = 1.0  # deterministic seconds for propagation and search alone, before the linear relaxation and probing


@dataclass(frozen=True)
class Assumed:
    """A demand and the literal that must be 1 where it holds. `fixed`: nothing the club could change this week."""

    demand: Demand
    literal: IntVar
    fixed: bool = False


@dataclass(frozen=True)
class Core:
    """Demands that cannot stand together; `minimal`: each left out makes the others possible (shown by solving)."""

    members: tuple[Assumed, ...]
    minimal: bool


def assume(
    model: CpModel, literals: Sequence[BoolVarT], limit: float, symmetries: bool = True
) -> tuple[CpSolver, str, float]:
    """Solve a model with these literals taken to be 1: the solver, its status, and the deterministic seconds spent.

    `symmetries`: look for them from the start; in a large model that holds few surprises they cost more than they save.
    """
    model.clear_assumptions()
    model.add_assumptions(literals)
    spent = 0.0
    for light in (True, False):
        most = min(LIGHT, limit) if light else limit - spent
        solver = make_solver(most, 0 if light else 1, presolve=False, probing=0 if light else None)
        if light and not symmetries:
            solver.parameters.symmetry_level = 0
            solver.parameters.hint_conflict_limit = 1000  # a start from a known plan is worth following for long
        status = solver.solve(model).name
        spent += float(solver.response_proto.deterministic_time)
        if status != "UNKNOWN" or spent >= limit:
            break
    return solver, status, spent


class Reasons:
    """One model asked again and again with other demands assumed. `left`: deterministic seconds still to spend."""

    def __init__(self, model: CpModel, limit: float) -> None:
        self._model = model
        self.left = limit

    def clash(self, demands: Sequence[Assumed]) -> list[Assumed] | None | bool:
        """Demands of these that cannot stand together; None: they can; False: not known within the time."""
        if self.left <= 0:
            return False
        solver, status, spent = assume(self._model, [one.literal for one in demands], self.left)
        self.left -= spent
        if status in ("OPTIMAL", "FEASIBLE"):
            return None
        if status != "INFEASIBLE":
            return False
        found = set(solver.sufficient_assumptions_for_infeasibility())
        return [one for one in demands if one.literal.index in found]

    def fewest(self, demands: Sequence[Assumed]) -> Core | None | bool:
        """A minimal core; what the club cannot change is left out first, so that what stays is what it can."""
        core = self.clash(demands)
        if not isinstance(core, list):
            return core
        minimal = True
        for one in sorted(core, key=lambda member: not member.fixed):
            if one not in core:
                continue
            smaller = self.clash([other for other in core if other is not one])
            if isinstance(smaller, list):
                core = smaller
            elif smaller is False:
                minimal = False
        return Core(tuple(core), minimal)
