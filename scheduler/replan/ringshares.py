"""Fair shares at every whistle, as rows of the small model of a ring's places: held less the share so far.

A row holds all places from the week's start on: with a variable for the distance after every turn, each of its turns
would be a row of its own, which took many times as long to solve.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from scheduler.club.programme import Kind
from scheduler.replan.options import Filling, field_slots
from scheduler.replan.scoreboard import Key, Scoreboard
from scheduler.replan.search import roles_of
from scheduler.rotation.setting import Turn
from scheduler.rotation.slots import Slot
from scheduler.solver import cp_model

Literal = cp_model.IntVar
Terms = list[tuple[Literal, int]]
Sum = tuple[Terms, int]  # of variables so many times each, and a number


@dataclass
class _Line:
    """How far a player is from the share of a role: `fixed` and the terms. `between`: where `fixed` was since the last.

    While no term is added, the least and the most of these alone say what every whistle asks for.
    """

    fixed: int
    variables: list[Literal] = field(default_factory=list)
    factors: list[int] = field(default_factory=list)
    between: tuple[int, int] | None = None


class RingShares:
    """How far everybody is from the fair share of each role, turn by turn in order of time, within one rep."""

    def __init__(self, model: cp_model.CpModel, board: Scoreboard) -> None:
        self._model, self._board = model, board
        self._lines = {key: _Line(apart) for key, apart in board.apart.items() if key in board.bound}

    def stays(self, number: int, filling: Filling, held: bool) -> None:
        """A turn that stays as it was. `held`: shares count; in a turn played they are past help."""
        booked = self._board.play(number, roles_of(filling))
        self._board.take_back(booked)
        for key, amount in booked.items():
            self._step(key, ([], amount), held)

    def add(self, number: int, seats: Mapping[str, Mapping[Slot, Literal]], spare: tuple[int, int]) -> None:
        """A turn to be filled; `spare`: the fewest and the most who may rest in it."""
        turn, here = self._board.turn(number)
        inside = len(here) - turn.goals
        whole = self._board.scale * turn.minutes
        for role in ("attack", "defend", "rest") if turn.kind is Kind.PART else ("rest",):
            of_role = [x for slots in seats.values() for slot, x in slots.items() if slot.role == role]
            held = self._held(of_role, spare if role == "rest" else _between(turn, role, inside))
            for player, slots in seats.items():
                goal = [x for slot, x in slots.items() if slot.role == "keep"]
                if inside > 0 and len(goal) < len(slots):
                    terms, fixed = self._while_in_field(held, goal, len(here))
                    mine = [(x, whole) for slot, x in slots.items() if slot.role == role]
                    mine += [(variable, -(whole // inside) * factor) for variable, factor in terms]
                    self._step((player, role), (mine, -(whole // inside) * fixed))
        for player, amount in self._board.goal_parts(number).items():
            goals = [(x, whole) for slot, x in seats[player].items() if slot.role == "keep"]
            self._step((player, "keep"), (goals, -amount))

    def end(self) -> None:
        """No turn follows."""
        for key, line in self._lines.items():
            self._post(line, self._board.bound[key])

    def _held(self, of_role: list[Literal], between: tuple[int, int]) -> Literal | int:
        """How many have a role."""
        least, most = between
        if least > most:  # too few at the station for any sizes
            self._model.add_bool_or([])
        if least >= most:
            return least
        held = self._model.new_int_var(least, most, "")
        self._model.add(held == sum(of_role))
        return held

    def _while_in_field(self, held: Literal | int, goal: list[Literal], most: int) -> Sum:
        """How many have a role, counted for one player: none while that player keeps goal."""
        if isinstance(held, int):
            return [(x, -held) for x in goal], held
        if not goal:
            return [(held, 1)], 0
        keeps = sum(goal)
        counts = self._model.new_int_var(0, most, "")
        self._model.add(counts <= held)
        self._model.add(counts <= most - most * keeps)
        self._model.add(counts >= held - most * keeps)
        return [(counts, 1)], 0

    def _step(self, key: Key, by: Sum, held: bool = True) -> None:
        line = self._lines.get(key)
        if line is None:
            return
        terms, fixed = by
        if terms:
            self._post(line, self._board.bound[key])
            line.variables += [variable for variable, _ in terms]
            line.factors += [factor for _, factor in terms]
        line.fixed += fixed
        if held:
            least, most = line.between or (line.fixed, line.fixed)
            line.between = min(least, line.fixed), max(most, line.fixed)

    def _post(self, line: _Line, bound: int) -> None:
        """Whoever is that far is within one rep at every whistle since the last term was added."""
        if line.between is None:
            return
        (least, most), line.between = line.between, None
        if line.variables:
            terms = cp_model.LinearExpr.weighted_sum(line.variables, line.factors)
            self._model.add_linear_constraint(terms, -bound - least, bound - most)
        elif least < -bound or most > bound:
            self._model.add_bool_or([])  # nothing that is open here brings this player back


def _between(turn: Turn, role: str, inside: int) -> tuple[int, int]:
    """The fewest and the most who may have a role of a part, over all areas."""
    sizes = [size for side in (0, 1) for size in field_slots(turn, side) if size[0].role == role]
    return sum(least for _, least, _ in sizes), min(inside, sum(most for _, _, most in sizes))
