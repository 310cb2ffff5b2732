"""A small model of one ring's places: which places change so that a rotation is lawful again, and how few must.

A literal for every place that somebody may have in a turn: sizes, goals, bibs, few rests and fair shares at every
whistle, of which every lawful rotation of these groups keeps all. So fewer changes than the model allows are
impossible, whatever other rules say; what it finds is judged by the audit.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from scheduler.club.people import KeeperPolicy, KeeperStays, KeeperWish
from scheduler.club.programme import Kind
from scheduler.plan.ledger import keeper_shares, keeper_stays, policy_of
from scheduler.replan.options import Filling, field_slots, goal_slots, most_playing
from scheduler.replan.ringshares import RingShares
from scheduler.replan.scoreboard import Scoreboard
from scheduler.replan.task import Task, Worn
from scheduler.rotation.setting import Turn
from scheduler.rotation.slots import Slot
from scheduler.solver import cp_model
from scheduler.solving import make_solver

Linear = cp_model.LinearExpr | int
Literal = cp_model.IntVar
Seats = dict[str, dict[Slot, Literal]]  # of everybody in one turn
TOGETHER = Slot("all", None, None)


class Answer(NamedTuple):
    """A way with as few changes as were found; at least `bound` must change. `none`: there is no way."""

    found: list[Filling] | None
    bound: int
    none: bool
    took: float


class RingModel:
    """One ring with its groups kept and the bibs of `sides`; whoever is not named there may wear either.

    `sessions`: only their places may change, those of all others stay; None: of the whole ring.
    """

    def __init__(
        self, task: Task, board: Scoreboard, sides: Mapping[Worn, int], sessions: Collection[str] | None = None
    ) -> None:
        self._task, self._sides, self._sessions = task, sides, sessions
        self._model = cp_model.CpModel()
        self._shares = RingShares(self._model, board)
        self._seats: list[Seats | None] = []  # None: stays as it was
        self._worn: dict[Worn, Literal] = {}
        self._changes: list[Linear] = []
        for number in range(len(task.filled)):
            self._turn(number)
        self._shares.end()
        for first, second in self._runs_of_goals():
            self._stay_in_goal(first, second)
        for stay in dict.fromkeys(task.stay(turn) for turn, _ in task.filled if turn.has_roles):
            for group in range(1, task.ring.setting(stay.session).groups + 1):
                self._even_at_start([n for n, (turn, _) in enumerate(task.filled)
                                     if turn.has_roles and task.stay(turn) == stay], group)  # fmt: skip

    # one turn

    def _turn(self, number: int) -> None:
        turn, here = self._task.filled[number]
        played = number in self._task.locked
        if played or (self._sessions is not None and turn.session not in self._sessions):
            self._shares.stays(number, self._task.old[number], held=not played)
            self._seats.append(None)
            return
        seats = self._seats_of(turn, here) if turn.has_roles else {}
        self._seats.append(seats)
        for player, slots in seats.items():
            self._model.add_exactly_one(slots.values())
            old = self._task.old[number].get(player)
            if old is not None:
                self._changes.append(1 - slots[old] if old in slots else 1)
        if turn.has_roles:
            spare = self._rests(turn, here, seats)
            self._sizes(turn, seats)
            self._shares.add(number, seats, spare)

    def _seats_of(self, turn: Turn, here: tuple[str, ...]) -> Seats:
        """Every place that anybody may have in a turn, a literal each; places in the field in the own bibs."""
        goals = goal_slots(turn)
        parts = keeper_shares(self._task.club, here, len(goals)) if goals else {}
        field = [[*(slot for slot, _, _ in field_slots(turn, side)), Slot("rest", None, side)] for side in (0, 1)]
        seats: Seats = {}
        for player in here:
            own, part = (player, self._task.stay(turn)), parts.get(player, 0)
            sides = (self._sides[own],) if own in self._sides else (0, 1)
            inside = [slot for side in sides for slot in field[side]] if part < 1 else []
            slots = {slot: self._model.new_bool_var("") for slot in (*inside, *(goals if part else []))}
            if len(sides) == 2:
                worn = self._worn.setdefault(own, self._model.new_bool_var(""))
                for slot, literal in slots.items():
                    if slot.role != "keep":
                        self._model.add_implication(literal, worn if slot.side else ~worn)
            seats[player] = slots
        return seats

    def _sizes(self, turn: Turn, seats: Seats) -> None:
        for goal in goal_slots(turn):
            self._model.add_exactly_one(_in(seats, goal))
        slots = [field_slots(turn, side) for side in (0, 1)]
        for slot, least, most in (*slots[0], *slots[1]):
            self._model.add_linear_constraint(sum(_in(seats, slot)), least, most)
        if turn.kind is Kind.GAME:
            for (one, _, _), (other, _, _) in zip(*slots, strict=True):
                self._model.add_linear_constraint(sum(_in(seats, one)) - sum(_in(seats, other)), -1, 1)

    def _rests(self, turn: Turn, here: tuple[str, ...], seats: Seats) -> tuple[int, int]:
        """As few rest as the sides' numbers in the field allow; gives the fewest and the most of these."""
        field = len(here) - turn.goals
        apart = turn.areas if turn.kind is Kind.GAME else None
        of_one = [literal for slots in seats.values() for slot, literal in slots.items()
                  if slot.role != "keep" and slot.side == 1]  # fmt: skip
        resting = {}
        for number in range(max(0, field) + 1):
            playing = most_playing((turn.outfield(0), turn.outfield(1)), apart, (field - number, number))
            if playing:
                resting[number] = field - sum(playing[0])
        rest = sum(literal for side in (0, 1) for literal in _in(seats, Slot("rest", None, side)))
        if len(set(resting.values())) == 1:
            lawful = cp_model.Domain.from_values(list(resting))
            self._model.add_linear_expression_in_domain(cp_model.LinearExpr.sum(of_one), lawful)
            self._model.add(rest == min(resting.values()))
        else:
            chosen = {number: self._model.new_bool_var("") for number in resting}
            self._model.add_exactly_one(chosen.values())
            self._model.add(sum(of_one) == sum(number * literal for number, literal in chosen.items()))
            self._model.add(rest == sum(resting[number] * literal for number, literal in chosen.items()))
        return min(resting.values(), default=0), max(resting.values(), default=0)

    # goal

    def _runs_of_goals(self) -> Iterator[tuple[int, int]]:
        """Each turn with goals and the one before it on the way of a group."""
        for setting in self._task.ring.sessions:
            for group in range(1, setting.groups + 1):
                way = [number for number, (turn, _) in enumerate(self._task.filled)
                       if turn.session == setting.session and turn.goals and group in turn.groups]  # fmt: skip
                yield from pairwise(way)

    def _stay_in_goal(self, first: int, second: int) -> None:
        """Nobody still there is taken out of goal before the stay is over, for another who comes to it."""
        if self._seats[second] is None:
            return
        club, (earlier, before), (turn, here) = self._task.club, self._task.filled[first], self._task.filled[second]
        regulars_first = policy_of(club, here) is KeeperPolicy.REGULARS
        coming = [player for player in here if not isinstance(self._keeps(player, second), int)]
        for player in (one for one in before if one in here):
            kept, stays = self._keeps(player, first), keeper_stays(club, player)
            goes_on = stays is KeeperStays.SESSION or (stays is KeeperStays.BLOCK and earlier.block == turn.block)
            for other in coming if goes_on and not (isinstance(kept, int) and kept == 0) else ():
                willing = club.player(player).keeper is KeeperWish.WILLING
                gives_way = regulars_first and willing and club.player(other).keeper is KeeperWish.REGULAR
                if other != player and not gives_way:
                    stops = kept - self._keeps(player, second)
                    comes = self._keeps(other, second) - self._keeps(other, first)
                    self._model.add(stops + comes <= 1)

    def _keeps(self, player: str, number: int) -> Linear:
        """Whether a player keeps goal in a turn; 0 for whoever may not."""
        seats = self._seats[number]
        if seats is None:
            slot = self._task.old[number].get(player)
            return int(slot is not None and slot.role == "keep")
        return sum(literal for slot, literal in seats.get(player, {}).items() if slot.role == "keep")

    # bibs

    def _even_at_start(self, turns: Sequence[int], group: int) -> None:
        """The sides of a group start within one of each other; who only keeps goal in these turns does not count."""
        first = next((n for n in turns if group in self._task.filled[n].turn.groups), None)
        if first is None or self._seats[first] is None:
            return
        turn, here = self._task.filled[first]
        ahead: list[Linear] = []
        for player in here:
            if self._task.group(player, turn.session) == group:
                own = (player, self._task.stay(turn))
                fields = self._fields(player, turns)
                worn = self._sides[own] if own in self._sides else self._worn.get(own, 0)
                ahead.append(2 * self._both(worn, fields) - fields)
        self._model.add_linear_constraint(cp_model.LinearExpr.sum(ahead), -1, 1)

    def _fields(self, player: str, turns: Iterable[int]) -> Linear:
        """Whether a player is in the field in any of these turns."""
        field: list[Literal] = []
        for number in turns:
            slots = (self._seats[number] or {}).get(player, {})
            inside = [literal for slot, literal in slots.items() if slot.role != "keep"]
            if inside and len(inside) == len(slots):
                return 1
            field += inside
        if not field:
            return 0
        fields = self._model.new_bool_var("")
        self._model.add_max_equality(fields, field)
        return fields

    def _both(self, one: Linear, other: Linear) -> Linear:
        if isinstance(one, int):
            return other if one else 0
        if isinstance(other, int):
            return one if other else 0
        both = self._model.new_bool_var("")
        self._model.add_multiplication_equality(both, [one, other])
        return both

    # questions

    def ask(
        self,
        limit: float,
        like: Sequence[Filling],
        most: int | None = None,
        other_bibs: bool = False,
        upward: bool = False,
    ) -> Answer:
        """The fewest changes: at most `most` of them, `other_bibs`: somebody wears others than before.

        `limit` in CP-SAT's deterministic seconds; the search begins near the places `like`. `upward`: with ever
        more changes from the bound up, which settles a small model sooner, but finds nothing before it does.
        """
        changes = cp_model.LinearExpr.sum(self._changes)
        if most is not None:
            self._model.add(changes <= most)
        if other_bibs:
            known = [(worn, self._task.sides[own]) for own, worn in self._worn.items() if own in self._task.sides]
            self._model.add_bool_or([~worn if side else worn for worn, side in known])
        for seats, filling in zip(self._seats, like, strict=True):
            for player, slots in (seats or {}).items():
                for slot, literal in slots.items() if player in filling else ():
                    self._model.add_hint(literal, int(slot == filling[player]))
        self._model.minimize(changes)
        solver = make_solver(
            limit, 2, probing=0, rounding_cuts=False, inclusions=self._sessions is not None, upward=upward
        )
        status = solver.status_name(solver.solve(self._model))
        took = solver.response_proto.deterministic_time
        if status == "INFEASIBLE":
            return Answer(None, 0, True, took)
        bound = max(0, round(solver.best_objective_bound - 0.5 + 1e-6))
        if status not in ("OPTIMAL", "FEASIBLE"):
            return Answer(None, bound, False, took)
        return Answer(self._read(solver), bound, False, took)

    def _read(self, solver: cp_model.CpSolver) -> list[Filling]:
        found = []
        for number, seats in enumerate(self._seats):
            turn, here = self._task.filled[number]
            if seats is None:
                found.append(dict(self._task.old[number]))
            elif not turn.has_roles:
                found.append(dict.fromkeys(here, TOGETHER))
            else:
                found.append({player: next(slot for slot, literal in slots.items() if solver.boolean_value(literal))
                              for player, slots in seats.items()})  # fmt: skip
        return found


def _in(seats: Seats, slot: Slot) -> list[Literal]:
    """The literals of everybody who may have a slot."""
    return [slots[slot] for slots in seats.values() if slot in slots]
