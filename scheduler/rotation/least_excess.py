"""A bound from counting alone on how far beyond one rep from the fair share somebody must come. No solver.

While nobody comes or goes and the keepers stay, everybody in the field has the same share. If one side of f has held a
role for H minutes in all, in reps of g minutes, somebody holds at least H/f rounded up to whole reps and somebody at
most H/f rounded down. Trying every number of players a side may have, and every lawful split of every turn, gives the
least that cannot be avoided: with odd squads and bibs kept on that can be more than nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import gcd

from scheduler.club.club import Club
from scheduler.club.people import KeeperStays
from scheduler.plan.ledger import ROLES, keeper_shares, keeper_stays
from scheduler.rotation.setting import Ring, Turn
from scheduler.rotation.sizes import Split, shape_of, splits

MOST_STATES = 60_000

Held = tuple[int, int, int, int, int, int]  # minutes of attack, defence and rest, of side 0 and side 1 each


def least_excess(club: Club, ring: Ring, found: Fraction) -> Fraction:
    """Minutes beyond the bounds that every rotation of the ring has somewhere, never more than `found` is returned.

    0 where counting shows nothing: several groups, something due from earlier weeks, or too many ways to try.
    """
    due = {row.player for row in club.carried if any(getattr(row, role) for role in ROLES)}
    seen: set[str] = set()
    least = Fraction(0)
    for setting in ring.sessions:
        if setting.groups == 1 and not seen & set(setting.players) and not due & set(setting.players):
            turns = _steady(club, [turn for turn in ring.turns_of(setting.session) if turn.has_roles])
            if setting.bibs_stay == "block":  # bibs are drawn anew
                turns = [turn for turn in turns if turn.block == turns[0].block]
            if turns:
                least = max(least, _least(ring, turns, found))
        seen |= set(setting.players)
    return min(least, found)


def _steady(club: Club, turns: list[Turn]) -> list[Turn]:
    """The first turns of a session while the same children are there and nobody can take over in goal."""
    steady: list[Turn] = []
    for turn in turns:
        if steady and (turn.there != steady[0].there or not _same_keepers(club, steady[-1], turn)):
            break
        if steady and turn.goals != steady[0].goals:
            break
        steady.append(turn)
    return steady


def _same_keepers(club: Club, before: Turn, turn: Turn) -> bool:
    if not turn.goals:
        return not before.goals
    may = keeper_shares(club, turn.there, turn.goals)
    if len(may) <= turn.goals:
        return True
    stays = {keeper_stays(club, player) for player in may}
    if stays == {KeeperStays.SESSION}:
        return True
    return KeeperStays.REP not in stays and before.block == turn.block


def _least(ring: Ring, turns: list[Turn], found: Fraction) -> Fraction:
    """The least over all numbers of players on the two sides."""
    field = len(turns[0].there) - turns[0].goals
    apart = 1 + turns[0].goals  # even at the start, but keepers of these turns may be counted on either side
    pairs = [(first, field - first) for first in range(field + 1) if abs(field - 2 * first) <= apart]
    bounds = tuple(
        max((t.minutes for t in ring.turns if t.has_roles and (role == "rest" or t.attacking)), default=0)
        for role in ("attack", "defend", "rest")
    )
    return min((_of_sides(turns, pair, bounds, found) for pair in pairs), default=found)


def _of_sides(turns: list[Turn], sides: tuple[int, int], bounds: tuple[int, ...], found: Fraction) -> Fraction:
    """With so many on each side: the least over all sequences of splits of the largest excess on the way."""
    field = sum(sides)
    unit = 0
    states: dict[Held, Fraction] = {(0, 0, 0, 0, 0, 0): Fraction(0)}
    for turn in turns:
        unit = gcd(unit, turn.minutes)
        rows = dict.fromkeys(_rows(split) for split in splits(shape_of(turn), *sides))
        after: dict[Held, Fraction] = {}
        worth: dict[Held, Fraction] = {}
        for held, worst in states.items():
            for row in rows:
                now = _add(held, row, turn.minutes)
                if now not in worth:
                    worth[now] = _excess(now, sides, field, bounds, unit)
                value = max(worst, worth[now])
                if value < found and value < after.get(now, found):
                    after[now] = value
        if not after:
            return found
        if len(after) > MOST_STATES:
            return Fraction(0)
        states = after
    return min(states.values())


def _rows(split: Split) -> Held:
    return (*split.attack, *split.defend, *split.rest)


def _add(held: Held, row: Held, minutes: int) -> Held:
    a0, a1, d0, d1, r0, r1 = (had + minutes * number for had, number in zip(held, row, strict=True))
    return a0, a1, d0, d1, r0, r1


def _excess(held: Held, sides: tuple[int, int], field: int, bounds: tuple[int, ...], unit: int) -> Fraction:
    return max((value for value in beyond_of_sides(held, sides, field, bounds, unit)), default=Fraction(0))


def beyond_of_sides(
    held: Held, sides: tuple[int, int], field: int, bounds: tuple[int, ...], unit: int
) -> Iterator[Fraction]:
    """For each role and side: how far beyond the bound the one with most and the one with least must be."""
    yield Fraction(0)
    for role, bound in enumerate(bounds):
        share = Fraction(held[2 * role] + held[2 * role + 1], field)
        for side in (0, 1):
            if sides[side]:
                low, over = divmod(held[2 * role + side], sides[side] * unit)
                most, fewest = (low + (over > 0)) * unit, low * unit
                yield most - share - bound
                yield share - fewest - bound
