"""What a counts model found, written into its draft."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.rotation.counts import CountsModel
from scheduler.rotation.draft import KEEP
from scheduler.rotation.keepers import set_keepers

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver


def read(counts: CountsModel, solver: CpSolver) -> None:
    """Write what the solver found into the draft: keepers, sides, sizes, roles and areas of the model's lineups."""
    draft = counts.draft
    goals: dict[int, list[int]] = {}
    for (index, player), goal in counts.keep.items():
        if solver.value(goal):
            goals.setdefault(index, []).append(player)
    set_keepers(draft, goals)
    for stay in {draft.lineups[index].stay for index in counts.indices}:
        draft.sides[stay] = {
            player: int(solver.boolean_value(literal)) for (s, player), literal in counts.own.items() if s == stay
        }
    for index in counts.indices:
        lineup = draft.lineups[index]
        split = next(split for split, literal in counts.chosen[index] if solver.boolean_value(literal))
        draft.share_out(lineup, split)
        lineup.role = dict.fromkeys(lineup.keepers, KEEP)
    for (index, player, role, _), literal in counts.held.items():
        if solver.boolean_value(literal):
            draft.lineups[index].role[player] = role
    for index in counts.indices:
        draft.settle_areas(draft.lineups[index])
