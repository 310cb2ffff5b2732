"""Published tables of small groups in which pairs meet as evenly as can be, and how many rounds are known to exist.

Players are numbers from 0. A table is a list of rounds, a round a list of groups.
"""

from __future__ import annotations

from functools import cache

Groups = tuple[tuple[int, ...], ...]

# T. P. Kirkman, Query VI, Lady's and Gentleman's Diary (1850): 15 girls, five rows of three, seven days.
_KIRKMAN = """
1 6 11 | 2 7 12 | 3 8 13 | 4 9 14 | 5 10 15
1 2 5 | 3 4 7 | 8 9 12 | 10 11 14 | 13 15 6
2 3 6 | 4 5 8 | 9 10 13 | 11 12 15 | 14 1 7
5 6 9 | 7 8 11 | 12 13 1 | 14 15 3 | 2 4 10
3 5 11 | 4 6 12 | 7 9 15 | 8 10 1 | 13 14 2
5 7 13 | 6 8 14 | 9 11 2 | 10 12 3 | 15 1 4
11 13 4 | 12 14 5 | 15 2 8 | 1 3 9 | 6 7 10
"""
# The affine planes of order three and four: every pair once.
_PLANE_OF_THREE = """
1 2 3 | 4 5 6 | 7 8 9
1 4 7 | 2 5 8 | 3 6 9
1 5 9 | 2 6 7 | 3 4 8
1 6 8 | 2 4 9 | 3 5 7
"""
_PLANE_OF_FOUR = """
1 2 3 4 | 5 6 7 8 | 9 10 11 12 | 13 14 15 16
1 5 9 13 | 2 6 10 14 | 3 7 11 15 | 4 8 12 16
1 6 11 16 | 2 5 12 15 | 3 8 9 14 | 4 7 10 13
1 7 12 14 | 2 8 11 13 | 3 5 10 16 | 4 6 9 15
1 8 10 15 | 2 7 9 16 | 3 6 12 13 | 4 5 11 14
"""
_TWELVE_IN_THREES = """
1 2 3 | 4 5 6 | 7 8 9 | 10 11 12
1 9 10 | 3 6 7 | 2 5 12 | 4 8 11
1 5 8 | 2 7 11 | 3 4 10 | 6 9 12
1 6 11 | 3 5 9 | 2 8 10 | 4 7 12
"""
_TWENTY_IN_FOURS = """
1 2 3 4 | 5 6 7 8 | 9 10 11 12 | 13 14 15 16 | 17 18 19 20
1 7 9 18 | 4 8 16 17 | 3 5 10 15 | 6 11 13 19 | 2 12 14 20
1 10 13 17 | 4 5 12 18 | 8 11 15 20 | 3 6 9 14 | 2 7 16 19
1 6 16 20 | 8 10 14 18 | 4 9 15 19 | 3 7 12 13 | 2 5 11 17
1 5 14 19 | 6 12 15 17 | 3 11 16 18 | 4 7 10 20 | 2 8 9 13
"""
# The resolvable (8, 4, 3) block design: every pair three times in seven rounds.
_EIGHT_IN_FOURS = """
1 2 3 4 | 5 6 7 8
1 2 5 6 | 3 4 7 8
1 2 7 8 | 3 4 5 6
1 3 5 7 | 2 4 6 8
1 3 6 8 | 2 4 5 7
1 4 5 8 | 2 3 6 7
1 4 6 7 | 2 3 5 8
"""
_WITHOUT_REPEATS = {
    (3, 3): _PLANE_OF_THREE,
    (4, 3): _TWELVE_IN_THREES,
    (4, 4): _PLANE_OF_FOUR,
    (5, 3): _KIRKMAN,
    (5, 4): _TWENTY_IN_FOURS,
}
_WHOLE_ONLY = {(2, 4): _EIGHT_IN_FOURS}

# OEIS A107431: the most rounds of g groups of k without a pair meeting twice.
_MOST_ROUNDS = {
    (2, 2): 3, (3, 2): 5, (3, 3): 4, (4, 2): 7, (4, 3): 4, (4, 4): 5, (5, 2): 9, (5, 3): 7, (5, 4): 5, (5, 5): 6,
    (6, 2): 11, (6, 3): 8, (6, 4): 7, (6, 5): 6, (6, 6): 3, (7, 2): 13, (7, 3): 10, (7, 4): 9,
}  # fmt: skip


def parse_rounds(text: str) -> tuple[Groups, ...]:
    """Rounds from lines such as `1 2 | 3 4`, players counted from 1 in the text and from 0 in the result."""
    return tuple(
        tuple(tuple(int(word) - 1 for word in group.split()) for group in line.split("|"))
        for line in text.strip().splitlines()
    )


def round_robin(players: int) -> tuple[Groups, ...]:
    """Pairs by the circle method: the first stays, the others move on. An odd one out is left alone in a round."""
    seats = players + players % 2
    others = list(range(1, seats))
    rounds = []
    for _ in range(seats - 1):
        ring = [0, *others]
        pairs = [(ring[i], ring[seats - 1 - i]) for i in range(seats // 2)]
        rounds.append(tuple(tuple(p for p in pair if p < players) for pair in pairs))
        others = [others[-1], *others[:-1]]
    return tuple(rounds)


def most_rounds(groups: int, size: int) -> tuple[int, bool]:
    """The most rounds of `groups` of `size` in which no pair meets twice, and whether so many are known to exist.

    Where no number is published, what counting allows: everybody has so many others to meet.
    """
    if size < 2 or groups < 2:
        return (1, True) if size > 1 else (10**6, True)
    if size > groups:
        return 1, True
    if size == 2:
        return 2 * groups - 1, True
    known = _MOST_ROUNDS.get((groups, size))
    return (known, True) if known is not None else ((groups * size - 1) // (size - 1), False)


@cache
def known_table(groups: int, size: int) -> tuple[Groups, ...]:
    """The stored table for so many groups of one size, every prefix of which is without repeats; empty without one."""
    if size == 2:
        return round_robin(2 * groups)
    text = _WITHOUT_REPEATS.get((groups, size))
    return parse_rounds(text) if text else ()


@cache
def known_whole(groups: int, size: int) -> tuple[Groups, ...]:
    """A stored table that is even only when all its rounds are played; empty without one."""
    text = _WHOLE_ONLY.get((groups, size))
    return parse_rounds(text) if text else ()
