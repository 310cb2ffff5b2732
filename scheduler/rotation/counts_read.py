"""A counts model started from what its draft holds, and what it found written into the draft."""

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
    together = counts.flows.read(solver)
    for (index, player), goal in counts.keep.items():
        if solver.value(goal):
            goals.setdefault(index, []).append(player)
    for (index, player), (role, _) in together.items():
        if role == KEEP and (index, player) not in counts.keep:
            goals.setdefault(index, []).append(player)
    set_keepers(draft, {index: sorted(players) for index, players in goals.items()})
    for stay in {draft.lineups[index].stay for index in counts.indices}:
        draft.sides[stay] = {
            player: int(solver.boolean_value(literal)) for (s, player), literal in counts.own.items() if s == stay
        }
    for (index, player), (role, side) in together.items():
        sides = draft.sides[draft.lineups[index].stay]
        sides[player] = side if role != KEEP else sides.get(player, 0)
    for index in counts.indices:
        lineup = draft.lineups[index]
        split = next(split for split, literal in counts.chosen[index] if solver.boolean_value(literal))
        draft.share_out(lineup, split)
        lineup.role = dict.fromkeys(lineup.keepers, KEEP)
    for (index, player, role, _), literal in counts.held.items():
        if solver.boolean_value(literal):
            draft.lineups[index].role[player] = role
    for (index, player), (role, _) in together.items():
        draft.lineups[index].role[player] = role
    for index in counts.indices:
        draft.settle_areas(draft.lineups[index])


def hint(counts: CountsModel) -> None:
    """Start from who is where in the draft, as far as it is filled."""
    draft, model = counts.draft, counts.model
    for (index, player, role, side), literal in counts.held.items():
        lineup = draft.lineups[index]
        if player in lineup.role:
            same = lineup.role[player] == role and draft.sides[lineup.stay].get(player) == side
            model.add_hint(literal, int(same))
    for (stay, player), literal in counts.own.items():
        if player in draft.sides[stay]:
            model.add_hint(literal, draft.sides[stay][player])
    for (index, player), goal in counts.keep.items():
        if not isinstance(goal, int):
            model.add_hint(goal, int(player in draft.lineups[index].keepers))
