"""What a child must lose of a week by counting alone, whatever the slots: minutes beyond caps. No solver here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, islice


@dataclass(frozen=True)
class Caps:
    """What one child can have in the week at most of its sessions; None: no such cap."""

    sessions: int | None = None
    minutes: int | None = None
    load: int | None = None


@dataclass(frozen=True)
class Worth:
    """One session for one child, at its best slot.

    `can`: minutes the child could be there by the clock; `stays`: by its own limits. `loads`: the load of the session
    with 0, 1, 2 ... minutes cut off its end; empty where that depends on the slot.
    """

    can: int
    stays: int
    loads: tuple[int, ...] = ()


def least_lost(worths: Mapping[str, Worth], caps: Caps) -> int:
    """Minutes lost at least: sessions left out whole, limits of the child itself, and minutes cut off ends."""
    names = list(worths)
    most = len(names) if caps.sessions is None else min(caps.sessions, len(names))
    could = sum(worth.can for worth in worths.values())
    least = could
    for number in range(most, -1, -1):
        for kept in combinations(names, number):
            stays = sum(worths[name].stays for name in kept)
            if could - stays < least:
                least = min(least, could - stays + _cut([worths[name] for name in kept], caps, least))
    return least


def _cut(kept: Sequence[Worth], caps: Caps, enough: int) -> int:
    """Minutes to cut off the ends of these sessions; at most `enough`."""
    cut = 0
    if caps.minutes is not None:
        cut = max(cut, sum(worth.stays for worth in kept) - caps.minutes)
    if caps.load is not None and all(worth.loads for worth in kept):
        over = sum(worth.loads[0] for worth in kept) - caps.load
        gains = [[worth.loads[0] - load for load in worth.loads] for worth in kept]
        cut = max(cut, minutes_for(gains, over, enough))
    return min(cut, enough)


def minutes_for(gains: Sequence[Sequence[int]], wanted: int, enough: int) -> int:
    """The fewest minutes, shared out over sessions, that gain so much: `gains[s][m]` for m minutes of session s.

    `enough` where it takes as many or more.
    """
    best: list[list[int]] = [[0] for _ in range(len(gains) + 1)]  # by how many of the sessions are shared out over
    minutes = 0
    while best[-1][minutes] < wanted and minutes < enough:
        minutes += 1
        best[0].append(0)
        for number, of in enumerate(gains):
            before = best[number]
            best[number + 1].append(max(before[minutes - m] + gain for m, gain in enumerate(islice(of, minutes + 1))))
    return minutes
