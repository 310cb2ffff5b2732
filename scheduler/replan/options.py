"""One turn mended alone: every way to fill it lawfully that changes as few places as possible. No solver.

The sides of everybody who has one are held, and so are groups. What is found here is exact for one turn: the number
of changes is the least possible in it while sides and groups stay, so the sum over turns is a lower bound for a week.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, permutations, product

from scheduler.club.club import Club
from scheduler.club.programme import Kind
from scheduler.plan.ledger import keeper_shares
from scheduler.rotation.setting import Turn
from scheduler.rotation.slots import Slot

MOST_OPTIONS = 2000
Filling = dict[str, Slot]


class TooMany(Exception):
    """So many ways that the quick repair is not the right tool."""


@dataclass(frozen=True)
class Mending:
    """What one turn needs. `old`: slots of those there in both plans; `sides`: the own side (0 or 1) where known."""

    turn: Turn
    here: tuple[str, ...]
    old: Mapping[str, Slot]
    sides: Mapping[str, int]


@dataclass(frozen=True)
class Option:
    """One lawful way to fill a turn; `changes` of them are changes, `odd` is how far sizes are from the wanted ones."""

    filling: Filling
    changes: int
    odd: int


def least_changes(club: Club, mending: Mending) -> int | None:
    """The fewest changes of any lawful filling, by numbers alone; None where no filling is lawful."""
    if mending.turn.kind is Kind.TOGETHER:
        return 0
    return min((cost for cost, *_ in _outlines(club, mending)), default=None)


def fillings(club: Club, mending: Mending, most: int) -> list[Option]:
    """Every lawful filling with at most so many changes, fewest first. TooMany beyond a limit."""
    if mending.turn.kind is Kind.TOGETHER:
        return [Option({player: Slot("all", None, None) for player in mending.here}, 0, 0)]
    found: dict[tuple[Slot, ...], Option] = {}
    for cost, keeping, free, counts in _outlines(club, mending):
        if cost <= most:
            odd, spare = _odd(mending.turn, counts), most - cost
            for filling, more in _ways(mending, keeping, free, counts, spare):
                key = tuple(filling[player] for player in mending.here)
                found.setdefault(key, Option(filling, cost + more, odd))
                if len(found) > MOST_OPTIONS:
                    raise TooMany
    return sorted(found.values(), key=lambda option: (option.changes, option.odd))


def _outlines(club: Club, mending: Mending) -> Iterator[tuple[int, Filling, dict[str, int], dict[Slot, int]]]:
    """Who keeps, the sides of those who have none, and numbers a slot, with the fewest changes these need."""
    for keeping in _goals(club, mending):
        moved = sum(1 for player, slot in keeping.items() if mending.old.get(player) not in (None, slot))
        had = {slot: len(players) for slot, players in _staying(mending, keeping).items()}
        moved += sum(1 for player in mending.here if player in mending.old and player not in keeping)
        for free in _free_sides(mending, keeping):
            for counts in _counts(mending, keeping, free):
                kept = sum(min(number, counts.get(slot, 0)) for slot, number in had.items())
                yield moved - kept, keeping, free, counts


# goals


def goal_slots(turn: Turn) -> list[Slot]:
    """The places in goal of a turn."""
    if not turn.goals:
        return []
    if turn.kind is Kind.PART:
        return [Slot("keep", area, 1 - attacker) for area, attacker in enumerate(turn.attacking, 1)]
    return [Slot("keep", area, side) for area in range(1, turn.areas + 1) for side in (0, 1)]


def _goals(club: Club, mending: Mending) -> Iterator[Filling]:
    """Who keeps which goal: everybody who may by the policy of those there, in every way."""
    slots = goal_slots(mending.turn)
    may = keeper_shares(club, mending.here, len(slots)) if slots else {}
    must = [player for player, part in may.items() if part == 1]
    for chosen in permutations(may, len(slots)):
        if all(player in chosen for player in must):
            yield dict(zip(chosen, slots, strict=True))


# sizes


def _free_sides(mending: Mending, keeping: Filling) -> Iterator[dict[str, int]]:
    """Every side for those in the field who have none yet."""
    free = [player for player in mending.here if player not in keeping and player not in mending.sides]
    if len(free) > 8:
        raise TooMany
    for sides in product((0, 1), repeat=len(free)):
        yield dict(zip(free, sides, strict=True))


def field_slots(turn: Turn, side: int) -> tuple[tuple[Slot, int, int], ...]:
    """The outfield slots of one side with their least and most."""
    if turn.kind is Kind.GAME:
        size = turn.attackers
        return tuple((Slot("play", area, side), size.least, size.most) for area in range(1, turn.areas + 1))
    found = []
    for area, attacker in enumerate(turn.attacking, 1):
        role, size = ("attack", turn.attackers) if attacker == side else ("defend", turn.defenders)
        found.append((Slot(role, area, side), size.least, size.most))
    return tuple(found)


@lru_cache(maxsize=4096)
def _spread(ranges: tuple[tuple[int, int], ...], total: int) -> tuple[tuple[int, ...], ...]:
    """Every way to make up a total from numbers within these ranges."""
    if not ranges:
        return ((),) if total == 0 else ()
    (least, most), rest = ranges[0], ranges[1:]
    return tuple(
        (first, *others) for first in range(least, min(most, total) + 1) for others in _spread(rest, total - first)
    )


@lru_cache(maxsize=4096)
def most_playing(
    ranges: tuple[tuple[int, int], tuple[int, int]], apart: int | None, have: tuple[int, int]
) -> tuple[tuple[int, int], ...]:
    """Every lawful pair of numbers that play with as few resting as possible; none where no pair is lawful.

    `ranges`: fewest and most of each side; `apart`: how far the sides of a game may differ.
    """
    (low0, high0), (low1, high1) = ranges
    pairs = [
        (first, second)
        for first in range(low0, min(high0, have[0]) + 1)
        for second in range(low1, min(high1, have[1]) + 1)
        if apart is None or abs(first - second) <= apart
    ]
    most = max((sum(pair) for pair in pairs), default=0)
    return tuple(pair for pair in pairs if sum(pair) == most)


def _counts(mending: Mending, keeping: Filling, free: Mapping[str, int]) -> Iterator[dict[Slot, int]]:
    """Every lawful number of players a slot, with as few resting as these sides allow."""
    turn = mending.turn
    sides = [free.get(p, mending.sides.get(p)) for p in mending.here if p not in keeping]
    have = sides.count(0), sides.count(1)
    apart = turn.areas if turn.kind is Kind.GAME else None
    for playing in most_playing((turn.outfield(0), turn.outfield(1)), apart, have):
        slots = [field_slots(turn, side) for side in (0, 1)]
        ways = [_spread(tuple((low, high) for _, low, high in slots[side]), playing[side]) for side in (0, 1)]
        for zero, one in product(*ways):
            if turn.kind is Kind.GAME and any(abs(a - b) > 1 for a, b in zip(zero, one, strict=True)):
                continue
            counts = {slot: n for side, way in ((0, zero), (1, one))
                      for (slot, _, _), n in zip(slots[side], way, strict=True)}  # fmt: skip
            for side in (0, 1):
                counts[Slot("rest", None, side)] = have[side] - playing[side]
            yield counts


def _staying(mending: Mending, keeping: Filling) -> dict[Slot, list[str]]:
    """Who of those in the field had which slot, where that slot is one of the own side in this turn."""
    found: dict[Slot, list[str]] = {}
    for player in mending.here:
        slot = mending.old.get(player)
        own = mending.sides.get(player)
        if player not in keeping and slot is not None and slot.role != "keep" and own in (None, slot.side):
            found.setdefault(slot, []).append(player)
    return found


def _ways(
    mending: Mending, keeping: Filling, free: Mapping[str, int], counts: Mapping[Slot, int], spare: int
) -> Iterator[tuple[Filling, int]]:
    """Every way to reach these numbers with at most `spare` more leaving than must, and how many more."""
    had = _staying(mending, keeping)
    where = {player: slot for slot, players in had.items() for player in players}
    must = {slot: max(0, len(players) - counts.get(slot, 0)) for slot, players in had.items()}
    for more in range(spare + 1):
        for leaving in combinations(where, sum(must.values()) + more):
            gone = dict.fromkeys(leaving)
            stay = {player: slot for player, slot in where.items() if player not in gone}
            open_slots = {slot: n - sum(1 for held in stay.values() if held == slot) for slot, n in counts.items()}
            if any(n < 0 for n in open_slots.values()) or any(slot not in counts for slot in stay.values()):
                continue
            movers = [p for p in mending.here if p not in keeping and p not in stay]
            sides = {p: free.get(p, mending.sides.get(p, 0)) for p in movers}
            for way in _seat(movers, open_slots, sides, mending.old):
                yield {**keeping, **stay, **way}, more


def _seat(
    movers: list[str], open_slots: Mapping[Slot, int], sides: Mapping[str, int], old: Mapping[str, Slot]
) -> Iterator[Filling]:
    """Everybody who moves into an open slot of the own side that is not the old one."""
    if not movers:
        yield {}
        return
    player, rest = movers[0], movers[1:]
    for slot, number in open_slots.items():
        if number > 0 and slot.side == sides[player] and old.get(player) != slot:
            for way in _seat(rest, {**open_slots, slot: number - 1}, sides, old):
                yield {player: slot, **way}


def _odd(turn: Turn, counts: Mapping[Slot, int]) -> int:
    """How far the numbers are from the wanted ones, added up."""
    wanted = {"attack": turn.attackers.wanted, "play": turn.attackers.wanted, "defend": turn.defenders.wanted}
    return sum(abs(number - wanted[slot.role]) for slot, number in counts.items() if slot.role in wanted)
