"""Fair shares at every whistle, as lines of the small model of a ring's places: held less the share so far."""

from __future__ import annotations

from collections.abc import Mapping

from scheduler.club.programme import Kind
from scheduler.replan.options import Filling, field_slots
from scheduler.replan.scoreboard import Key, Scoreboard
from scheduler.replan.search import roles_of
from scheduler.rotation.setting import Turn
from scheduler.rotation.slots import Slot
from scheduler.solver import cp_model

Linear = cp_model.LinearExpr | int
Literal = cp_model.IntVar


class RingShares:
    """How far everybody is from the fair share of each role, turn by turn in order of time, within one rep."""

    def __init__(self, model: cp_model.CpModel, board: Scoreboard) -> None:
        self._model, self._board = model, board
        self._line: dict[Key, Linear] = dict(board.apart)

    def played(self, number: int, filling: Filling) -> None:
        """A turn that stays as it was; how far anybody is then is past help."""
        booked = self._board.play(number, roles_of(filling))
        self._board.take_back(booked)
        for key, amount in booked.items():
            self._line[key] = self._line.get(key, 0) + amount

    def add(self, number: int, seats: Mapping[str, Mapping[Slot, Literal]], spare: tuple[int, int]) -> None:
        """A turn to be filled; `spare`: the fewest and the most who may rest in it."""
        turn, here = self._board.turn(number)
        field = len(here) - turn.goals
        whole = self._board.scale * turn.minutes
        for role in ("attack", "defend", "rest") if turn.kind is Kind.PART else ("rest",):
            of_role = [x for slots in seats.values() for slot, x in slots.items() if slot.role == role]
            held = self._held(of_role, spare if role == "rest" else _between(turn, role, field))
            for player, slots in seats.items():
                goal = [x for slot, x in slots.items() if slot.role == "keep"]
                mine = [x for slot, x in slots.items() if slot.role == role]
                if field > 0 and len(goal) < len(slots):
                    part = self._while_in_field(held, goal, len(here))
                    self._step((player, role), whole * sum(mine) - whole // field * part)
        for player, amount in self._board.goal_parts(number).items():
            goal = [x for slot, x in seats[player].items() if slot.role == "keep"]
            self._step((player, "keep"), whole * sum(goal) - amount)

    def _held(self, of_role: list[Literal], between: tuple[int, int]) -> Linear:
        """How many have a role."""
        least, most = between
        if least > most:  # too few at the station for any sizes
            self._model.add_bool_or([])
        if least >= most:
            return least
        held = self._model.new_int_var(least, most, "")
        self._model.add(held == sum(of_role))
        return held

    def _while_in_field(self, held: Linear, goal: list[Literal], most: int) -> Linear:
        """How many have a role, counted for one player: none while that player keeps goal."""
        if not goal:
            return held
        keeps = sum(goal)
        if isinstance(held, int):
            return held - held * keeps
        counts = self._model.new_int_var(0, most, "")
        self._model.add(counts <= held)
        self._model.add(counts <= most - most * keeps)
        self._model.add(counts >= held - most * keeps)
        return counts

    def _step(self, key: Key, by: Linear) -> None:
        bound = self._board.bound.get(key)
        if bound is not None:
            line = self._model.new_int_var(-bound, bound, "")
            self._model.add(line == self._line.get(key, 0) + by)
            self._line[key] = line


def _between(turn: Turn, role: str, field: int) -> tuple[int, int]:
    """The fewest and the most who may have a role of a part, over all areas."""
    sizes = [size for side in (0, 1) for size in field_slots(turn, side) if size[0].role == role]
    return sum(least for _, least, _ in sizes), min(field, sum(most for _, _, most in sizes))
