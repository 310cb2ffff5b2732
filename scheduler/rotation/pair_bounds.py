"""How evenly pairs can meet at best, by counting alone.

The figure is the sum over pairs of c(c - 1)/2, c being how often the two stand side by side. Two bounds: so many
meetings spread evenly over so many pairs; and the overlap identity, by which the figure is the sum over any two reps
of C(n, 2) over all n players who are in one cell in the first and in one cell in the second.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from itertools import combinations


def figure(counts: Iterable[int]) -> int:
    """The sum of c(c - 1)/2."""
    return sum(count * (count - 1) // 2 for count in counts)


def pair_counts(rounds: Iterable[Iterable[Sequence[int]]]) -> dict[tuple[int, int], int]:
    """How often each pair is in one group, over all rounds; pairs that never meet are left out."""
    met: dict[tuple[int, int], int] = {}
    for groups in rounds:
        for group in groups:
            for pair in combinations(sorted(group), 2):
                met[pair] = met.get(pair, 0) + 1
    return met


def spread_bound(meetings: int, pairs: int) -> int:
    """The least figure of so many meetings among so many pairs: each pair meets k or k + 1 times."""
    if pairs <= 0:
        return 0
    times, over = divmod(meetings, pairs)
    return (pairs - over) * (times * (times - 1) // 2) + over * (times * (times + 1) // 2)


def overlap_bound(first: Sequence[int], second: Sequence[int], here: tuple[int, int, int]) -> int:
    """The least overlap of the cells of two reps.

    `first`, `second`: sizes of the cells; `here`: how many are there in the first, in the second and in both.
    """
    there, later, both = here
    if both < 2:
        return 0
    spare_row = there - sum(first) + later - both
    spare_column = later - sum(second) + there - both
    return _least_overlap(tuple(sorted(first)), tuple(sorted(second)), spare_row, spare_column)


@cache
def _least_overlap(rows: tuple[int, ...], columns: tuple[int, ...], spare_row: int, spare_column: int) -> int:
    """Least sum of C(n, 2) of a table with these margins; the spare row and column cost nothing.

    Successive cheapest paths, one player at a time: n already in a cell make the next one cost n.
    """
    left = [*rows, spare_row]
    right = [*columns, spare_column]
    table = [[0] * len(right) for _ in left]
    total = 0
    for row in range(len(left)):
        for _ in range(left[row]):
            total += _add_one(table, row, right)
    return total


def _add_one(table: list[list[int]], row: int, right: list[int]) -> int:
    """Give one more of a row a column, moving others of the table where that is cheaper; what it costs."""
    height, width = len(table), len(right)
    infinite = 10**9
    cost_row = [infinite] * height
    cost_column = [infinite] * width
    from_column: list[int] = [-1] * height
    from_row: list[int] = [-1] * width
    cost_row[row] = 0
    for _ in range(height + width):
        changed = False
        for i in range(height):
            if cost_row[i] < infinite:
                for j in range(width):
                    step = cost_row[i] + (table[i][j] if i < height - 1 and j < width - 1 else 0)
                    if step < cost_column[j]:
                        cost_column[j], from_row[j], changed = step, i, True
        for j in range(width):
            if cost_column[j] < infinite:
                for i in range(height):
                    if table[i][j]:
                        step = cost_column[j] - (table[i][j] - 1 if i < height - 1 and j < width - 1 else 0)
                        if step < cost_row[i]:
                            cost_row[i], from_column[i], changed = step, j, True
        if not changed:
            break
    used = [sum(table[i][j] for i in range(height)) for j in range(width)]
    end = min((j for j in range(width) if used[j] < right[j]), key=lambda j: (cost_column[j], j))
    price, column = cost_column[end], end
    while True:
        above = from_row[column]
        table[above][column] += 1
        if above == row:
            return price
        column = from_column[above]
        table[above][column] -= 1
