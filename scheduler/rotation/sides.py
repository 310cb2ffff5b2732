"""Drawing sides: lawful in every turn first, few rests, little drift from the fair shares, then the wishes."""

from __future__ import annotations

from functools import cache
from itertools import combinations
from random import Random

from scheduler.rotation.draft import SHARED, Draft, Lineup, members
from scheduler.rotation.sizes import Shape, missing, splits

FINE = 10_000  # drift is reckoned in ten-thousandths of a minute
MANY = 30  # players from which one draw has to do
LEEWAY = 6  # tenths of a bound that a side's mean may drift before it counts

Cost = tuple[int, int, int, int, int, int, int]
Drift = tuple[tuple[int, int, int], tuple[int, int, int]]


@cache
def _options(shape: Shape, first: int, second: int, minutes: int) -> tuple[Drift, ...]:
    """For each split least off: by how much each side's mean moves from the share, for attack, defend and rest."""
    found = splits(shape, first, second)
    options = []
    for split in found:
        if split.off > found[0].off or not first or not second:
            break
        drift, everybody = [], first + second
        for side, field in ((0, first), (1, second)):
            rows = (split.attack, split.defend, split.rest)
            drift.append([minutes * FINE * (row[side] * everybody - sum(row) * field) // (field * everybody)
                          for row in rows])  # fmt: skip
        options.append(((drift[0][0], drift[0][1], drift[0][2]), (drift[1][0], drift[1][1], drift[1][2])))
    return tuple(dict.fromkeys(options))


class Drawing:
    """One stay's sides being drawn; `now` are the distances before it, `sided` how often a pair shared a side."""

    def __init__(self, draft: Draft, stay: int, now: list[list[int]], sided: list[list[int]]) -> None:
        self.draft, self.sided = draft, sided
        self.lineups = draft.of_stay(stay)
        self.who = members(self.lineups)
        self.session = draft.stays[stay].session
        self.group = {p: draft.group(draft.names[p], self.session) for p in self.who}
        self.counted = first_counted(self.lineups, self.group)
        self.apart = [pair for pair in draft.apart if any(set(pair) <= set(one.field) for one in self.lineups)]
        self.side: dict[int, int] = {}
        unit = draft.scale
        self.before = [[value * FINE // unit for value in now[p]] for p in range(len(draft.names))]
        self.most = [[value * FINE // unit for value in bounds] for bounds in draft.bound]
        self.rated = any(draft.levels[p] for p in self.who)

    def deal(self, random: Random) -> None:
        """A first draw: by level, then in turn within each group, the extra player changing from group to group."""
        for group in dict.fromkeys(self.group.values()):
            mates = [p for p in self.who if self.group[p] == group]
            random.shuffle(mates)
            mates.sort(key=lambda p: (p not in self.counted.get(group, ()), self.draft.levels[p]))
            for number, player in enumerate(mates):
                self.side[player] = (number + group) % 2

    def cost(self) -> Cost:
        """Firm faults, rests, drift, off wanted sizes, uneven levels, pairs again on one side, spread of distances."""
        side = self.side
        firm = sum(side[one] == side[two] for one, two in self.apart)
        for mates in self.counted.values():
            firm += max(0, abs(sum(2 * side[p] - 1 for p in mates)) - 1)
        rests = off = drifted = 0
        sums = [[0, 0, 0], [0, 0, 0]]
        for lineup in self.lineups:
            second = sum([side[p] for p in lineup.field])
            first = len(lineup.field) - second
            found = splits(lineup.shape, first, second)
            if not found:
                firm += missing(lineup.shape, first, second)
                continue
            rests += sum(found[0].rest)
            off += found[0].off
            minutes = lineup.turn.minutes
            drifted += _follow(sums, _options(lineup.shape, first, second, minutes), minutes * FINE)
        spread = 0
        for player in self.who:
            mean = sums[side[player]]
            for role in SHARED:
                end = self.before[player][role] + mean[role]
                drifted += max(0, abs(end) - LEEWAY * self.most[player][role] // 10) // (FINE // 10)
                spread += (end * 10 // FINE) ** 2
        uneven = self._uneven() if self.rated else 0
        return firm, rests, drifted, off, uneven, self._again(), spread

    def _uneven(self) -> int:
        sums: dict[int, int] = {}
        for player in self.who:
            group = self.group[player]
            sums[group] = sums.get(group, 0) + self.draft.levels[player] * (2 * self.side[player] - 1)
        return sum(abs(value) for value in sums.values())

    def _again(self) -> int:
        again = 0
        for side in (0, 1):
            mates = [p for p in self.who if self.side[p] == side]
            for one, two in combinations(mates, 2):
                again += self.sided[one][two]
        return again

    def improve(self, random: Random) -> Cost:
        """Exchange two of a group, or move one over, as long as that helps."""
        best = self.cost()
        moves = [(one, two) for one, two in combinations(self.who, 2) if self.group[one] == self.group[two]]
        moves += [(one, one) for one in self.who]
        better = True
        while better:
            better = False
            random.shuffle(moves)
            for one, two in moves:
                if one != two and self.side[one] == self.side[two]:
                    continue
                self._turn(one, two)
                found = self.cost()
                if found < best:
                    best, better = found, True
                else:
                    self._turn(one, two)
        return best

    def _turn(self, one: int, two: int) -> None:
        self.side[one] = 1 - self.side[one]
        if one != two:
            self.side[two] = 1 - self.side[two]


def _follow(sums: list[list[int]], options: tuple[Drift, ...], rep: int) -> int:
    """Add the option that keeps both sides' means nearest to the shares; what is beyond a third of a rep counts."""
    if not options:
        return 0
    chosen = options[0]
    if len(options) > 1:
        chosen = min(options, key=lambda drift: sum((sums[s][r] + drift[s][r]) ** 2 for s in (0, 1) for r in SHARED))
    over = 0
    for side in (0, 1):
        for role in SHARED:
            sums[side][role] += chosen[side][role]
            over += max(0, abs(sums[side][role]) - rep // 3) // (FINE // 10)
    return over


def first_counted(lineups: list[Lineup], group: dict[int, int]) -> dict[int, tuple[int, ...]]:
    """For each group those who are there at its first turn and are in the field at some time of the stay."""
    found: dict[int, tuple[int, ...]] = {}
    for lineup in lineups:
        for number in lineup.turn.groups:
            if number not in found:
                found[number] = tuple(p for p in lineup.here if group.get(p) == number)
    return found


def draw_sides(draft: Draft, stay: int, now: list[list[int]], sided: list[list[int]], random: Random
               ) -> Cost:  # fmt: skip
    """Draw the sides of one stay into the draft and count who shared one; the cost of the better of two draws."""
    best: tuple[Cost, dict[int, int]] | None = None
    for _ in range(2 if len(draft.names) <= MANY else 1):
        drawing = Drawing(draft, stay, now, sided)
        drawing.deal(random)
        cost = drawing.improve(random)
        if best is None or cost < best[0]:
            best = cost, drawing.side
    assert best is not None
    draft.sides[stay] = best[1]
    for one, two in combinations(sorted(best[1]), 2):
        if best[1][one] == best[1][two]:
            sided[one][two] += 1
            sided[two][one] += 1
    return best[0]
