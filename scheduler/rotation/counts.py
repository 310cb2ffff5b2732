"""A model of who holds which role in which turn, and nothing more: no areas, no pairs. Groups are given.

Small enough to be proved. Every lawful rotation with these groups is one of its solutions, so what it shows impossible
is impossible; its solutions become rotations by giving out areas. A turn's shares depend only on how many attack,
defend and rest, so each turn chooses one of its lawful splits and everything stays linear.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from itertools import pairwise
from typing import TYPE_CHECKING

from scheduler.club.people import KeeperPolicy, KeeperStays, KeeperWish
from scheduler.plan.ledger import keeper_stays, policy_of
from scheduler.rotation.draft import ATTACK, DEFEND, KEEP, PLAY, REST, Draft, Lineup
from scheduler.rotation.fields import Fields
from scheduler.rotation.flows import Flows
from scheduler.rotation.sides import first_counted
from scheduler.rotation.sizes import Split, areas_of

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar, LinearExpr

    Linear = LinearExpr | IntVar | int

Among = Mapping[int, Container[int]]
ROLES = {False: (ATTACK, DEFEND, REST), True: (PLAY, REST)}


def indices_of(draft: Draft, first: int, last: int) -> list[int]:
    """Which lineups are of the sessions from number `first` up to `last`, not included."""
    names = {one.session for one in draft.ring.sessions[first:last]}
    return [index for index, lineup in enumerate(draft.lineups) if lineup.turn.session in names]


def row_of(split: Split, role: int) -> tuple[int, int]:
    """How many of each side hold a role in a split."""
    return {ATTACK: split.attack, DEFEND: split.defend, REST: split.rest, PLAY: split.play}[role]


class CountsModel:
    """The model of a draft's sessions from number `first` on up to `last`, not included (0: the ring's first session).

    The draft's keepers are chosen and its shares weighed; what it has before `first` stands. Who keeps goal is chosen
    anew, where `among` is given only from among those it names for the turn. `excess` is in scaled minutes, at most
    `most`.
    """

    def __init__(
        self, draft: Draft, first: int, last: int, most: int | None = None, *, among: Among | None = None
    ) -> None:
        from scheduler.rotation.distances import distances_after, hold_within_bounds
        from scheduler.solver import cp_model

        self.draft, self.model, self._among = draft, cp_model.CpModel(), among
        self.indices = indices_of(draft, first, last)
        self._may = {index: self._chosen_from(index) for index in self.indices}
        self.start = distances_after(draft, indices_of(draft, 0, first))
        self.excess = self.model.new_int_var(0, self.horizon if most is None else most, "excess")
        self.keep: dict[tuple[int, int], IntVar | int] = {}
        self.own: dict[tuple[int, int], IntVar] = {}
        self.held: dict[tuple[int, int, int, int], IntVar] = {}
        self.fields = Fields(self)
        self.chosen = {index: self.fields.splits_of(index) for index in self.indices}
        self.flows = Flows(self, most)
        for index in self.indices:
            self._make(index, draft.lineups[index])
        self._post_stays()
        self._even_sides()
        hold_within_bounds(self)

    @property
    def horizon(self) -> int:
        """Scaled minutes that no distance can pass."""
        due = max((abs(value) for row in self.start for value in row), default=0)
        return due + sum(self.draft.lineups[index].full for index in self.indices)

    def keeps(self, index: int, player: int) -> Linear:
        """1 where somebody keeps goal in a turn."""
        return self.keep.get((index, player), 0)

    def _make(self, index: int, lineup: Lineup) -> None:
        model, here = self.model, [p for p in lineup.here if p not in self.flows.players]
        numbers, chosen = self.flows.numbers(index), self.chosen[index]
        self._make_goals(index, lineup, numbers.get((KEEP, 0), 0))
        options = [split for split, _ in chosen]
        for role in ROLES[lineup.shape.game]:
            for side in (0, 1):
                if any(row_of(split, role)[side] for split in options):
                    for p in here:
                        self.held[index, p, role, side] = model.new_bool_var(f"{p}|{index}|{role}|{side}")
        for p in here:
            own = self.side_of(lineup.stay, p)
            mine = [sum(self.holds(index, p, role, side) for role in ROLES[lineup.shape.game]) for side in (0, 1)]
            model.add(mine[0] + mine[1] + self.keeps(index, p) == 1)
            model.add(mine[0] <= 1 - own)
            model.add(mine[1] <= own)
        for role in ROLES[lineup.shape.game]:
            for side in (0, 1):
                number = sum(row_of(split, role)[side] * literal for split, literal in chosen)
                together = numbers.get((role, side), 0)
                model.add(sum(self.holds(index, p, role, side) for p in here) + together == number)
        self._part_foes(index, lineup)

    def holds(self, index: int, player: int, role: int, side: int) -> Linear:
        """1 where somebody holds a role in a turn on a side."""
        return self.held.get((index, player, role, side), 0)

    def side_of(self, stay: int, player: int) -> IntVar:
        """1 for the second side, of somebody in a stay."""
        if (stay, player) not in self.own:
            self.own[stay, player] = self.model.new_bool_var(f"own[{player}|{stay}]")
        return self.own[stay, player]

    def may_keep(self, index: int) -> list[int]:
        """Who may keep goal in a turn where that is to be chosen; nobody where it is given."""
        return self._may[index]

    def _chosen_from(self, index: int) -> list[int]:
        lineup = self.draft.lineups[index]
        may = [p for p in lineup.here if lineup.goal_parts.get(p, 0) > 0] if lineup.turn.goals else []
        may = may if self._among is None else [p for p in may if p in self._among[index]]
        return [] if len(may) <= lineup.turn.goals else may

    def _make_goals(self, index: int, lineup: Lineup, together: Linear) -> None:
        if not self.may_keep(index):
            self.keep.update({(index, p): 1 for p in lineup.keepers})
            return
        may = [p for p in self.may_keep(index) if p not in self.flows.players]
        for p in may:
            self.keep[index, p] = self.model.new_bool_var(f"keep[{p}|{index}]")
        self.model.add(sum(self.keep[index, p] for p in may) + together == lineup.turn.goals)
        names = self.draft.names
        if policy_of(self.draft.club, [names[p] for p in lineup.here]) is KeeperPolicy.REGULARS:
            wish = {p: self.draft.club.player(names[p]).keeper for p in may}
            for willing in (p for p in may if wish[p] is not KeeperWish.REGULAR):
                for regular in (p for p in may if wish[p] is KeeperWish.REGULAR):
                    self.model.add(self.keep[index, willing] <= self.keep[index, regular])

    def _post_stays(self) -> None:
        """Nobody is replaced in goal before the stay ends, unless a regular comes for somebody willing."""
        draft = self.draft
        wish = [draft.club.player(name).keeper for name in draft.names]
        for one, two in self._in_goal():
            first, second = draft.lineups[one], draft.lineups[two]
            same = first.turn.block == second.turn.block
            policy = policy_of(draft.club, [draft.names[p] for p in second.here])
            for p in (p for p in first.here if (one, p) in self.keep and p in second.here):
                stays = keeper_stays(draft.club, draft.names[p])
                if stays is not KeeperStays.SESSION and not (stays is KeeperStays.BLOCK and same):
                    continue
                for q in (q for q in second.here if (two, q) in self.keep and q != p):
                    before = (wish[q], wish[p]) == (KeeperWish.REGULAR, KeeperWish.WILLING)
                    if not (before and policy is KeeperPolicy.REGULARS):
                        stops = self.keeps(one, p) - self.keeps(two, p)
                        self.model.add(stops + self.keeps(two, q) - self.keeps(one, q) <= 1)

    def _in_goal(self) -> list[tuple[int, int]]:
        """Turns with goals that follow one another on some group's way through a session."""
        found: dict[tuple[int, int], None] = {}
        for setting in self.draft.ring.sessions:
            for group in range(1, setting.groups + 1):
                way = [
                    i
                    for i in self.indices
                    for turn in (self.draft.lineups[i].turn,)
                    if turn.session == setting.session and group in turn.groups and turn.goals
                ]
                found.update(dict.fromkeys(pairwise(way)))
        return list(found)

    def _part_foes(self, index: int, lineup: Lineup) -> None:
        """Foes not in one area, where the role and side tell the area; elsewhere mending sees to it."""
        spots = [(role, side, _areas(lineup, role, side)) for role in ROLES[lineup.shape.game] for side in (0, 1)]
        for one, two in lineup.foes:
            if lineup.turn.areas == 1:
                self.model.add(self._active(index, lineup, one) + self._active(index, lineup, two) <= 1)
                continue
            for role, side, areas in spots:
                for other_role, other_side, other_areas in spots:
                    if areas == other_areas and len(areas) == 1:
                        both = self.holds(index, one, role, side) + self.holds(index, two, other_role, other_side)
                        self.model.add(both <= 1)

    def _active(self, index: int, lineup: Lineup, player: int) -> Linear:
        roles = [role for role in ROLES[lineup.shape.game] if role != REST]
        return sum(self.holds(index, player, r, s) for r in roles for s in (0, 1)) + self.keeps(index, player)

    def _even_sides(self) -> None:
        """The sides of each group even at its first turn, not counting who only keeps goal; foes on two sides."""
        draft, model = self.draft, self.model
        stays = dict.fromkeys(draft.lineups[i].stay for i in self.indices)
        for stay in stays:
            lineups = {i: draft.lineups[i] for i in self.indices if draft.lineups[i].stay == stay}
            group = {
                p: draft.group(draft.names[p], draft.stays[stay].session) for one in lineups.values() for p in one.here
            }
            for mates in first_counted(list(lineups.values()), group).values():
                ahead = self.flows.ahead(lineups, mates)
                for p in (p for p in mates if p not in self.flows.players):
                    ahead = ahead + self._counts(stay, p, [i for i, one in lineups.items() if p in one.here])
                model.add(ahead <= 1)
                model.add(ahead >= -1)
            for one, two in draft.apart:
                for i, lineup in lineups.items():
                    if one in lineup.here and two in lineup.here:
                        for side in (0, 1):
                            roles = ROLES[lineup.shape.game]
                            both = [self.holds(i, p, role, side) for p in (one, two) for role in roles]
                            model.add(sum(both) <= 1)

    def _counts(self, stay: int, player: int, indices: list[int]) -> Linear:
        """1 or -1 by side, 0 for who only keeps goal; anything while it is open whether somebody only keeps goal."""
        own, goals = self.side_of(stay, player), [self.keeps(i, player) for i in indices]
        if any(isinstance(goal, int) and goal == 0 for goal in goals):
            return 2 * own - 1
        in_all = sum(player in lineup.here for lineup in self.draft.of_stay(stay))
        if len(indices) == in_all and all(isinstance(goal, int) for goal in goals):
            return 0
        fields = self.model.new_bool_var(f"fields[{player}|{stay}]")
        counts = self.model.new_int_var(-1, 1, f"counts[{player}|{stay}]")
        if len(indices) == in_all:
            self.model.add(sum(goals) <= len(goals) - fields)
            self.model.add(counts <= fields)
            self.model.add(counts >= -1 * fields)
        for goal in goals:
            self.model.add(fields >= 1 - goal)
        self.model.add(counts <= 2 * own - 1 + 2 * (1 - fields))
        self.model.add(counts >= 2 * own - 1 - 2 * (1 - fields))
        return counts


def _areas(lineup: Lineup, role: int, side: int) -> tuple[int, ...]:
    if role == REST:
        return ()
    if role == PLAY:
        return tuple(range(1, lineup.turn.areas + 1))
    return areas_of(lineup.shape, side, role == ATTACK)
