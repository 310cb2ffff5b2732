"""Rows that a counts model does not need for being right, only for being solved: roles are held for whole reps.

Within the bounds somebody may have held a role for so many minutes, rounded down to whole reps; and on one side only
while wearing its bibs. Both in one row, and the linear relaxation adds up what a whole side may hold.
"""

from __future__ import annotations

from math import gcd
from typing import TYPE_CHECKING

from scheduler.rotation.distances import KEPT
from scheduler.rotation.draft import REST, SHARED

if TYPE_CHECKING:
    from scheduler.rotation.counts import CountsModel, Linear


def hold_whole_reps(counts: CountsModel, most: int) -> None:
    """Post the rows for an excess of at most so many scaled minutes; the model must be held to that by its caller."""
    for player in (p for p in range(len(counts.draft.names)) if p not in counts.flows.players):
        for role in SHARED:
            _of_role(counts, player, role, most)
        _of_goals(counts, player, most)


def _of_role(counts: CountsModel, player: int, role: int, most: int) -> None:
    """Whistle by whistle: what may be held since the bibs were put on, by side, and in all."""
    model, lineups, inside = counts.model, counts.draft.lineups, set(counts.indices)
    start, room = counts.start[player][role], counts.draft.bound[player][role] + most
    stays: list[int] = []
    unit = least_share = most_share = low = before = played = 0
    by_side: list[Linear] = [0, 0]
    in_all: Linear = 0
    for index in (index for index in counts.draft.path[player] if index in inside):
        lineup, goal = lineups[index], counts.keeps(index, player)
        if (lineup.shape.game and role != REST) or (isinstance(goal, int) and goal):
            continue
        if lineup.stay not in stays:
            stays.append(lineup.stay)
            before, played, by_side = low, 0, [0, 0]
        shares = _shares(counts, index, role)
        least_share += min(shares) if isinstance(goal, int) else 0
        most_share += max(shares)
        unit, played = gcd(unit, lineup.full), played + lineup.full
        low = max(0, -((start + room - least_share) // unit) * unit)
        high = (most_share - start + room) // unit * unit
        own = counts.side_of(lineup.stay, player)
        for side, worn in ((0, 1 - own), (1, own)):
            by_side[side] = by_side[side] + lineup.full * counts.holds(index, player, role, side)
            if high - before < played:
                model.add(by_side[side] <= (high - before) * worn)
            if low and len(stays) == 1:
                model.add(by_side[side] >= low * worn)
        in_all = in_all + lineup.full * sum(counts.holds(index, player, role, side) for side in (0, 1))
        if len(stays) > 1:
            model.add(in_all <= high)
            model.add(in_all >= low)


def _shares(counts: CountsModel, index: int, role: int) -> list[int]:
    """The shares that the turn's splits can give to somebody in the field."""
    lineup = counts.draft.lineups[index]
    each = lineup.full // ((len(lineup.here) - lineup.turn.goals) or 1)
    return [each * sum((split.attack, split.defend, split.rest)[role]) for split, _ in counts.chosen[index]] or [0]


def _of_goals(counts: CountsModel, player: int, most: int) -> None:
    """The same for goals: the shares in goal do not depend on any choice."""
    inside, lineups = set(counts.indices), counts.draft.lineups
    start, room = counts.start[player][KEPT], counts.draft.bound[player][KEPT] + most
    unit = share = 0
    held: Linear = 0
    for index in (index for index in counts.draft.path[player] if index in inside and lineups[index].goal_share):
        lineup = lineups[index]
        unit, share = gcd(unit, lineup.full), share + lineup.goal_share.get(player, 0)
        held = held + lineup.full * counts.keeps(index, player)
        if not isinstance(held, int):
            counts.model.add(held <= (share - start + room) // unit * unit)
            counts.model.add(held >= -((start + room - share) // unit) * unit)
