"""Mixing after a model that knows no pairs: two players trade everything they do while bibs stay on.

No number of a side or a role changes, so no share moves; the two are walked through their weeks again. Whoever keeps
goal in between is left alone, and so is whoever is beyond a bound already: what was found least stays.
"""

from __future__ import annotations

from itertools import combinations

from scheduler.rotation.draft import KEEP, REST, Draft, Lineup, members
from scheduler.rotation.pair_bounds import figure
from scheduler.rotation.repair import swap

ROUNDS = 8  # over all trades; a round without a gain ends them sooner


class Trades:
    """A filled draft whose sides are being mixed; `value` is the sum over pairs of c(c - 1)/2, as in mixing."""

    def __init__(self, draft: Draft) -> None:
        self._draft, count = draft, len(draft.names)
        self._met = [[0] * count for _ in range(count)]
        for lineup in draft.lineups:
            for one, two in combinations(lineup.field, 2):
                if _beside(draft, lineup, one, two):
                    self._met[one][two] += 1
                    self._met[two][one] += 1
        self.value = figure(self._met[one][two] for one, two in combinations(range(count), 2))
        self._lineups = [draft.of_stay(stay) for stay in range(len(draft.stays))]
        self._fielded = [members(lineups) for lineups in self._lineups]
        self._pairs = [(stay, one, two) for stay in range(len(draft.stays)) for one, two in self._alike(stay)]

    def run(self) -> int:
        """Make every trade that lessens the figure, or evens the sides' levels, in rounds; the figure reached."""
        for _ in range(ROUNDS):
            if not sum([self._gains(*pair) for pair in self._pairs]):
                break
        return self.value

    def _alike(self, stay: int) -> list[tuple[int, int]]:
        """Who may trade: there in the same turns, in one group, and always in the field."""
        draft, found = self._draft, dict[object, list[int]]()
        session = draft.stays[stay].session
        for player, name in enumerate(draft.names):
            there = [lineup for lineup in self._lineups[stay] if player in lineup.role]
            if there and all(lineup.role[player] != KEEP for lineup in there):
                key = tuple(lineup.turn.key for lineup in there), draft.group(name, session)
                found.setdefault(key, []).append(player)
        return [pair for players in found.values() for pair in combinations(players, 2)]

    def _gains(self, stay: int, one: int, two: int) -> bool:
        """Let two trade if that is lawful and a gain; whether it was."""
        draft, sides = self._draft, self._draft.sides[stay]
        if sides[one] == sides[two]:
            return False
        uneven = self._uneven(stay, one, two)
        if uneven > 0:
            return False
        before = [draft.walk(player) for player in (one, two)]
        if any(over for over, _ in before):
            return False
        clashes = self._clashes(stay)
        change = self._trade(stay, one, two)
        if (uneven, change) < (0, 0) and self._clashes(stay) <= clashes:
            after = [draft.walk(player) for player in (one, two)]
            if not any(over for over, _ in after) and sum(end for _, end in after) <= sum(end for _, end in before):
                self.value += change
                return True
        self._trade(stay, one, two)
        return False

    def _uneven(self, stay: int, one: int, two: int) -> int:
        """By how much a trade of two on different sides makes the levels of their group's sides more uneven."""
        draft, sides = self._draft, self._draft.sides[stay]
        session = draft.stays[stay].session
        group = draft.group(draft.names[one], session)
        now = sum(
            draft.levels[p] * (2 * sides[p] - 1)
            for p in self._fielded[stay]
            if draft.group(draft.names[p], session) == group
        )
        step = 2 * (draft.levels[two] - draft.levels[one]) * (2 * sides[one] - 1)
        return abs(now + step) - abs(now)

    def _clashes(self, stay: int) -> int:
        """Pairs to be kept apart who share an area or a side."""
        sides = self._draft.sides[stay]
        found = sum(lineup.clashes() for lineup in self._lineups[stay] if lineup.foes)
        return found + sum(a in sides and b in sides and sides[a] == sides[b] for a, b in self._draft.apart)

    def _trade(self, stay: int, one: int, two: int) -> int:
        """Let two change everything they do in a stay; by how much the figure grows."""
        sides, change = self._draft.sides[stay], 0
        turns = [lineup for lineup in self._lineups[stay] if one in lineup.role]
        for lineup in turns:
            change += self._meet(lineup, one, two, -1) + self._meet(lineup, two, one, -1)
        for lineup in turns:
            swap(lineup, one, two)
        sides[one], sides[two] = sides[two], sides[one]
        for lineup in turns:
            change += self._meet(lineup, one, two, 1) + self._meet(lineup, two, one, 1)
        return change

    def _meet(self, lineup: Lineup, player: int, other: int, step: int) -> int:
        """Count the meetings of one of two who trade in a turn once more, or once less; what the figure changes by."""
        change, met = 0, self._met
        for mate in lineup.field:
            if mate not in (player, other) and _beside(self._draft, lineup, player, mate):
                change += met[player][mate] if step > 0 else 1 - met[player][mate]
                met[player][mate] += step
                met[mate][player] += step
        return change


def _beside(draft: Draft, lineup: Lineup, one: int, two: int) -> bool:
    """Whether two stand in one area, in one role, on one side."""
    role, sides = lineup.role[one], draft.sides[lineup.stay]
    if role == REST or role != lineup.role[two] or sides[one] != sides[two]:
        return False
    return lineup.area.get(one, 0) == lineup.area.get(two, 0)
