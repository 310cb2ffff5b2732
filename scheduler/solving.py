"""The one place for CP-SAT parameters: reproducible by one worker, a fixed seed and deterministic limits.

Measured before this was written: two default workers give different plans from run to run, and for the booking one
worker with `linearization_level = 2` proves what two do not.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import LinearExpr

    from scheduler.solver import Solver

SEED = 20240101


class Solved(Protocol):
    """Whatever knows the values of a solved model."""

    def value(self, expression: LinearExpr | int, /) -> int:
        """The value of an expression."""


class Solution:
    """One solution of a model: the value of each variable, by its index."""

    def __init__(self, values: Sequence[int]) -> None:
        self.values = values

    def value(self, expression: LinearExpr | int, /) -> int:
        """The value of an expression."""
        from scheduler.solver import cp_model

        if isinstance(expression, int):
            return expression
        if isinstance(expression, cp_model.IntVar):
            return int(self.values[expression.index])
        flat = cp_model.FlatIntExpr(expression)
        terms = zip(flat.vars, flat.coeffs, strict=True)
        return int(flat.offset + sum(factor * self.values[variable.index] for variable, factor in terms))


def most_of(term: LinearExpr | int) -> int:
    """The most that a term could come to."""
    from scheduler.solver import cp_model

    if isinstance(term, int):
        return term
    flat = cp_model.FlatIntExpr(term)
    total = int(flat.offset)
    for variable, factor in zip(flat.vars, flat.coeffs, strict=True):
        domain = list(variable.proto.domain)
        total += max(factor * domain[0], factor * domain[-1])
    return max(0, total)


def make_solver(
    deterministic_limit: float,
    linearization: int = 1,
    presolve: bool = True,
    probing: int | None = None,
    by_relaxation: bool = False,
    fix_hinted: bool = False,
    cuts: bool = True,
    rounding_cuts: bool = True,
    inclusions: bool = True,
    upward: bool = False,
    all_rows: bool = False,
    root_alone: bool = False,
    around: bool = False,
) -> Solver:
    """A solver that gives the same answer on every run; the limit is in CP-SAT's deterministic seconds.

    `probing`: one round of presolve with so much probing (0: none), for models that are solved in many short stages.
    `by_relaxation`: branch on the reduced costs of the linear relaxation, where that is nearly integral. `fix_hinted`:
    whatever has a hint has no other value. `cuts`: of any kind. `rounding_cuts`: those of Gomory and zero-half, not
    worth their time in relaxations that are strong already. `inclusions`: look for rows that lie in others, which many
    long ones make dear. `upward`: look at the least objective not ruled out yet, then at the next. `all_rows`: the
    relaxation has every row from the start. `root_alone`: no search, only what rows and probing show of the values that
    variables have in all solutions. `around`: from the hinted solution on, with most of it left as it is each time.
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
    if by_relaxation:
        solver.parameters.merge_text_format("search_branching: LP_SEARCH")
    solver.parameters.add_cg_cuts = solver.parameters.add_zero_half_cuts = rounding_cuts
    if not cuts:
        solver.parameters.cut_level = 0
    if not inclusions:
        solver.parameters.presolve_inclusion_work_limit = 0
    solver.parameters.use_objective_lb_search = upward
    solver.parameters.add_lp_constraints_lazily = not all_rows
    solver.parameters.fix_variables_to_their_hinted_value = fix_hinted
    if around:
        solver.parameters.use_lns_only = solver.parameters.interleave_search = True
        solver.parameters.symmetry_level = 0
    if root_alone:
        solver.parameters.stop_after_root_propagation = True
        solver.parameters.fill_tightened_domains_in_response = True
        solver.parameters.keep_all_feasible_solutions_in_presolve = True
        solver.parameters.symmetry_level = 0
    if probing == 0:
        solver.parameters.merge_at_most_one_work_limit = 0
    return solver
