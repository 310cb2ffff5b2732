"""Mixing over the week: two players of one side change roles in one turn and back in another, so every count stays.

A change is kept only where the bounds at every whistle hold as before. The search runs by a number of tries.
"""

from __future__ import annotations

from itertools import combinations
from random import Random

from scheduler.rotation.draft import KEEP, REST, Draft, Lineup
from scheduler.rotation.pair_bounds import figure
from scheduler.rotation.repair import swap

COOLING = 1.2  # repeats accepted at the start one time in e


class Mixer:
    """A draft whose pairs are being mixed; `value` is the sum over pairs of c(c - 1)/2."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        count = len(draft.names)
        self.met = [[0] * count for _ in range(count)]
        self.walks = [draft.walk(player) for player in range(count)]
        for lineup in draft.lineups:
            for mates in self._cells(lineup).values():
                for one, two in combinations(mates, 2):
                    self.met[one][two] += 1
                    self.met[two][one] += 1
        self.value = figure(self.met[one][two] for one, two in combinations(range(count), 2))
        self._common: dict[tuple[int, int], list[Lineup]] = {}
        self._open = [lineup for lineup in draft.lineups if self._is_open(lineup)]

    def _cells(self, lineup: Lineup) -> dict[tuple[int, int, int], list[int]]:
        side = self.draft.sides[lineup.stay]
        cells: dict[tuple[int, int, int], list[int]] = {}
        for player in lineup.field:
            if lineup.role[player] != REST:
                cells.setdefault((lineup.role[player], lineup.area[player], side[player]), []).append(player)
        return cells

    def _is_open(self, lineup: Lineup) -> bool:
        """Whether anybody could change places with somebody of the same side."""
        side = self.draft.sides[lineup.stay]
        spots = {(side[p], lineup.role[p], lineup.area.get(p)) for p in lineup.field}
        return len(spots) > len({spot[0] for spot in spots})

    def run(self, tries: int, random: Random, bound: int = 0) -> int:
        """Try so many changes; the figure reached."""
        if not self._open:
            return self.value
        best, kept = self.value, self._state()
        for number in range(tries):
            if best <= bound:
                break
            lineup = random.choice(self._open)
            one, two = random.choice(lineup.field), random.choice(lineup.field)
            heat = COOLING * (1 - 1.25 * number / tries)
            self._try(lineup, one, two, heat, random)
            if self.value < best:
                best, kept = self.value, self._state() if heat > 0 else kept
        if self.value > best:
            for lineup, (role, area) in zip(self.draft.lineups, kept, strict=True):
                lineup.role, lineup.area = role, area
            self.value = best
        return self.value

    def _state(self) -> list[tuple[dict[int, int], dict[int, int]]]:
        return [(dict(lineup.role), dict(lineup.area)) for lineup in self.draft.lineups]

    def _try(self, lineup: Lineup, one: int, two: int, heat: float, random: Random) -> None:
        side = self.draft.sides[lineup.stay]
        if one == two or side[one] != side[two]:
            return
        role = lineup.role
        back: Lineup | None = None
        if role[one] != role[two]:
            back = self._way_back(lineup, one, two, random)
            if back is None and random.random() < 0.5:
                return
        elif lineup.area.get(one) == lineup.area.get(two):
            return
        change = self._exchange(lineup, one, two)
        if back is not None:
            change += self._exchange(back, one, two)
        if not self._keep(change, heat, random) or not self._lawful(lineup, back, one, two):
            if back is not None:
                self._exchange(back, one, two)
            self._exchange(lineup, one, two)
            return
        self.value += change

    def _keep(self, change: int, heat: float, random: Random) -> bool:
        return change <= 0 or (heat > 0.05 and random.random() < 2.718281828 ** (-change / heat))

    def _lawful(self, lineup: Lineup, back: Lineup | None, one: int, two: int) -> bool:
        for changed in (lineup, back):
            if changed is not None and changed.foes and changed.clashes():
                return False
        if back is None and lineup.role[one] == lineup.role[two]:
            return True
        if self.walks[one][0] or self.walks[two][0]:  # beyond a bound already: what was found least stays
            return False
        walks = []
        for player in (one, two):
            walk = self.draft.walk(player)
            if walk[0] > self.walks[player][0] or walk[1] > self.walks[player][1]:
                return False
            walks.append(walk)
        self.walks[one], self.walks[two] = walks
        return True

    def _way_back(self, lineup: Lineup, one: int, two: int, random: Random) -> Lineup | None:
        """Another turn of the same length in which the two hold each other's roles, if there is one."""
        pair = (one, two) if one < two else (two, one)
        if pair not in self._common:
            sides = self.draft.sides
            self._common[pair] = [
                other
                for other in self._open
                if other.role.get(one, KEEP) != KEEP
                and other.role.get(two, KEEP) != KEEP
                and sides[other.stay][one] == sides[other.stay][two]
            ]
        first, second, full = lineup.role[one], lineup.role[two], lineup.full
        found = [
            other
            for other in self._common[pair]
            if other.role[one] == second and other.role[two] == first and other.full == full and other is not lineup
        ]
        return random.choice(found) if found else None

    def _exchange(self, lineup: Lineup, one: int, two: int) -> int:
        """Let the two change places; by how much the figure grows."""
        side, role, area = self.draft.sides[lineup.stay], lineup.role, lineup.area
        team, met = side[one], self.met
        row_one, row_two = met[one], met[two]
        spot_one, spot_two = (role[one], area.get(one)), (role[two], area.get(two))
        change = 0
        for mate in lineup.field:
            if side[mate] != team or role[mate] == REST or mate in (one, two):
                continue
            spot = (role[mate], area[mate])
            if spot == spot_one:
                change += row_two[mate] - row_one[mate] + 1
                row_one[mate] -= 1
                row_two[mate] += 1
                met[mate][one] -= 1
                met[mate][two] += 1
            elif spot == spot_two:
                change += row_one[mate] - row_two[mate] + 1
                row_two[mate] -= 1
                row_one[mate] += 1
                met[mate][two] -= 1
                met[mate][one] += 1
        swap(lineup, one, two)
        return change
