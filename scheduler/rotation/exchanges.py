"""Mixing over the week: two players of one side change roles in one turn and back in another, so every count stays.

A change is kept only where the bounds at every whistle hold as before. The search runs by a number of tries.
"""

from __future__ import annotations

from itertools import combinations
from math import log
from random import Random

from scheduler.rotation.draft import REST, Draft, Lineup
from scheduler.rotation.margins import Margins
from scheduler.rotation.pair_bounds import figure

COOLING = 1.2  # repeats accepted at the start one time in e
STEPS = 256  # tries after which the heat is lowered

Spot = tuple[int, int, int]  # side, role, area (0: resting)


class _Turn:
    """One lineup while it is mixed: the spot of everybody in the field, and who stands in each spot, as bits too."""

    __slots__ = ("bits", "foes", "full", "index", "lineup", "mates", "spot")

    def __init__(self, index: int, lineup: Lineup, side: dict[int, int]) -> None:
        self.index, self.lineup, self.full = index, lineup, lineup.full
        self.foes = lineup.foes
        self.spot: dict[int, Spot] = {p: (side[p], lineup.role[p], lineup.area.get(p, 0)) for p in lineup.field}
        self.mates: dict[Spot, list[int]] = {}
        self.bits: dict[Spot, int] = {}
        for player, spot in self.spot.items():
            self.mates.setdefault(spot, []).append(player)
            self.bits[spot] = self.bits.get(spot, 0) | 1 << player

    def swap(self, one: int, two: int) -> None:
        """Let two players change places."""
        spot, both = self.spot, 1 << one | 1 << two
        first, second = spot[one], spot[two]
        spot[one], spot[two] = second, first
        for place, gone, come in ((first, one, two), (second, two, one)):
            mates = self.mates[place]
            mates[mates.index(gone)] = come
            self.bits[place] ^= both

    def clash(self) -> bool:
        """Whether two who are to be kept apart share an area."""
        area, keepers = self.spot, self.lineup.keepers
        for one, two in self.foes:
            here, there = (keepers[p][0] if p in keepers else area[p][2] for p in (one, two))
            if here and here == there:
                return True
        return False


class Mixer:
    """A draft whose pairs are being mixed; `value` is the sum over pairs of c(c - 1)/2."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        count = len(draft.names)
        self.turns = [_Turn(i, lineup, draft.sides[lineup.stay]) for i, lineup in enumerate(draft.lineups)]
        self.met = [[0] * count for _ in range(count)]
        for turn in self.turns:
            for spot, mates in turn.mates.items():
                if spot[1] != REST:
                    for one, two in combinations(mates, 2):
                        self.met[one][two] += 1
                        self.met[two][one] += 1
        self.value = figure(self.met[one][two] for one, two in combinations(range(count), 2))
        self.margins = Margins(draft)
        self._common: dict[tuple[int, int], list[_Turn]] = {}
        self._pairs = [
            (turn, one, two)
            for turn in self.turns
            if len(turn.mates) > len({spot[0] for spot in turn.mates})
            for one, two in combinations(sorted(turn.spot), 2)
            if turn.spot[one][0] == turn.spot[two][0]
        ]
        for turn, one, two in self._pairs:
            self._common.setdefault((one, two), []).append(turn)
        self._made: list[tuple[_Turn, int, int]] = []

    def run(self, tries: int, random: Random, bound: int = 0) -> int:
        """Try so many changes; the figure reached."""
        pairs, chance = self._pairs, random.random
        if not pairs:
            return self.value
        best, kept, count, heat = self.value, 0, len(pairs), 0.0
        for number in range(tries):
            if not number % STEPS:
                if best <= bound:
                    break
                heat = max(0.0, COOLING * (1 - 1.25 * number / tries))
            turn, one, two = pairs[int(chance() * count)]
            first, second = turn.spot[one], turn.spot[two]
            if first == second:
                continue
            back: _Turn | None = None
            if first[1] != second[1]:
                back = self._way_back(turn, one, two, chance())
                if back is None and chance() < 0.5:
                    continue
            change = self._change(turn, one, two)
            if back is not None:
                change += self._change(back, one, two) + 2 * self._twice(turn, back, one, two)
            if change > 0 and (heat < 0.05 or change > -heat * log(chance() or 1.0)):
                continue
            if self._lawful(turn, back, one, two):
                self._make(turn, one, two)
                if back is not None:
                    self._make(back, one, two)
                self.value += change
                if self.value < best:
                    best, kept = self.value, len(self._made)
        for turn, one, two in reversed(self._made[kept:]):
            turn.swap(one, two)
        self.value = best
        self._write()
        return best

    def _way_back(self, turn: _Turn, one: int, two: int, part: float) -> _Turn | None:
        """Another turn of the same length in which the two hold each other's roles, if there is one."""
        first, second, full = turn.spot[one][1], turn.spot[two][1], turn.full
        others = self._common[one, two]
        start = int(part * len(others))
        for other in (*others[start:], *others[:start]):
            spot = other.spot
            if spot[one][1] == second and spot[two][1] == first and other.full == full and other is not turn:
                return other
        return None

    def _change(self, turn: _Turn, one: int, two: int) -> int:
        """By how much the figure grows when the two change places in a turn."""
        row_one, row_two = self.met[one], self.met[two]
        first, second = turn.spot[one], turn.spot[two]
        change = 0
        if first[1] != REST:
            mates = turn.mates[first]
            change = len(mates) - 1 - row_two[one]
            for mate in mates:
                change += row_two[mate] - row_one[mate]
        if second[1] != REST:
            mates = turn.mates[second]
            change += len(mates) - 1 - row_one[two]
            for mate in mates:
                change += row_one[mate] - row_two[mate]
        return change

    def _twice(self, turn: _Turn, back: _Turn, one: int, two: int) -> int:
        """What two changes at once make of those whom both of them touch, for each of the two players."""
        others = ~(1 << one | 1 << two)
        first, second = _company(turn, one) & others, _company(turn, two) & others
        third, fourth = _company(back, one), _company(back, two)
        alike = (first & third).bit_count() + (second & fourth).bit_count()
        return alike - (first & fourth).bit_count() - (second & third).bit_count()

    def _lawful(self, turn: _Turn, back: _Turn | None, one: int, two: int) -> bool:
        for changed in (turn, back):
            if changed is not None and changed.foes:
                changed.swap(one, two)
                clash = changed.clash()
                changed.swap(one, two)
                if clash:
                    return False
        first, second = turn.spot[one][1], turn.spot[two][1]
        if first == second:
            return True
        last = None if back is None else back.index
        return self.margins.moved(turn.index, last, (one, two), (first, second))

    def _make(self, turn: _Turn, one: int, two: int) -> None:
        row_one, row_two, met = self.met[one], self.met[two], self.met
        for spot, mine, other, gone in (
            (turn.spot[one], row_one, row_two, one),
            (turn.spot[two], row_two, row_one, two),
        ):
            if spot[1] == REST:
                continue
            come = one + two - gone
            for mate in turn.mates[spot]:
                if mate != gone:
                    mine[mate] -= 1
                    other[mate] += 1
                    met[mate][gone] -= 1
                    met[mate][come] += 1
        turn.swap(one, two)
        self._made.append((turn, one, two))

    def _write(self) -> None:
        """Write what was found into the draft."""
        for turn in self.turns:
            lineup = turn.lineup
            for player, (_, role, area) in turn.spot.items():
                lineup.role[player] = role
                lineup.area.pop(player, None)
                if area:
                    lineup.area[player] = area


def _company(turn: _Turn, player: int) -> int:
    """Who stands with a player in a turn, as bits; nobody while resting."""
    spot = turn.spot[player]
    return 0 if spot[1] == REST else turn.bits[spot]
