"""Variables of the rotation solve, reached in trade verbs. Rules post to this container, which knows none of them.

Every player there in a turn holds exactly one place: a role, an area and a side. That, and that a player's group
decides the station, is structure and posted here; everything else hangs on a switch named by the rule that posts it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from scheduler.plan.plan import Place, WeekPlan
from scheduler.plan.timeline import station_of, timeline
from scheduler.rotation.places import with_places
from scheduler.rotation.setting import FIELD, Ring, Turn
from scheduler.rotation.slots import Slot, Stay, places_at, slots_of
from scheduler.rotation.tally import Tally
from scheduler.solver import cp_model
from scheduler.switches import Switches

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver, IntVar, LinearExpr

    Linear = LinearExpr | int

    from scheduler.club.club import Club


class RotationModel:
    """The container that rules post to, for one ring.

    `groups` fixes who is in which group, by (player, session); where it says nothing, groups are free. `earlier` is
    the plan that few changes are counted from. `wishes` names the wishes to be built; penalties of others are dropped.
    """

    def __init__(
        self,
        club: Club,
        plan: WeekPlan,
        ring: Ring,
        *,
        groups: Mapping[tuple[str, str], int] | None = None,
        earlier: WeekPlan | None = None,
        wishes: Iterable[str] = (),
    ) -> None:
        self.club, self.plan, self.ring, self.earlier = club, plan, ring, earlier
        self.model = cp_model.CpModel()
        self.switches = Switches(self.model)
        self._given = dict(groups or {})
        self._wishes = frozenset(wishes)
        self._paid: dict[str, list[tuple[int, Linear]]] = {}
        self._group: dict[tuple[str, str, int], dict[int, Linear]] = {}
        self._held: dict[tuple[str, int], dict[Slot, IntVar]] = {}
        self._own: dict[tuple[str, Stay], IntVar] = {}
        self._fields: dict[tuple[str, Stay], IntVar] = {}
        self._known: dict[tuple[str, int], int] = {}
        self._here: dict[int, tuple[str, ...]] = {}
        self._fixed: dict[int, bool] = {}
        self._layout = {one.session: timeline(club, one.session) for one in ring.sessions}
        for turn in ring.turns:
            for player in turn.there:
                self._make_places(player, turn)
        self.shares = Tally(self)

    # groups and stations

    def group(self, player: str, session: str, block: int) -> dict[int, Linear]:
        """For each group the literal (or 0 or 1 where it is given) that the player is in it during a block."""
        key = (player, session, block)
        if key not in self._group:
            count = self.ring.setting(session).groups
            given = 1 if count == 1 else self._given.get((player, session))
            if given is not None:
                self._group[key] = {g: int(g == given) for g in range(1, count + 1)}
            else:
                made = {
                    g: self.model.new_bool_var(f"group[{player}|{session}|{block}|{g}]") for g in range(1, count + 1)
                }
                self.model.add_exactly_one(made.values())
                self._group[key] = dict(made)
        return self._group[key]

    def at(self, player: str, turn: Turn) -> Linear:
        """1 where the player is at the turn's station then, else 0; a plain int where that is known beforehand."""
        key = (player, turn.index)
        if key in self._known:
            return self._known[key]
        found = self._at(player, turn)
        if isinstance(found, int):
            self._known[key] = found
        return found

    def _at(self, player: str, turn: Turn) -> Linear:
        if player not in turn.there:
            return 0
        literals = self.group(player, turn.session, turn.block)
        layout = self._layout[turn.session][turn.block - 1]
        here = [literals[g] for g in literals if station_of(layout, g) == turn.station]
        if len(here) == len(literals):
            return 1
        return sum(here)

    def is_fixed(self, turn: Turn) -> bool:
        """Whether everybody who may be at the station is known to be there (or not) beforehand."""
        if turn.index not in self._fixed:
            self._fixed[turn.index] = all(isinstance(self.at(player, turn), int) for player in turn.there)
        return self._fixed[turn.index]

    def here(self, turn: Turn) -> tuple[str, ...]:
        """Everybody who may be at the turn's station then, in the order of the booking."""
        if turn.index not in self._here:
            self._here[turn.index] = tuple(p for p in turn.there if not _is_zero(self.at(p, turn)))
        return self._here[turn.index]

    # places

    def _make_places(self, player: str, turn: Turn) -> None:
        at = self.at(player, turn)
        if _is_zero(at):
            return
        made = {
            slot: self.model.new_bool_var(f"{player}|{turn.index}|{slot.role}|{slot.area}|{slot.side}")
            for slot in slots_of(turn)
        }
        self._held[player, turn.index] = made
        self.model.add(sum(made.values()) == at)

    def places(
        self, player: str, turn: Turn, *roles: str, area: int | None = None, side: int | None = None
    ) -> list[IntVar]:
        """The literals of a player's possible places of these roles (none named: all), in one area, of one side."""
        return [
            literal
            for slot, literal in self._held.get((player, turn.index), {}).items()
            if (not roles or slot.role in roles)
            and (area is None or slot.area == area)
            and (side is None or slot.side == side)
        ]

    def count(
        self,
        turn: Turn,
        *roles: str,
        area: int | None = None,
        side: int | None = None,
        who: Iterable[str] | None = None,
    ) -> Linear:
        """How many (of `who`, or of all) hold one of these roles in a turn."""
        players = turn.there if who is None else who
        return cp_model.LinearExpr.sum([x for p in players for x in self.places(p, turn, *roles, area=area, side=side)])

    def keeps(self, player: str, turn: Turn) -> Linear:
        """1 where the player keeps goal in the turn."""
        return cp_model.LinearExpr.sum(self.places(player, turn, "keep"))

    # sides

    def stay(self, turn: Turn) -> Stay:
        """The bibs' stay a turn belongs to."""
        by_block = self.ring.setting(turn.session).bibs_stay == "block"
        return Stay(turn.session, turn.block if by_block else 0)

    def turns_in(self, stay: Stay) -> tuple[Turn, ...]:
        """The turns with roles of one stay, in order of time."""
        return tuple(turn for turn in self.ring.turns if turn.has_roles and self.stay(turn) == stay)

    def stays(self) -> tuple[Stay, ...]:
        """Every stay of the ring, in order of time."""
        return tuple(dict.fromkeys(self.stay(turn) for turn in self.ring.turns if turn.has_roles))

    def own_side(self, player: str, stay: Stay) -> IntVar:
        """The player's own side during a stay: 0 or 1. The rule on sides ties it to the places."""
        key = (player, stay)
        if key not in self._own:
            self._own[key] = self.model.new_bool_var(f"side[{player}|{stay.session}|{stay.block}]")
        return self._own[key]

    def fields(self, player: str, stay: Stay) -> IntVar:
        """Whether the player has a place in the field (not only in goal) during a stay."""
        key = (player, stay)
        if key not in self._fields:
            made = self.model.new_bool_var(f"fields[{player}|{stay.session}|{stay.block}]")
            literals = [x for turn in self.turns_in(stay) for x in self.places(player, turn, *FIELD)]
            self.model.add_max_equality(made, [*literals, self.model.new_constant(0)])
            self._fields[key] = made
        return self._fields[key]

    # switches and wishes

    def switch(self, rule: str, subject: str, sentence: str = "") -> IntVar:
        """The literal that turns one rule on for one subject; `sentence` is the demand in trade words."""
        return self.switches.get(rule, subject, sentence)

    def wants(self, wish: str) -> bool:
        """Whether this wish is to be built."""
        return wish in self._wishes

    def penalise(self, wish: str, amount: int, literal: Linear, about: tuple[str, ...] = (), text: str = "") -> None:
        """Charge `amount` for each unit of a literal or count; `about` and `text` are for the reader of the rule."""
        if self.wants(wish):
            self._paid.setdefault(wish, []).append((amount, literal))

    def cost(self, wish: str) -> Linear | None:
        """What one wish costs so far, or None where nothing was charged."""
        paid = self._paid.get(wish)
        return sum(amount * literal for amount, literal in paid) if paid else None

    # plans in and out

    def fix(self, plan: WeekPlan, only: Iterable[Turn] | None = None) -> None:
        """Hold every place of the ring's turns (or of `only` some) as a plan has them; a place nobody can have: none.

        The group of each block is held too. Excess is left alone.
        """
        for turn in self.ring.turns if only is None else only:
            for place in places_at(plan, turn):
                literal = self._literal(place, turn)
                self.model.add(literal == 1) if literal is not None else self.model.add_bool_or([])
            placed = {place.player for place in places_at(plan, turn)}
            for player in self.here(turn):
                if player not in placed:
                    self.model.add(sum(self.places(player, turn)) == 0)

    def _literal(self, place: Place, turn: Turn) -> IntVar | None:
        slot = self._slot(place, turn)
        group = self.group(place.player, turn.session, turn.block).get(place.group, 0)
        if slot is None or place.player not in turn.there or _is_zero(group):
            return None
        self.model.add(group == 1)
        return self._held.get((place.player, turn.index), {}).get(slot)

    def earlier_places(self, turn: Turn) -> tuple[Place, ...]:
        """The places the earlier plan gave in this turn; none without an earlier plan."""
        return places_at(self.earlier, turn) if self.earlier is not None else ()

    def same_place(self, place: Place, turn: Turn) -> Linear:
        """1 where the player has this very place (group, area, side and role) in the turn."""
        literals = self._held.get((place.player, turn.index), {})
        slot = self._slot(place, turn)
        literal = literals.get(slot) if slot is not None else None
        is_in = self.group(place.player, turn.session, turn.block).get(place.group, 0)
        if literal is None or isinstance(is_in, int):
            return literal if literal is not None and is_in == 1 else 0
        same = self.model.new_bool_var(f"same[{place.player}|{turn.index}]")
        self.model.add(same <= literal)
        self.model.add(same <= is_in)
        return same

    def _slot(self, place: Place, turn: Turn) -> Slot | None:
        names = self.ring.setting(turn.session).sides
        if place.side is not None and place.side not in names:
            return None
        return Slot(place.role, place.area, None if place.side is None else names.index(place.side))

    def hint(self, plan: WeekPlan) -> None:
        """Start the search from a plan's places."""
        for turn in self.ring.turns:
            names = self.ring.setting(turn.session).sides
            held = {place.player: place for place in places_at(plan, turn)}
            for player in self.here(turn):
                place = held.get(player)
                for slot, literal in self._held[player, turn.index].items():
                    side = None if slot.side is None else names[slot.side]
                    same = place is not None and (place.role, place.area, place.side) == (slot.role, slot.area, side)
                    self.model.add_hint(literal, int(same))

    def read(self, solver: CpSolver) -> WeekPlan:
        """The week with the solver's places put into the ring's turns."""
        found: dict[tuple[str, int, int, int], list[Place]] = {turn.key: [] for turn in self.ring.turns}
        for turn in self.ring.turns:
            names = self.ring.setting(turn.session).sides
            for player in self.here(turn):
                groups = self.group(player, turn.session, turn.block)
                for slot, literal in self._held[player, turn.index].items():
                    if solver.boolean_value(literal):
                        group = next(g for g, is_in in groups.items() if solver.value(is_in))
                        side = None if slot.side is None else names[slot.side]
                        place = Place(player=player, group=group, area=slot.area, side=side, role=slot.role)
                        found[turn.key].append(place)
        return with_places(self.club, self.plan, found)


def _is_zero(value: object) -> bool:
    return isinstance(value, int) and value == 0
