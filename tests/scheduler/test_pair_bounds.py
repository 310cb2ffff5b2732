"""The counting bounds against trying everything, and against figures worked out by hand."""

from __future__ import annotations

from itertools import combinations, permutations, product
from math import comb

import pytest

from scheduler.rotation.pair_bounds import figure, overlap_bound, pair_counts, spread_bound


def test_the_figure_adds_c_over_two() -> None:
    assert figure([0, 1, 2, 3]) == 0 + 0 + 1 + 3


@pytest.mark.parametrize(("meetings", "pairs", "least"), [(0, 5, 0), (5, 5, 0), (7, 5, 2), (12, 5, 9), (10, 0, 0)])
def test_meetings_spread_evenly(meetings: int, pairs: int, least: int) -> None:
    # 7 among 5: three pairs once, two twice: 2. 12 among 5: three twice, two three times: 3 x 1 + 2 x 3 = 9.
    assert spread_bound(meetings, pairs) == least


@pytest.mark.parametrize(("meetings", "pairs"), list(product(range(7), range(1, 4))))
def test_spreading_is_never_beaten(meetings: int, pairs: int) -> None:
    tries = (counts for counts in product(range(meetings + 1), repeat=pairs) if sum(counts) == meetings)
    assert spread_bound(meetings, pairs) == min(map(figure, tries))


def test_four_and_two_of_six_twice_overlap_in_three_pairs() -> None:
    # Of six, four attack and two defend in each of two reps. At best 2 attack in both (one pair), 2 change each way
    # (one pair each), none defends twice: 1 + 1 + 1.
    assert overlap_bound((4, 2), (4, 2), (6, 6, 6)) == 3


@pytest.mark.parametrize(
    ("first", "second", "players"), [((3, 2), (2, 2), 5), ((2, 2), (3,), 5), ((4,), (4,), 5), ((2, 2, 1), (3, 2), 6)]
)
def test_overlap_of_two_reps_against_every_arrangement(
    first: tuple[int, ...], second: tuple[int, ...], players: int
) -> None:
    def cells(sizes: tuple[int, ...], order: tuple[int, ...]) -> list[set[int]]:
        cuts = [sum(sizes[:i]) for i in range(len(sizes) + 1)]
        return [set(order[a:b]) for a, b in zip(cuts, cuts[1:], strict=False)]

    fixed = cells(first, tuple(range(players)))
    best = min(
        sum(comb(len(a & b), 2) for a in fixed for b in cells(second, order)) for order in permutations(range(players))
    )
    assert overlap_bound(first, second, (players, players, players)) == best


def test_overlap_of_reps_with_other_children_there() -> None:
    # Three stand together in both reps, but only two are there in both: those two may be kept apart by leaving one
    # out of the three? Not with three there in each: all three stand in, the two meet again: one pair.
    assert overlap_bound((3,), (3,), (3, 3, 2)) == 1
    assert overlap_bound((3,), (3,), (4, 4, 2)) == 0  # four are there, so one of the two can be left out
    assert overlap_bound((3,), (3,), (3, 3, 1)) == 0


def test_the_overlap_identity_on_a_real_table() -> None:
    """The figure is the sum over pairs of rounds of C(n, 2) over the overlaps of their groups."""
    rounds = [[[0, 1, 2], [3, 4, 5]], [[0, 1, 3], [2, 4, 5]], [[0, 4, 5], [1, 2, 3]]]
    by_pairs = figure(pair_counts(rounds).values())
    by_overlaps = sum(comb(len(set(a) & set(b)), 2) for one, two in combinations(rounds, 2) for a in one for b in two)
    assert by_pairs == by_overlaps
