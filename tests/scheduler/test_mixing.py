"""Small groups that meet as evenly as can be: perfect where a design exists, least repeats beyond it."""

from __future__ import annotations

import pytest

from scheduler.rotation.mixing import group_sizes, least_repeats, small_groups
from scheduler.rotation.pair_bounds import pair_counts


@pytest.mark.parametrize(
    ("players", "groups", "rounds", "times"),
    [
        (9, 3, 4, {1}),  # affine plane of order 3: all 36 pairs once
        (16, 4, 5, {1}),  # affine plane of order 4: all 120 pairs once
        (15, 5, 7, {1}),  # Kirkman 1850: all 105 pairs once
        (8, 2, 7, {3}),  # (8, 4, 3): all 28 pairs three times
        (12, 4, 4, {1}),  # 4 x 4 x 3 = 48 of 66 pairs once, the others never
        (6, 3, 5, {1}),  # pairs of six: all 15 once
    ],
)
@pytest.mark.parametrize("seed", range(20))
def test_designs_come_out_perfect_for_every_seed(
    players: int, groups: int, rounds: int, times: set[int], seed: int
) -> None:
    names = [f"p{number}" for number in range(players)]
    made = small_groups(names, groups, rounds, seed)
    assert len(made.rounds) == rounds
    for one in made.rounds:
        assert sorted(name for group in one for name in group) == sorted(names)
    number = {name: i for i, name in enumerate(names)}
    met = pair_counts([[[number[name] for name in group] for group in one] for one in made.rounds])
    assert set(met.values()) == times
    assert made.proved


def test_without_a_stored_table_the_search_itself_comes_out_perfect() -> None:
    # OEIS A107431: eighteen in threes can go eight rounds without repeats, so seven exist.
    made = small_groups(range(18), 6, 7)
    assert set(pair_counts(made.rounds).values()) == {1}


def test_seeds_give_other_rounds_and_the_same_seed_the_same() -> None:
    one, two, again = (small_groups(range(9), 3, 4, seed) for seed in (1, 2, 1))
    assert one == again
    assert one.rounds != two.rounds


@pytest.mark.parametrize(
    ("players", "groups", "rounds", "least"),
    [
        (9, 3, 5, 9),  # 5 x 9 = 45 meetings of 36 pairs: 9 meet again
        (15, 5, 8, 15),  # 8 x 15 = 120 of 105
        (16, 4, 6, 24),  # 6 x 24 = 144 of 120
        (6, 3, 6, 3),  # 6 x 3 = 18 of 15
    ],
)
def test_one_round_more_than_exists_gives_the_least_repeats(players: int, groups: int, rounds: int, least: int) -> None:
    made = small_groups(range(players), groups, rounds)
    assert (made.repeats, made.bound, made.proved) == (least, least, True)
    assert "fewer is impossible" in made.text


def test_beyond_a_published_maximum_no_repeats_are_ruled_out_though_counting_would_allow_them() -> None:
    # 12 in fours of three: counting allows floor(11 / 2) = 5 rounds, A107431 says four; three repeats are known to do.
    assert least_repeats(12, 4, 5) == 1
    made = small_groups(range(12), 4, 5)
    assert made.repeats == 3
    assert not made.proved
    assert "at least 1" in made.text


def test_two_rounds_of_twos_of_k_by_the_closed_form() -> None:
    # Two groups of k twice: k = 2q + r; 2 (r C(q + 1, 2) + (2 - r) C(q, 2)): k = 3: 2, 4: 4, 5: 8, 6: 12.
    assert [small_groups(range(2 * k), 2, 2).repeats for k in (3, 4, 5, 6)] == [2, 4, 8, 12]


def test_uneven_numbers_make_groups_within_one() -> None:
    assert group_sizes(13, 3) == (5, 4, 4)
    made = small_groups(range(13), 3, 6)
    assert all(sorted(map(len, one)) == [4, 4, 5] for one in made.rounds)
    # 6 x (10 + 6 + 6) = 132 meetings of 78 pairs leave at least 54; any two rounds of 5, 4, 4 overlap in at least
    # four pairs (nine cells, 13 players), 15 x 4 = 60.
    assert (made.repeats, made.bound) == (60, 60)


def test_fewer_players_than_groups_is_refused() -> None:
    with pytest.raises(ValueError, match="2 players cannot form 3 groups"):
        small_groups(range(2), 3, 1)
