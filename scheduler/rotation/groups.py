"""Groups for sessions with stations side by side: keepers for every goal, even sizes, ages and levels, pairs mixed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from itertools import combinations
from random import Random
from typing import NamedTuple

from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, KeeperWish
from scheduler.club.programme import Contact
from scheduler.plan.plan import WeekPlan
from scheduler.rotation.mixing import small_groups
from scheduler.rotation.setting import Ring, SessionSetting, Turn
from scheduler.rotation.sizes import least_field, shape_of

MOST_AGE_YEARS = 2
Cost = tuple[int, ...]


class _Need(NamedTuple):
    """What turns with the same children there ask of a group: goals, and the fewest in the field."""

    there: frozenset[str]
    goals: int
    field: int
    turns: int


class Grouping:
    """The groups of one session being made. `before`: pairs that shared a group earlier in the week."""

    def __init__(self, club: Club, plan: WeekPlan, ring: Ring, setting: SessionSetting,
                 before: dict[tuple[str, str], int]) -> None:  # fmt: skip
        self.club, self.setting, self.before = club, setting, before
        self.turns = [turn for turn in ring.turns_of(setting.session) if len(turn.groups) == 1]
        self.needs = {g: _needs(turn for turn in self.turns if turn.groups == (g,)) for g in self._numbers()}
        self.contact = any(turn.practice.contact is not Contact.NONE for turn in self.turns)
        born = not club.is_blank("Players.Born")
        self.ages = {p: club.age(club.player(p)) if born else None for p in setting.players}
        self.wish = {p: club.player(p).keeper for p in setting.players}
        self.policy = {p: club.team(club.player(p).team).keepers for p in setting.players}
        self.level = {p: club.player(p).even_up for p in setting.players}
        self.closed = {p: self._closed(plan, p) for p in setting.players}
        self.apart = _apart(club, setting.players)
        self.groups: dict[int, list[str]] = {}

    def _numbers(self) -> range:
        return range(1, self.setting.groups + 1)

    def _closed(self, plan: WeekPlan, player: str) -> frozenset[int]:
        """Groups in which the player would meet an adult to be kept apart from, or head too often."""
        child, closed = self.club.player(player), set()
        row = self.club.age_row(child)
        planned = plan.by_session[self.setting.session]
        for group in self._numbers():
            headers = 0
            for turn in self.turns:
                if turn.groups == (group,) and player in turn.there:
                    headers += turn.practice.headers_a_rep
                    stations = planned.blocks[turn.block - 1].stations if planned.blocks else ()
                    adults = next((s.coaches for s in stations if s.station == turn.station), ())
                    if any(other in adults for other in child.apart_from):
                        closed.add(group)
            if row is not None and row.headers_a_week is not None and headers > row.headers_a_week:
                closed.add(group)
        return frozenset(closed)

    def deal(self, random: Random, start: Sequence[Sequence[str]] | None) -> None:
        """A first deal, sizes within one: the given groups, or keepers, late ones and levels dealt out in turn."""
        if start is not None:
            self.groups = {g: list(start[g - 1]) for g in self._numbers()}
            return
        players = list(self.setting.players)
        random.shuffle(players)
        stays = {p: sum(p in turn.there for turn in self.turns) for p in players}
        players.sort(key=lambda p: (self.club.player(p).keeper.value, stays[p], self.club.player(p).even_up))
        if self.contact:
            players.sort(key=lambda p: self.ages[p] or 0)
            sizes = [len(players) // self.setting.groups + (g <= len(players) % self.setting.groups)
                     for g in self._numbers()]  # fmt: skip
            for g, size in zip(self._numbers(), sizes, strict=True):
                self.groups[g], players = players[:size], players[size:]
            return
        self.groups = {g: players[g - 1 :: self.setting.groups] for g in self._numbers()}

    def cost(self, group: int) -> Cost:
        """Of one group: firm faults, years too far apart; then evenness of numbers, keepers and levels, repeats."""
        mates = self.groups[group]
        among = set(mates)
        firm = sum(group in self.closed[p] for p in mates)
        firm += sum(one in among and two in among for one, two in self.apart)
        there = keepers = 0
        for need in self.needs[group]:
            here = [p for p in mates if p in need.there]
            there += need.turns * len(here) ** 2
            if need.goals:
                may = self._may_keep(here, need.goals)
                firm += max(0, need.goals - may)
                keepers += may * may
            firm += max(0, need.field + need.goals - len(here))
        years = self._years_apart(mates) if self.contact else 0
        level = sum(self.level[p] for p in mates)
        again = sum(self.before.get(pair, 0) for pair in combinations(sorted(mates), 2)) if self.before else 0
        return firm, years, there, keepers, level * level, again

    def _years_apart(self, mates: list[str]) -> int:
        """Years beyond those allowed, added up over all pairs, so that every child moved to its like helps."""
        count = Counter(age for p in mates if (age := self.ages[p]) is not None)
        return sum(
            count[one] * count[two] * max(0, abs(one - two) - MOST_AGE_YEARS) for one, two in combinations(count, 2)
        )

    def improve(self) -> Cost:
        """Exchange two of two groups as long as that helps; the cost of all groups together.

        First so that nobody comes among children of other ages for want of a keeper, then whatever helps.
        """
        if self.contact:
            self._exchanges(lambda cost: (cost[1], cost[0], *cost[2:]))
        return self._exchanges(lambda cost: cost)

    def _exchanges(self, key: Callable[[Cost], Cost]) -> Cost:
        costs = {g: self.cost(g) for g in self._numbers()}
        better = True
        while better:
            better = False
            for one, two in combinations(self._numbers(), 2):
                for i in range(len(self.groups[one])):
                    for j in range(len(self.groups[two])):
                        before = _sum((costs[one], costs[two]))
                        self._exchange(one, i, two, j)
                        after = {one: self.cost(one), two: self.cost(two)}
                        if key(_sum(after.values())) < key(before):
                            costs.update(after)
                            better = True
                        else:
                            self._exchange(one, i, two, j)
        return _sum(costs.values())

    def _may_keep(self, here: list[str], goals: int) -> int:
        """How many of those there may keep goal by the policy that holds for them."""
        wishes = [self.wish[p] for p in here]
        policies = {self.policy[p] for p in here}
        regulars, willing = wishes.count(KeeperWish.REGULAR), wishes.count(KeeperWish.WILLING)
        if policies == {KeeperPolicy.EVERYONE}:
            return len(here) - wishes.count(KeeperWish.NO)
        if KeeperPolicy.REGULARS in policies and goals <= regulars:
            return regulars
        return regulars + willing

    def _exchange(self, one: int, i: int, two: int, j: int) -> None:
        first, second = self.groups[one], self.groups[two]
        first[i], second[j] = second[j], first[i]


def _sum(costs: Iterable[Cost]) -> Cost:
    return tuple(map(sum, zip(*costs, strict=True)))


def _needs(turns: Iterable[Turn]) -> tuple[_Need, ...]:
    """The needs of one group's turns, turns with the same children there put together."""
    found: dict[frozenset[str], _Need] = {}
    for turn in turns:
        there = frozenset(turn.there)
        had = found.get(there, _Need(there, 0, 0, 0))
        field = least_field(shape_of(turn)) if turn.has_roles else 0
        found[there] = _Need(there, max(had.goals, turn.goals), max(had.field, field), had.turns + 1)
    return tuple(found.values())


def _apart(club: Club, players: Sequence[str]) -> tuple[tuple[str, str], ...]:
    if club.is_blank("Players.Apart from"):
        return ()
    among = set(players)
    return tuple((p, other) for p in players for other in club.player(p).apart_from if other in among and other != p)


def make_groups(club: Club, plan: WeekPlan, ring: Ring, seed: int = 0) -> tuple[dict[tuple[str, str], int], int]:
    """Who is in which group, by (player, session), for every session with several; and the firm faults left.

    `plan` must have its blocks laid out where adults are to be kept apart from a child.
    """
    several = [setting for setting in ring.sessions if setting.groups > 1]
    alike = len({(setting.groups, setting.players) for setting in several}) == 1 and len(several) > 1
    rounds = small_groups(several[0].players, several[0].groups, len(several), seed).rounds if alike else ()
    found: dict[tuple[str, str], int] = {}
    before: dict[tuple[str, str], int] = {}
    faults = 0
    for number, setting in enumerate(several):
        best: tuple[Cost, dict[int, list[str]]] | None = None
        for attempt in range(2):
            grouping = Grouping(club, plan, ring, setting, before)
            grouping.deal(Random(seed * 10 + attempt), rounds[number] if rounds and attempt == 0 else None)
            cost = grouping.improve()
            if best is None or cost < best[0]:
                best = cost, grouping.groups
            if best[0][0] == 0 and best[0][1] == 0:
                break
        assert best is not None
        faults += best[0][0]
        for group, mates in best[1].items():
            for player in mates:
                found[player, setting.session] = group
            for pair in combinations(sorted(mates), 2):
                before[pair] = before.get(pair, 0) + 1
    return found, faults
