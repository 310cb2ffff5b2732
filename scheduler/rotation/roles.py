"""Roles turn by turn: in each turn whoever would be furthest from the fair share gets what brings them nearest.

With one role and equal lengths, serving the largest deficit first keeps every prefix within one rep
(R. Tijdeman, The chairman assignment problem, Discrete Mathematics 32, 1980).
"""

from __future__ import annotations

from random import Random

from scheduler.rotation.draft import ATTACK, DEFEND, KEEP, PLAY, REST, Draft, Lineup
from scheduler.rotation.sides import draw_sides
from scheduler.rotation.sizes import Split, splits

URGENT = 40  # how much heavier a minute beyond the bound weighs than one inside it


def cast(draft: Draft, random: Random, noise: bool) -> int:
    """Draw every stay's sides and give every turn its roles, in order of time; firm faults met on the way.

    A turn with a fault (no lawful split) is left without roles.
    """
    now = [list(start) for start in draft.start]
    sided = [[0] * len(draft.names) for _ in draft.names]
    drawn: set[int] = set()
    faults = 0
    for lineup in draft.lineups:
        if lineup.stay not in drawn:
            drawn.add(lineup.stay)
            faults += draw_sides(draft, lineup.stay, now, sided, random)[0]
        if faults:
            return faults
        cast_lineup(draft, lineup, now, random if noise else None)
        draft.step(lineup, now)
    return faults


def cast_lineup(draft: Draft, lineup: Lineup, now: list[list[int]], random: Random | None) -> None:
    """Choose sizes and roles of one turn, given the distances before it."""
    side = draft.sides[lineup.stay]
    teams = tuple([p for p in lineup.field if side[p] == s] for s in (0, 1))
    if random is not None:
        for team in teams:
            random.shuffle(team)
    best: tuple[tuple[int, int, int], Split, dict[int, int]] | None = None
    for split in splits(lineup.shape, len(teams[0]), len(teams[1])):
        if best is not None and split.off > best[1].off and best[0][0] == 0:
            break
        draft.share_out(lineup, split)
        roles: dict[int, int] = {}
        over = total = 0
        for s in (0, 1):
            cost = {p: _costs(draft, lineup, p, now) for p in teams[s]}
            need = {ATTACK: split.attack[s], DEFEND: split.defend[s], REST: split.rest[s], PLAY: split.play[s]}
            given = _assign(teams[s], need, cost)
            roles.update(given)
            over += sum(cost[p][given[p]][0] for p in teams[s])
            total += sum(cost[p][given[p]][1] for p in teams[s])
        key = (over, split.off, total)
        if best is None or key < best[0]:
            best = key, split, roles
    assert best is not None
    draft.share_out(lineup, best[1])
    lineup.role = {**dict.fromkeys(lineup.keepers, KEEP), **best[2]}
    draft.settle_areas(lineup)


def _costs(draft: Draft, lineup: Lineup, player: int, now: list[list[int]]) -> list[tuple[int, int]]:
    """For each role taken: scaled minutes beyond the bounds afterwards, and a weight of all distances."""
    bounds, quota, full = draft.bound[player], lineup.quota, lineup.full
    before = now[player]
    found = []
    for role in (ATTACK, DEFEND, REST, PLAY):
        over = weight = 0
        for shared in (ATTACK, DEFEND, REST):
            value = before[shared] - quota[shared] + (full if role == shared else 0)
            beyond = max(0, abs(value) - bounds[shared])
            over += beyond
            weight += value * value + URGENT * beyond * beyond
        found.append((over, weight))
    return found


def _assign(team: list[int], need: dict[int, int], cost: dict[int, list[tuple[int, int]]]) -> dict[int, int]:
    """Roles in the numbers needed with the least weight: a first deal, then exchanges of two or three."""
    roles = [role for role, number in need.items() for _ in range(number)]
    kinds = [role for role, number in need.items() if number]
    if len(kinds) == 2:
        one, two = kinds
        order = sorted(team, key=lambda p: cost[p][one][1] - cost[p][two][1])
        return {p: one if number < need[one] else two for number, p in enumerate(order)}
    given = dict(zip(team, roles, strict=True))
    better = len(kinds) > 2
    while better:
        better = False
        for p in team:
            for q in team:
                if given[p] != given[q]:
                    change = cost[p][given[q]][1] + cost[q][given[p]][1] - cost[p][given[p]][1] - cost[q][given[q]][1]
                    if change < 0:
                        given[p], given[q] = given[q], given[p]
                        better = True
    return given
