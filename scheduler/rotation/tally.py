"""Held less fair share at every whistle, as exact whole numbers of the rotation model.

A share is minutes x places / players; everything is multiplied by one common denominator (`scale`), so nothing is
rounded. Sizes may vary from rep to rep, so the number of places is a count of literals; a child who may keep goal
counts in the field only while not keeping. The number of goals of a turn is taken as filled (the rule on area sizes).
"""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from itertools import product
from math import lcm
from typing import TYPE_CHECKING

from scheduler.club.people import KeeperPolicy, KeeperStays, KeeperWish
from scheduler.club.programme import Kind
from scheduler.rotation.setting import FIELD, Turn

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.rotation.model import Linear, RotationModel

ROLES = ("attack", "defend", "keep", "rest")
LARGEST_SCALE = 10**9
KEEPING = (KeeperWish.REGULAR, KeeperWish.WILLING, KeeperWish.NOT_ASKED)
POLICIES = (KeeperPolicy.REGULARS, KeeperPolicy.VOLUNTEERS, KeeperPolicy.EVERYONE)


def goal_parts(
    policy: KeeperPolicy, regulars: int, willing: int, others: int, goals: int
) -> dict[KeeperWish, Fraction]:
    """The part of a rep in goal of one regular, one willing and one child not asked, by how many of each are there."""

    def each(places: int, sharing: int) -> Fraction:
        return Fraction(min(places, sharing), sharing) if places > 0 and sharing else Fraction(0)

    if policy is KeeperPolicy.REGULARS:
        left = goals - regulars
        return {KeeperWish.REGULAR: each(goals, regulars), KeeperWish.WILLING: each(left, willing)}
    if policy is KeeperPolicy.VOLUNTEERS:
        part = each(goals, regulars + willing)
        return {KeeperWish.REGULAR: part, KeeperWish.WILLING: part}
    part = each(goals, regulars + willing + others)
    return dict.fromkeys((KeeperWish.REGULAR, KeeperWish.WILLING, KeeperWish.NOT_ASKED), part)


def goes_round(turn: Turn, role: str) -> bool:
    """Whether a role is shared out in a turn."""
    if role == "keep":
        return turn.goals > 0
    return turn.has_roles if role == "rest" else turn.kind is Kind.PART


def keeper_stay(stays: KeeperStays, turn: Turn) -> tuple[str, int, int]:
    """The stretch for which whoever keeps goal in a turn goes on keeping; zeros stand for `all of them`."""
    if stays is KeeperStays.SESSION:
        return turn.session, 0, 0
    return (turn.session, turn.block, 0) if stays is KeeperStays.BLOCK else (turn.session, turn.block, turn.rep)


class Tally:
    """The shares of one model, made on demand."""

    def __init__(self, model: RotationModel) -> None:
        self._model = model
        self._club = model.club
        self._quota: dict[tuple[int, str], Linear] = {}
        self._goal_parts: dict[tuple[int, KeeperWish], IntVar] = {}
        self._policies: dict[int, IntVar] = {}
        self._excess_of: dict[str, IntVar] = {}
        self._over: dict[str, IntVar] = {}
        self._dues = {row.player: row for row in self._club.carried}
        for turn in model.ring.turns:
            if turn.has_roles and not model.is_fixed(turn) and self.scale > LARGEST_SCALE:
                raise ValueError("groups are too large to be left free; give them")

    @cached_property
    def scale(self) -> int:
        """The common denominator of every share that can occur."""
        found = 1
        for turn in self._model.ring.turns:
            if not turn.has_roles:
                continue
            here = len(self._model.here(turn))
            if self._model.is_fixed(turn):
                found = lcm(found, max(1, here - turn.goals), *self._goal_denominators(turn))
            else:
                found = lcm(found, *range(1, here + 1))
        return found

    def _goal_denominators(self, turn: Turn) -> list[int]:
        return [part.denominator for part in goal_parts(*self._counted(turn), turn.goals).values()]

    @cached_property
    def horizon(self) -> int:
        """Scaled minutes that no distance can pass."""
        due = max((abs(getattr(row, role)) for row in self._club.carried for role in ROLES), default=0)
        return self.scale * (2 * sum(turn.minutes for turn in self._model.ring.turns if turn.has_roles) + due + 1)

    @cached_property
    def excess(self) -> IntVar:
        """Scaled minutes beyond the bound, the largest over players, roles and whistles."""
        return self._model.model.new_int_var(0, self.horizon, "excess")

    def excess_of(self, player: str) -> IntVar:
        """One player's room beyond the bound, never above `excess`; above zero only where the player is `over`."""
        if player not in self._excess_of:
            made = self._model.model.new_int_var(0, self.horizon, f"excess[{player}]")
            over = self._model.model.new_bool_var(f"over[{player}]")
            self._model.model.add(made <= self.excess)
            self._model.model.add(made <= self.horizon * over)
            self._excess_of[player], self._over[player] = made, over
        return self._excess_of[player]

    @property
    def over(self) -> tuple[IntVar, ...]:
        """For each player with a share, whether that player is beyond the bound."""
        return tuple(self._over.values())

    def hold(self, player: str, role: str, switch: IntVar) -> None:
        """Keep the player within the bound (and the room beyond it) at every whistle while the switch is on."""
        model, bound, room = self._model.model, self.bound(player, role), self.excess_of(player)
        for _, distance in self.distances(player, role):
            model.add(distance <= bound + room).only_enforce_if(switch)
            model.add(-1 * distance <= bound + room).only_enforce_if(switch)

    def turns(self, player: str, role: str) -> tuple[Turn, ...]:
        """The turns in which the player may be there and the role is shared out, in order of time."""
        held = (turn for turn in self._model.ring.turns if player in self._model.here(turn))
        return tuple(turn for turn in held if goes_round(turn, role))

    def distances(self, player: str, role: str) -> list[tuple[Turn, Linear]]:
        """At every whistle of the player's week, scaled minutes held less the fair share with what is due."""
        turns = self.turns(player, role)
        if not turns:
            return []
        so_far: Linear = 0 - self._due(player, role)
        found: list[tuple[Turn, Linear]] = []
        for turn in turns:
            held = sum(self._model.places(player, turn, role))
            so_far = so_far + self.scale * turn.minutes * held - self._part(player, turn, role)
            found.append((turn, so_far))
        return found

    def bound(self, player: str, role: str) -> Linear:
        """Scaled minutes of one rep: the longest of the week in which the role is played; of keep: one stay."""
        lengths: dict[object, Linear] = {}
        stays = self._club.team(self._club.player(player).team).keeper_stays
        for turn in self.turns(player, role):
            key: object = keeper_stay(stays, turn) if role == "keep" else turn.index
            lengths[key] = lengths.get(key, 0) + self.scale * turn.minutes * self._model.at(player, turn)
        known = [length for length in lengths.values() if isinstance(length, int)]
        if len(known) == len(lengths):
            return max(known, default=0)
        longest = self._model.model.new_int_var(0, self.horizon, f"longest[{player}|{role}]")
        self._model.model.add_max_equality(longest, list(lengths.values()))
        return longest

    def _due(self, player: str, role: str) -> Linear:
        due = self.scale * getattr(self._dues[player], role) if player in self._dues else 0
        bound = self.bound(player, role) if due else 0
        if isinstance(bound, int):
            return max(-bound, min(bound, due))
        counted = self._model.model.new_int_var(-self.horizon, self.horizon, f"due[{player}|{role}]")
        if due > 0:
            self._model.model.add_min_equality(counted, [bound, due])
        else:
            self._model.model.add_max_equality(counted, [-1 * bound, due])
        return counted

    # the part of a turn that falls to a player

    def _part(self, player: str, turn: Turn, role: str) -> Linear:
        if role == "keep":
            return self._goal_part(player, turn)
        quota = self._field_quota(turn, role)
        if self._model.is_fixed(turn) and not self._may_keep(player, turn):
            return quota
        most = self.scale * turn.minutes
        fields = sum(self._model.places(player, turn, *FIELD))
        part = self._model.model.new_int_var(0, most, f"part[{player}|{turn.index}|{role}]")
        self._model.model.add(part <= most * fields)
        self._model.model.add(part <= quota)
        self._model.model.add(part >= quota - most * (1 - fields))
        return part

    def _may_keep(self, player: str, turn: Turn) -> bool:
        wish = self._club.player(player).keeper
        if not self._model.is_fixed(turn):
            return bool(turn.goals) and wish is not KeeperWish.NO
        return bool(turn.goals) and goal_parts(*self._counted(turn), turn.goals).get(wish, Fraction(0)) > 0

    def _field_quota(self, turn: Turn, role: str) -> Linear:
        """Scaled minutes of the role for each player in the field: length x places / players in the field."""
        key = (turn.index, role)
        if key not in self._quota:
            here = self._model.here(turn)
            places = self._model.count(turn, role)
            if self._model.is_fixed(turn):
                field = len(here) - turn.goals
                self._quota[key] = places * (self.scale * turn.minutes // field) if field > 0 else 0
            else:
                self._quota[key] = self._free_quota(turn, places, here)
        return self._quota[key]

    def _free_quota(self, turn: Turn, places: Linear, here: tuple[str, ...]) -> IntVar:
        model, whole = self._model.model, self.scale * turn.minutes
        quota = model.new_int_var(0, whole, f"quota[{turn.index}]")
        field = model.new_int_var(0, len(here), f"field[{turn.index}]")
        held = model.new_int_var(0, len(here), f"held[{turn.index}]")
        model.add(field == sum(self._model.at(player, turn) for player in here) - turn.goals)
        model.add(held == places)
        rows = [(n, s, whole * s // n if n else 0) for n in range(len(here) + 1) for s in range(n + 1)]
        model.add_allowed_assignments([field, held, quota], rows)
        return quota

    def _counted(self, turn: Turn) -> tuple[KeeperPolicy, int, int, int]:
        """Policy, regulars, willing and not asked among those who may be at the station."""
        here = self._model.here(turn)
        wishes = [self._club.player(player).keeper for player in here]
        policies = {self._policy(player) for player in here}
        regulars, willing, others = (wishes.count(kind) for kind in KEEPING)
        return _one_policy(policies), regulars, willing, others

    def _policy(self, player: str) -> KeeperPolicy:
        return self._club.team(self._club.player(player).team).keepers

    def _goal_part(self, player: str, turn: Turn) -> Linear:
        wish = self._club.player(player).keeper
        whole = self.scale * turn.minutes
        if self._model.is_fixed(turn):
            return int(whole * goal_parts(*self._counted(turn), turn.goals).get(wish, Fraction(0)))
        if wish is KeeperWish.NO:
            return 0
        at = self._model.at(player, turn)
        part = self._model.model.new_int_var(0, whole, f"goal part[{player}|{turn.index}]")
        full = self._free_goal_part(turn, wish)
        self._model.model.add(part <= whole * at)
        self._model.model.add(part <= full)
        self._model.model.add(part >= full - whole * (1 - at))
        return part

    def _free_goal_part(self, turn: Turn, wish: KeeperWish) -> IntVar:
        """The part of a turn in goal of everyone at the station who gave this answer, groups being free."""
        key = (turn.index, wish)
        if key not in self._goal_parts:
            model, whole, here = self._model.model, self.scale * turn.minutes, self._model.here(turn)
            counts = []
            for kind in KEEPING:
                who = [p for p in here if self._club.player(p).keeper is kind]
                count = model.new_int_var(0, len(who), f"{kind.value or 'others'}[{turn.index}]")
                model.add(count == sum(self._model.at(p, turn) for p in who))
                counts.append((count, len(who)))
            ranges = [range(most + 1) for _, most in counts]
            part = model.new_int_var(0, whole, f"goal part[{turn.index}|{wish.value}]")
            rows = [
                (number, r, w, a, int(whole * goal_parts(policy, r, w, a, turn.goals).get(wish, Fraction(0))))
                for number, policy in enumerate(POLICIES)
                for r, w, a in product(*ranges)
            ]
            columns = [self.station_policy(turn), *(count for count, _ in counts), part]
            model.add_allowed_assignments(columns, rows)
            self._goal_parts[key] = part
        return self._goal_parts[key]

    def station_policy(self, turn: Turn) -> Linear:
        """Which of POLICIES (by number) holds at a station: that of all there, else regulars first, else volunteers."""
        if self._model.is_fixed(turn):
            return POLICIES.index(self._counted(turn)[0])
        if turn.index not in self._policies:
            model, here = self._model.model, self._model.here(turn)
            chosen = model.new_int_var(0, len(POLICIES) - 1, f"policy[{turn.index}]")
            some = []
            for policy in POLICIES:
                literal = model.new_bool_var(f"{policy.value}[{turn.index}]")
                who = [self._model.at(p, turn) for p in here if self._policy(p) is policy]
                model.add(sum(who) >= literal)
                model.add(sum(who) <= len(here) * literal)
                some.append(literal)
            regulars, volunteers, everyone = some
            model.add(chosen == 0).only_enforce_if(regulars)
            model.add(chosen == 2).only_enforce_if([~regulars, ~volunteers, everyone])
            model.add(chosen == 1).only_enforce_if([~regulars, volunteers])
            model.add(chosen == 1).only_enforce_if([~regulars, ~everyone])
            self._policies[turn.index] = chosen
        return self._policies[turn.index]


def _one_policy(policies: set[KeeperPolicy]) -> KeeperPolicy:
    if len(policies) == 1:
        return next(iter(policies))
    return KeeperPolicy.REGULARS if KeeperPolicy.REGULARS in policies else KeeperPolicy.VOLUNTEERS
