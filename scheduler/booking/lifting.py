"""Rows of a booking model that say of which choices there is at most one, made as wide as they can be.

Two choices exclude each other where a row says so, or where one excludes all that another stands for: of two teams with
one coach the first has no time left on an evening once the second trains on it. The linear relaxation hears of such a
thing only if one row names them all. A clique of the graph of choices that exclude each other is such a row: Padberg,
On the facial structure of set packing polyhedra, Mathematical Programming 5 (1973).
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from scheduler.booking.rows import ENDLESS, Row, Rows

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from scheduler.booking.rows import Whole

    Bits = NDArray[np.uint8]

ROUNDS = 2  # choices that stand for some stand for others in turn


class Lifting:
    """The choices of some rows, where variables that are settled have one value; a literal is a variable or, the number
    of variables further, that it is 0."""

    def __init__(self, rows: Rows, lower: Whole, upper: Whole) -> None:
        self._variables = len(lower)
        self._packs: list[Whole] = []
        self._clauses: list[Whole] = []
        self._read(rows, lower, upper)
        self._literals = np.unique(np.concatenate([*self._packs, np.zeros(0, np.int64)]))
        self._place = np.full(2 * self._variables, -1, np.int64)
        self._place[self._literals] = np.arange(len(self._literals))
        self._bytes = -(-len(self._literals) // 8)
        self._excludes: Bits = np.zeros((len(self._literals), self._bytes), np.uint8)

    def rows(self) -> list[Row]:
        """Each row that can be made wider, as wide as it can be made, once."""
        self._note_packs()
        for _ in range(ROUNDS):
            for clause in self._clauses:
                self._note_clause(clause)
        wider = dict.fromkeys(tuple(sorted(wide)) for pack in self._packs if (wide := self._wider(pack)))
        return [self._row(wide) for wide in wider]

    def _read(self, rows: Rows, lower: Whole, upper: Whole) -> None:
        """Rows of free literals alone: at most one of them (packs), at least one (clauses)."""
        free, all_index, all_value = upper > lower, rows.index, rows.value
        starts, (low, high) = rows.starts.tolist(), (side.tolist() for side in rows.sides)
        for start, end, least, most in zip(starts, starts[1:], low, high, strict=False):
            index, value = all_index[start:end], all_value[start:end]
            open_ = free[index]
            settled = int(value[~open_] @ lower[index[~open_]])
            index, value = index[open_].astype(np.int64), value[open_]
            if len(index) < 2 or (np.abs(value) != 1).any() or (lower[index] != 0).any() or (upper[index] != 1).any():
                continue
            for sign, side in ((1, most), (-1, least)):
                if abs(side) > ENDLESS:
                    continue
                positive = sign * value > 0
                bound = sign * (side - settled) + int(np.count_nonzero(~positive))  # of the sum of literals, at most
                if bound == 1:
                    self._packs.append(np.where(positive, index, index + self._variables))
                if bound == len(index) - 1:
                    self._clauses.append(np.where(positive, index + self._variables, index))

    def _note_packs(self) -> None:
        for pack in self._packs:
            at = self._place[pack]
            self._excludes[at] |= self._mask(at)
        own = np.arange(len(self._literals))
        self._excludes[own, own // 8] &= ~(128 >> (own % 8)).astype(np.uint8)

    def _note_clause(self, clause: Whole) -> None:
        """What all literals of a clause but one exclude, the opposite of that one excludes."""
        places = self._place[clause]
        for number, literal in enumerate(clause.tolist()):
            opposite = self._place[(literal + self._variables) % (2 * self._variables)]
            if opposite < 0 or (literal < self._variables and len(clause) > 2):
                continue
            others = np.delete(places, number)
            if (others < 0).any():
                continue
            found = np.bitwise_and.reduce(self._excludes[others], axis=0)
            more = found & ~self._excludes[opposite]
            if not more.any():
                continue
            self._excludes[opposite] |= more
            at = self._members(more)
            self._excludes[at, opposite // 8] |= np.uint8(128 >> (opposite % 8))

    def _wider(self, pack: Whole) -> list[int]:
        """The literals of a pack and those that all of them exclude, as many as exclude each other; none if there are
        no such."""
        at = self._place[pack]
        left = np.bitwise_and.reduce(self._excludes[at], axis=0)
        if not left.any():
            return []
        found = at.tolist()
        for place in self._members(left).tolist():
            if left[place // 8] & (128 >> (place % 8)):
                found.append(place)
                left = left & self._excludes[place]
        return [int(self._literals[place]) for place in found]

    def _mask(self, at: Whole) -> Bits:
        bits = np.zeros(8 * self._bytes, np.uint8)
        bits[at] = 1
        return np.packbits(bits)

    def _members(self, bits: Bits) -> Whole:
        return np.flatnonzero(np.unpackbits(bits))

    def _row(self, literals: tuple[int, ...]) -> Row:
        factors, denied = Counter[int](), 0
        for literal in literals:  # one that can never be comes twice, or others with their opposite beside it
            no = literal >= self._variables
            factors[literal % self._variables] += -1 if no else 1
            denied += no
        index = [variable for variable, factor in factors.items() if factor]
        return Row(index, [factors[variable] for variable in index], -2 * ENDLESS, 1 - denied)
