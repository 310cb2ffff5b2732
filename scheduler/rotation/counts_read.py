"""Between a draft and a counts model: where the model starts, and what it found written into the draft."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.rotation.counts import CountsModel, row_of
from scheduler.rotation.distances import _number as number_of
from scheduler.rotation.draft import ATTACK, DEFEND, KEEP, PLAY, REST
from scheduler.rotation.keepers import set_keepers

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver


def hint(counts: CountsModel) -> None:
    """Start from what the draft has."""
    draft, model = counts.draft, counts.model
    for (stay, player), literal in counts.own.items():
        model.add_hint(literal, draft.sides[stay].get(player, 0))
    for (index, player), goal in counts.keep.items():
        if not isinstance(goal, int):
            model.add_hint(goal, int(player in draft.lineups[index].keepers))
    for (index, player, role, side), literal in counts.held.items():
        lineup = draft.lineups[index]
        mine = draft.sides[lineup.stay].get(player) if player in lineup.field else None
        model.add_hint(literal, int(lineup.role[player] == role and mine == side))
    for index, chosen in counts.chosen.items():
        lineup = draft.lineups[index]
        sides = draft.sides[lineup.stay]
        now = {
            role: tuple(sum(lineup.role[p] == role and sides[p] == side for p in lineup.field) for side in (0, 1))
            for role in (ATTACK, DEFEND, PLAY, REST)
        }
        for split, literal in chosen:
            model.add_hint(literal, int(all(row_of(split, role) == row for role, row in now.items())))


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
