"""How many attack, defend, play and rest on each side of one turn, given how many of each side are in the field."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from scheduler.club.programme import Kind, Sizes
from scheduler.rotation.setting import Turn

Pair = tuple[int, int]
NONE: Pair = (0, 0)


class Shape(NamedTuple):
    """What the sizes of a turn depend on; two turns of one shape can be filled alike."""

    game: bool
    attackers: Sizes
    defenders: Sizes
    areas: int
    attacking: tuple[int, ...]
    wanted: tuple[bool, bool]


class Split(NamedTuple):
    """Numbers by side over all areas; `off`: players more or fewer than wanted, added up over the areas."""

    attack: Pair
    defend: Pair
    play: Pair
    rest: Pair
    off: int


def shape_of(turn: Turn) -> Shape:
    """The shape of a part or game; a size nobody gave is never off."""
    practice = turn.practice
    wanted = tuple(
        size is not None and size.least < size.most
        for size in (practice.attackers, practice.defenders if turn.kind is Kind.PART else None)
    )
    return Shape(
        turn.kind is Kind.GAME, turn.attackers, turn.defenders, turn.areas, turn.attacking, (wanted[0], wanted[1])
    )


def per_area(total: int, areas: int) -> tuple[int, ...]:
    """A number shared out over areas, within one, the earlier areas first."""
    return tuple(total // areas + (number < total % areas) for number in range(areas)) if areas else ()


def areas_of(shape: Shape, side: int, attacking: bool) -> tuple[int, ...]:
    """The areas (from 1) of a part in which a side attacks, or defends."""
    return tuple(number for number, attacker in enumerate(shape.attacking, 1) if (attacker == side) == attacking)


@cache
def splits(shape: Shape, first: int, second: int) -> tuple[Split, ...]:
    """Every lawful split of so many in the field of side 0 and side 1 with the fewest rests, least off wanted first."""
    found = _game_splits(shape, first, second) if shape.game else _part_splits(shape, first, second)
    return tuple(sorted(found, key=lambda split: (split.off, abs(split.attack[0] - split.attack[1]), split)))


@cache
def missing(shape: Shape, first: int, second: int) -> int:
    """How many players are missing on both sides together for any lawful split; 0 where there is one."""
    if splits(shape, first, second):
        return 0
    lows = _lows(shape)
    short = max(0, lows[0] - first) + max(0, lows[1] - second)
    return max(1, short, abs(first - second) - shape.areas if shape.game else 0)


def all_play(shape: Shape, field: int, apart: int) -> bool:
    """Whether nobody of so many in the field can rest, the numbers of the two sides being at most `apart` apart."""
    ways = [
        split
        for first in range(field + 1)
        if abs(field - 2 * first) <= apart
        for split in splits(shape, first, field - first)
    ]
    return bool(ways) and not any(any(split.rest) for split in ways)


def _lows(shape: Shape) -> Pair:
    if shape.game:
        return shape.attackers.least * shape.areas, shape.attackers.least * shape.areas
    low0, low1 = (
        sum(shape.attackers.least if attacker == side else shape.defenders.least for attacker in shape.attacking)
        for side in (0, 1)
    )
    return low0, low1


def least_field(shape: Shape) -> int:
    """The fewest in the field with whom a turn of this shape can be played."""
    return sum(_lows(shape))


def _off(total: int, areas: int, sizes: Sizes, wanted: bool) -> int:
    return sum(abs(number - sizes.wanted) for number in per_area(total, areas)) if wanted else 0


def _game_splits(shape: Shape, first: int, second: int) -> list[Split]:
    low, high = shape.attackers.least * shape.areas, shape.attackers.most * shape.areas
    pairs = [
        (a, b)
        for a in range(low, min(first, high) + 1)
        for b in range(low, min(second, high) + 1)
        if abs(a - b) <= shape.areas
    ]
    most = max((a + b for a, b in pairs), default=0)
    return [
        Split(
            NONE,
            NONE,
            (a, b),
            (first - a, second - b),
            sum(_off(n, shape.areas, shape.attackers, shape.wanted[0]) for n in (a, b)),
        )
        for a, b in pairs
        if a + b == most
    ]


def _side_splits(shape: Shape, side: int, field: int) -> list[tuple[int, int, int, int]]:
    """(attack, defend, rest, off) of one side of a part."""
    attacks, defends = len(areas_of(shape, side, True)), len(areas_of(shape, side, False))
    most_attack, most_defend = attacks * shape.attackers.most, defends * shape.defenders.most
    plays = min(field, most_attack + most_defend)
    found = []
    for attack in range(attacks * shape.attackers.least, min(most_attack, plays) + 1):
        defend = plays - attack
        if defends * shape.defenders.least <= defend <= most_defend:
            off = _off(attack, attacks, shape.attackers, shape.wanted[0])
            off += _off(defend, defends, shape.defenders, shape.wanted[1])
            found.append((attack, defend, field - plays, off))
    return found


def _part_splits(shape: Shape, first: int, second: int) -> list[Split]:
    return [
        Split((a0, a1), (d0, d1), NONE, (r0, r1), off0 + off1)
        for a0, d0, r0, off0 in _side_splits(shape, 0, first)
        for a1, d1, r1, off1 in _side_splits(shape, 1, second)
    ]
