"""How far everybody is from the fair share at every whistle of a counts model, and who is like whom in it."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from scheduler.rotation.draft import ATTACK, DEFEND, KEEP, PLAY, REST, SHARED, Draft, Lineup

if TYPE_CHECKING:
    from scheduler.rotation.counts import CountsModel, Linear

MOST_BITS = 20  # of the order in which players who are alike are told apart
KEPT = 3  # where a draft's distances have the role of keeper


def distances_after(draft: Draft, indices: list[int]) -> list[list[int]]:
    """Everybody's scaled distances from the shares (attack, defence, rest, goal) after these lineups alone."""
    now = [list(start) for start in draft.start]
    for index in indices:
        _step(draft.lineups[index], now)
    return now


def furthest_beyond(draft: Draft, indices: list[int]) -> int:
    """Scaled minutes beyond the bounds at the worst whistle of these lineups, which come first in everyone's week."""
    now, worst = [list(start) for start in draft.start], 0
    for index in indices:
        lineup = draft.lineups[index]
        _step(lineup, now)
        for player in lineup.here:
            beyond = (abs(mine) - most for mine, most in zip(now[player], draft.bound[player], strict=True))
            worst = max(worst, *beyond)
    return worst


def _step(lineup: Lineup, now: list[list[int]]) -> None:
    for player in lineup.here:
        mine, role = now[player], lineup.role[player]
        if lineup.goal_share:
            mine[KEPT] += lineup.full * (role == KEEP) - lineup.goal_share.get(player, 0)
        if role != KEEP:
            for shared in SHARED:
                mine[shared] += lineup.full * (role == shared) - lineup.quota[shared]


def hold_within_bounds(counts: CountsModel) -> None:
    """Every distance at every whistle at most the bound and the excess away."""
    draft, model, excess = counts.draft, counts.model, counts.excess
    shares = {index: _Shares(counts, index) for index in counts.indices}
    for player in (p for p in range(len(draft.names)) if p not in counts.flows.players):
        sums: list[Linear] = list(counts.start[player])
        for index in (i for i in draft.path[player] if i in shares):
            lineup = draft.lineups[index]
            changed = [REST] if lineup.shape.game else list(SHARED)
            parts = shares[index].of(player)
            for role in changed:
                held = sum(counts.holds(index, player, role, side) for side in (0, 1))
                sums[role] = sums[role] + lineup.full * held - parts[role]
            if lineup.goal_share:
                changed.append(KEPT)
                sums[KEPT] = sums[KEPT] + lineup.full * counts.keeps(index, player) - lineup.goal_share.get(player, 0)
            for role in changed:
                bound = draft.bound[player][role]
                model.add(sums[role] <= bound + excess)
                model.add(-1 * sums[role] <= bound + excess)


class _Shares:
    """The shares of one turn: by the numbers of attackers, defenders and resting in the split that is chosen."""

    def __init__(self, counts: CountsModel, index: int) -> None:
        self._counts, self._index = counts, index
        lineup = counts.draft.lineups[index]
        self._each = lineup.full // ((len(lineup.here) - lineup.turn.goals) or 1)
        self._totals: dict[tuple[int, int, int], Linear] = {}
        for split, literal in counts.chosen[index]:
            total = sum(split.attack), sum(split.defend), sum(split.rest)
            self._totals[total] = self._totals.get(total, 0) + literal

    def of(self, player: int) -> list[Linear]:
        """What falls to the player of attack, defence and rest; nothing while keeping goal."""
        goal = self._counts.keeps(self._index, player)
        if isinstance(goal, int):
            return self._weighted(self._totals) if not goal else [0, 0, 0]
        if len(self._totals) == 1:
            return self._weighted(dict.fromkeys(self._totals, 1 - goal))
        model = self._counts.model
        both: dict[tuple[int, int, int], Linear] = {}
        for total, literal in self._totals.items():
            made = model.new_bool_var(f"share[{player}|{self._index}|{total}]")
            model.add(made <= literal)
            both[total] = made
        model.add(sum(both.values()) == 1 - goal)
        return self._weighted(both)

    def _weighted(self, by: dict[tuple[int, int, int], Linear]) -> list[Linear]:
        return [sum(self._each * total[role] * literal for total, literal in by.items()) for role in SHARED]


def alike(counts: CountsModel) -> list[list[int]]:
    """Players who could change everything they do with one another, in sets of two and more."""
    draft, inside = counts.draft, set(counts.indices)
    told = {player for lineup in draft.lineups for pair in lineup.foes for player in pair} | set(sum(draft.apart, ()))
    found: dict[object, list[int]] = {}
    for player, name in enumerate(draft.names):
        path = tuple(index for index in draft.path[player] if index in inside)
        if path and player not in told and player not in counts.flows.players:
            child = draft.club.player(name)
            groups = tuple(draft.group(name, one.session) for one in draft.ring.sessions)
            keeps = tuple(goal if isinstance(goal := counts.keeps(index, player), int) else -1 for index in path)
            due = tuple(counts.start[player]), tuple(draft.bound[player])
            found.setdefault((path, due, child.keeper, child.team, groups, keeps), []).append(player)
    return [players for players in found.values() if len(players) > 1]


def order_alike(counts: CountsModel) -> None:
    """Of players who are alike take one order only: by a binary number made of the first things they do."""
    for players in alike(counts):
        for one, two in pairwise([_number(counts, player) for player in players]):
            counts.model.add(one <= two)


def _number(counts: CountsModel, player: int) -> Linear:
    """Side, then turn by turn goal and roles, as one binary number."""
    draft, inside = counts.draft, set(counts.indices)
    bits: list[Linear] = []
    stays: set[int] = set()
    for index in (index for index in draft.path[player] if index in inside):
        lineup = draft.lineups[index]
        if lineup.stay not in stays:
            stays.add(lineup.stay)
            bits.append(counts.side_of(lineup.stay, player))
        if not isinstance(counts.keeps(index, player), int):
            bits.append(counts.keeps(index, player))
        for role in (PLAY,) if lineup.shape.game else (ATTACK, DEFEND):
            bits.append(counts.holds(index, player, role, 0) + counts.holds(index, player, role, 1))
    number: Linear = 0
    for bit in bits[:MOST_BITS]:
        number = 2 * number + bit
    return number
