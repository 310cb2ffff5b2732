"""Variables of the rotation solve, reached in trade verbs. Rules post to this container, which knows none of them.

Every player there in a turn holds exactly one place: a role, an area and a side. That, and that a player's group
decides the station, is structure and posted here; everything else hangs on a switch named by the rule that posts it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, NamedTuple

from ortools.sat.python import cp_model

from scheduler.club.programme import Kind
from scheduler.plan.plan import Place, WeekPlan
from scheduler.plan.timeline import station_of, timeline
from scheduler.rotation.setting import Ring, SessionSetting, Turn, with_places
from scheduler.rotation.tally import Tally
from scheduler.switches import Switches

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver, IntVar, LinearExpr

    Linear = LinearExpr | int

    from scheduler.club.club import Club


class Slot(NamedTuple):
    """One way to take part in a turn; `side` is 0 or 1: the bibs worn, of a keeper the side whose goal it is."""

    role: str
    area: int | None
    side: int | None


class Stay(NamedTuple):
    """The time one set of bibs is worn: a session (block 0), or one block of it."""

    session: str
    block: int


def slots_of(turn: Turn) -> tuple[Slot, ...]:
    """Every place a turn's practice can give; no place in goal where it has no goals."""
    if turn.kind is Kind.TOGETHER:
        return (Slot("all", None, None),)
    roles = ("play",) if turn.kind is Kind.GAME else ("attack", "defend")
    if turn.goals:
        roles = (*roles, "keep")
    areas = range(1, turn.areas + 1)
    return (
        *(Slot(role, area, side) for role in roles for area in areas for side in (0, 1)),
        Slot("rest", None, 0),
        Slot("rest", None, 1),
    )


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
        return all(isinstance(self.at(player, turn), int) for player in turn.there)

    def here(self, turn: Turn) -> tuple[str, ...]:
        """Everybody who may be at the turn's station then, in the order of the booking."""
        return tuple(player for player in turn.there if not _is_zero(self.at(player, turn)))

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
        names = self.ring.setting(turn.session).sides
        side = names.index(place.side) if place.side in names else None
        group = self.group(place.player, turn.session, turn.block).get(place.group, 0)
        if _is_zero(group):
            return None
        self.model.add(group == 1)
        return self._held.get((place.player, turn.index), {}).get(Slot(place.role, place.area, side))

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

    def session(self, turn: Turn) -> SessionSetting:
        """The session a turn belongs to."""
        return self.ring.setting(turn.session)


def _is_zero(value: object) -> bool:
    return isinstance(value, int) and value == 0


def places_at(plan: WeekPlan, turn: Turn) -> tuple[Place, ...]:
    """The places a plan gives in one turn; none where the plan has no such rep."""
    planned = plan.by_session.get(turn.session)
    for block in planned.blocks if planned else ():
        if block.block == turn.block:
            for station in block.stations:
                if station.station == turn.station:
                    return next((rep.places for rep in station.reps if rep.rep == turn.rep), ())
    return ()


def groups_in(plan: WeekPlan, ring: Ring) -> dict[tuple[str, str], int]:
    """Who is in which group in a plan, by (player, session): the group of the player's first place."""
    found: dict[tuple[str, str], int] = {}
    for turn in ring.turns:
        for place in places_at(plan, turn):
            found.setdefault((place.player, turn.session), place.group)
    return found
