"""A small model between the quick way and the exact one: groups and keepers given, sides, sizes and roles free.

A turn's shares depend only on how many attack, defend and rest, so each turn chooses one of its lawful splits and
everything stays linear: no product of variables, no table.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.rotation.draft import ATTACK, DEFEND, KEEP, PLAY, REST, Draft, Lineup, members
from scheduler.rotation.sides import first_counted
from scheduler.rotation.sizes import Split, areas_of, splits
from scheduler.solving import make_solver

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver, IntVar, LinearExpr

ROLES = {False: (ATTACK, DEFEND, REST), True: (PLAY, REST)}


@dataclass(frozen=True)
class Tight:
    """Scaled minutes beyond the bounds that were reached (None: nothing found) and the least not shown impossible."""

    excess: int | None
    bound: int


class RolesModel:
    """The model of one draft. `wanted` keeps to the least off wanted sizes for the numbers in the field."""

    def __init__(self, draft: Draft, *, wanted: bool) -> None:
        from ortools.sat.python import cp_model

        self.draft, self.model = draft, cp_model.CpModel()
        self.excess = self.model.new_int_var(0, max(max(row) for row in draft.bound) * 4 + 1, "excess")
        self.own: list[dict[int, IntVar]] = [
            {p: self.model.new_bool_var(f"own[{p}|{stay}]") for p in members(draft.of_stay(stay))}
            for stay in range(len(draft.stays))
        ]
        self.held: list[dict[tuple[int, int, int], IntVar]] = []
        self.chosen: list[list[tuple[Split, IntVar]]] = []
        for index, lineup in enumerate(draft.lineups):
            self._make(index, lineup, wanted)
        self._even_sides()
        self._within_bounds()

    def _make(self, index: int, lineup: Lineup, wanted: bool) -> None:
        model, own, field = self.model, self.own[lineup.stay], lineup.field
        held = {
            (p, role, side): model.new_bool_var(f"{p}|{index}|{role}|{side}")
            for p in field
            for role in ROLES[lineup.shape.game]
            for side in (0, 1)
        }
        for p in field:
            for side in (0, 1):
                mine = sum(held[p, role, side] for role in ROLES[lineup.shape.game])
                model.add(mine == (own[p] if side else 1 - own[p]))
        options = [
            split
            for first in range(len(field) + 1)
            for number, split in enumerate(splits(lineup.shape, first, len(field) - first))
            if not wanted or not number or split.off == splits(lineup.shape, first, len(field) - first)[0].off
        ]
        chosen = [(split, model.new_bool_var(f"split[{index}|{number}]")) for number, split in enumerate(options)]
        model.add_exactly_one(literal for _, literal in chosen)
        for role in ROLES[lineup.shape.game]:
            for side in (0, 1):
                number = sum(_of(split, role)[side] * literal for split, literal in chosen)
                model.add(sum(held[p, role, side] for p in field) == number)
        self.held.append(held)
        self.chosen.append(chosen)
        self._part_foes(lineup, held)

    def _part_foes(self, lineup: Lineup, held: dict[tuple[int, int, int], IntVar]) -> None:
        """Foes not in one area, where the role and side tell the area; elsewhere mending sees to it."""
        spots = [(role, side, _areas(lineup, role, side)) for role in ROLES[lineup.shape.game] for side in (0, 1)]
        for one, two in lineup.foes:
            for role, side, areas in spots:
                for goal, player in (
                    (lineup.keepers.get(one), two),
                    (lineup.keepers.get(two), one),
                ):
                    if goal is not None and (player, role, side) in held and areas == (goal[0],):
                        self.model.add(held[player, role, side] == 0)
                for other_role, other_side, other_areas in spots:
                    first, second = held.get((one, role, side)), held.get((two, other_role, other_side))
                    if areas == other_areas and len(areas) == 1 and first is not None and second is not None:
                        self.model.add(first + second <= 1)

    def _even_sides(self) -> None:
        for stay, own in enumerate(self.own):
            group = {p: self.draft.group(self.draft.names[p], self.draft.stays[stay].session) for p in own}
            for mates in first_counted(self.draft.of_stay(stay), group).values():
                ahead = sum(2 * own[p] - 1 for p in mates)
                self.model.add(ahead <= 1)
                self.model.add(ahead >= -1)
            for one, two in self.draft.apart:
                if one in own and two in own and any({one, two} <= set(x.field) for x in self.draft.of_stay(stay)):
                    self.model.add(own[one] + own[two] == 1)

    def _within_bounds(self) -> None:
        draft = self.draft
        shares = []
        for lineup, chosen in zip(draft.lineups, self.chosen, strict=True):
            each = lineup.full // (len(lineup.field) or 1)
            shares.append(
                {r: sum(each * sum(_of(s, r)) * x for s, x in chosen) for r in ROLES[lineup.shape.game] if r != PLAY}
            )
        for player in range(len(draft.names)):
            sums: dict[int, LinearExpr | int] = {role: draft.start[player][role] for role in (ATTACK, DEFEND, REST)}
            for index in draft.path[player]:
                lineup = draft.lineups[index]
                if lineup.role[player] == KEEP:
                    continue
                for role, share in shares[index].items():
                    mine = self.held[index][player, role, 0] + self.held[index][player, role, 1]
                    sums[role] = sums[role] + lineup.full * mine - share
                    bound = draft.bound[player][role]
                    self.model.add(sums[role] <= bound + self.excess)
                    self.model.add(-1 * sums[role] <= bound + self.excess)

    def hint(self) -> None:
        """Start from what the draft has."""
        draft = self.draft
        for stay, own in enumerate(self.own):
            for p, literal in own.items():
                self.model.add_hint(literal, draft.sides[stay][p])
        for lineup, held, chosen in zip(draft.lineups, self.held, self.chosen, strict=True):
            sides = draft.sides[lineup.stay]
            for (p, role, side), literal in held.items():
                self.model.add_hint(literal, int(lineup.role[p] == role and sides[p] == side))
            now = [
                tuple(sum(1 for p in lineup.field if lineup.role[p] == role and sides[p] == side) for side in (0, 1))
                for role in (ATTACK, DEFEND, PLAY, REST)
            ]
            for split, literal in chosen:
                self.model.add_hint(literal, int([split.attack, split.defend, split.play, split.rest] == now))

    def read(self, solver: CpSolver) -> None:
        """Write what the solver found into the draft."""
        draft = self.draft
        for stay, own in enumerate(self.own):
            draft.sides[stay] = {p: int(solver.boolean_value(literal)) for p, literal in own.items()}
        for lineup, held, chosen in zip(draft.lineups, self.held, self.chosen, strict=True):
            split = next(split for split, literal in chosen if solver.boolean_value(literal))
            draft.share_out(lineup, split)
            lineup.role = dict.fromkeys(lineup.keepers, KEEP)
            lineup.role.update({p: role for (p, role, _), literal in held.items() if solver.boolean_value(literal)})
            draft.settle_areas(lineup)


def _of(split: Split, role: int) -> tuple[int, int]:
    return {ATTACK: split.attack, DEFEND: split.defend, REST: split.rest, PLAY: split.play}[role]


def _areas(lineup: Lineup, role: int, side: int) -> tuple[int, ...]:
    if role == REST:
        return ()
    if role == PLAY:
        return tuple(range(1, lineup.turn.areas + 1))
    return areas_of(lineup.shape, side, role == ATTACK)


def tighten(draft: Draft, limit: float, *, wanted: bool) -> Tight:
    """Look for sides, sizes and roles within every bound, else with the least excess; written into the draft if found.

    `limit` in CP-SAT's deterministic seconds. What is proved holds for the draft's groups and keepers alone.
    """
    made = RolesModel(draft, wanted=wanted)
    made.hint()
    made.model.minimize(made.excess)
    solver = make_solver(limit)
    status = solver.status_name(solver.solve(made.model))
    if status not in ("OPTIMAL", "FEASIBLE"):
        return Tight(None, 0)
    made.read(solver)
    return Tight(round(solver.objective_value), max(0, -int(-solver.best_objective_bound // 1)))
