"""Stored tables against what their authors say of them, and the most rounds without repeats."""

from __future__ import annotations

import pytest

from scheduler.rotation.designs import known_table, known_whole, most_rounds, parse_rounds, round_robin
from scheduler.rotation.pair_bounds import pair_counts


@pytest.mark.parametrize(("groups", "size", "rounds"), [(3, 3, 4), (4, 3, 4), (4, 4, 5), (5, 3, 7), (5, 4, 5)])
def test_stored_tables_never_repeat_a_pair(groups: int, size: int, rounds: int) -> None:
    table = known_table(groups, size)
    assert len(table) == rounds
    for one in table:
        assert sorted(p for group in one for p in group) == list(range(groups * size))
        assert {len(group) for group in one} == {size}
    assert set(pair_counts(table).values()) == {1}


def test_kirkman_walks_every_pair_once() -> None:
    # Kirkman 1850: 15 girls, 7 days; 15 x 14 / 2 = 105 pairs and 7 days x 5 rows x 3 pairs = 105 meetings.
    assert len(pair_counts(known_table(5, 3))) == 105


def test_eight_in_fours_meets_every_pair_three_times() -> None:
    # The (8, 4, 3) design: 7 rounds x 2 groups x 6 pairs = 84 = 28 pairs x 3.
    assert set(pair_counts(known_whole(2, 4)).values()) == {3}
    assert len(pair_counts(known_whole(2, 4))) == 28


@pytest.mark.parametrize("players", range(2, 19))
def test_the_circle_method_pairs_everybody_once(players: int) -> None:
    # Even n: n - 1 rounds; odd n: n rounds with one left over in each. Every pair exactly once.
    rounds = round_robin(players)
    assert len(rounds) == (players - 1 if players % 2 == 0 else players)
    assert set(pair_counts(rounds).values()) == {1}
    assert len(pair_counts(rounds)) == players * (players - 1) // 2


def test_known_maxima_of_oeis_a107431() -> None:
    # Rows n = 2, 3, 4, 5 of A107431, k = 2..n: 3; 5, 4; 7, 4, 5; 9, 7, 5, 6.
    rows = [[most_rounds(n, k)[0] for k in range(2, n + 1)] for n in range(2, 6)]
    assert rows == [[3], [5, 4], [7, 4, 5], [9, 7, 5, 6]]
    assert most_rounds(3, 4) == (1, True)  # more to a group than groups: two of a group must meet again
    assert most_rounds(8, 4) == (10, False)  # not stored: 31 others, three a round


def test_a_widely_copied_schoolgirl_table_is_caught_by_counting_pairs() -> None:
    """All player counts and group sizes are right; pairs BE, BG, CM, CN meet twice, BM, BN, CE, CG never."""
    days = (
        "ABC DHL EJN FIO GKM", "ADE BIK CMO FHN GJL", "AFG BHJ CLN DIM EKO", "AHI BEG CMN DJO FKL",
        "AJK CDF BLO EHM GIN", "ALM BEF CIJ DKN GHO", "ANO BDG CHK EIL FJM",
    )  # fmt: skip
    text = "\n".join(" | ".join(" ".join(str(ord(c) - 64) for c in row) for row in day.split()) for day in days)
    table = parse_rounds(text)
    assert all(sorted(p for row in day for p in row) == list(range(15)) for day in table)
    met = pair_counts(table)
    names = {pair: "".join(chr(65 + p) for p in pair) for pair in met}
    assert sorted(names[pair] for pair, count in met.items() if count > 1) == ["BE", "BG", "CM", "CN"]
    missing = {a + b for a in "ABCDEFGHIJKLMNO" for b in "ABCDEFGHIJKLMNO" if a < b} - set(names.values())
    assert sorted(missing) == ["BM", "BN", "CE", "CG"]
