"""The values that variables of a booking model have in every solution, as CP-SAT's presolve and probing show them."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from scheduler.solving import make_solver

if TYPE_CHECKING:
    from scheduler.solver import cp_model

SHARE = 0.7  # of a deterministic second, which presolve counts dearer than a search


class Emptiness(NamedTuple):
    """Whether a model is shown to have no solution; reproducible seconds; whether Ctrl-C came."""

    is_empty: bool
    work: float
    stopped: bool


def forced(model: cp_model.CpModel, seconds: float) -> Emptiness:
    """Leave the variables of a model only values that they can have, as far as that is seen without a search."""
    model.proto.clear_objective()
    model.proto.clear_solution_hint()
    solver = make_solver(max(0.01, seconds), root_alone=True)
    solver.keeps_best = True
    status = str(solver.solve(model).name)
    answer = solver.response_proto
    if len(answer.tightened_variables) == len(model.proto.variables):
        for variable, tight in zip(model.proto.variables, answer.tightened_variables, strict=True):
            domain = list(tight.domain)
            if domain != list(variable.domain):
                variable.domain.clear()
                variable.domain.extend(domain)
    return Emptiness(status == "INFEASIBLE", SHARE * float(answer.deterministic_time), solver.stopped)
