"""Load and evenness arithmetic against published numbers and closed forms."""

from __future__ import annotations

from itertools import permutations
from math import isclose, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.welfare.evenness import gini, jain, least_share
from scheduler.welfare.loads import Deviation, day_sums, monotony, session_load, strain, week_load

DAYS = st.lists(st.integers(0, 3000), min_size=7, max_size=7)


def test_a_published_day_on_the_scale_from_6_to_20() -> None:
    """World Rugby Passport, "Monitoring the training load": 45 min at 14 = 630, 90 min at 12 = 1080, day 1710."""
    first, second = session_load(14, 45, "6-20"), session_load(12, 90, "6-20")
    assert (first, second) == (630, 1080)
    assert day_sums([(2, first), (2, second)]) == (0, 0, 1710, 0, 0, 0, 0)


@pytest.mark.parametrize(("rpe", "scale"), [(14, "0-10"), (11, "0-10"), (-1, "0-10"), (5, "6-20"), (21, "6-20")])
def test_an_rpe_off_the_clubs_scale_is_refused(rpe: int, scale: str) -> None:
    with pytest.raises(ValueError, match="not on the scale"):
        session_load(rpe, 45, scale)


@pytest.mark.parametrize(("rpe", "scale"), [(0, "0-10"), (10, "0-10"), (6, "6-20"), (20, "6-20")])
def test_the_ends_of_a_scale_are_on_it(rpe: int, scale: str) -> None:
    assert session_load(rpe, 10, scale) == 10 * rpe


def test_minutes_below_zero_are_refused() -> None:
    with pytest.raises(ValueError, match="from 0 up"):
        session_load(5, -1)


@pytest.mark.parametrize("load", [1, 900])
@pytest.mark.parametrize(
    ("k", "sample", "population"),
    [
        (1, 0.377964, 0.408248),
        (2, 0.585540, 0.632456),
        (3, 0.801784, 0.866025),
        (4, 1.069045, 1.154701),
        (5, 1.463850, 1.581139),
        (6, 2.267787, 2.449490),
    ],
)
def test_k_equal_days_of_seven(k: int, sample: float, population: float, load: int) -> None:
    """Closed form: population sqrt(k / (7 - k)), sample sqrt(6k / (7 (7 - k))); the load itself drops out."""
    days = (load,) * k + (0,) * (7 - k)
    assert monotony(days, Deviation.POPULATION) == pytest.approx(population, abs=1e-6)
    assert monotony(days, Deviation.SAMPLE) == pytest.approx(sample, abs=1e-6)
    assert monotony(days, Deviation.POPULATION) == pytest.approx(sqrt(k / (7 - k)))
    assert monotony(days, Deviation.SAMPLE) == pytest.approx(sqrt(6 * k / (7 * (7 - k))))


@pytest.mark.parametrize("days", [(0,) * 7, (300,) * 7, (1,) * 7])
@pytest.mark.parametrize("deviation", list(Deviation))
def test_equal_days_have_no_monotony(days: tuple[int, ...], deviation: Deviation) -> None:
    """The deviation is 0, also for an empty week: undefined, so None; never infinity or a crash."""
    assert monotony(days, deviation) is None
    assert strain(days, deviation) is None


@pytest.mark.parametrize(
    ("days", "total", "sample", "population", "strain_sample", "strain_population"),
    [
        ((0, 375, 0, 450, 0, 420, 0), 1245, 0.79794, 0.86188, 993.44, 1073.04),
        ((0, 300, 400, 0, 350, 0, 600), 1650, 0.98504, 1.06396, 1625.31, 1755.54),
        ((300,) * 6 + (0,), 1800, 2.26779, 2.44949, 4082.02, 4409.08),
        ((420, 0, 0, 0, 0, 0, 0), 420, 0.37796, 0.40825, 158.745, 171.464),
    ],
)
def test_whole_weeks(
    days: tuple[int, ...],
    total: int,
    sample: float,
    population: float,
    strain_sample: float,
    strain_population: float,
) -> None:
    """Worked weeks, own inputs: first week mean 177.857, SD 222.895 (n - 1) and 206.361 (n), so .79794 and .86188."""
    assert week_load(days) == total
    assert monotony(days, Deviation.SAMPLE) == pytest.approx(sample, abs=5e-6)
    assert monotony(days) == pytest.approx(population, abs=5e-6)
    assert strain(days, Deviation.SAMPLE) == pytest.approx(strain_sample, abs=5e-3)
    assert strain(days) == pytest.approx(strain_population, abs=5e-3)


def test_two_sessions_on_one_day_are_one_day() -> None:
    """Two entries of 210 on Monday are a day of 420, the fourth worked week; as two days it would be sqrt(2/5)."""
    assert monotony(day_sums([(0, 210), (0, 210)])) == pytest.approx(sqrt(1 / 6))


@given(DAYS)
def test_the_two_deviations_differ_by_the_square_root_of_seven_sixths(days: list[int]) -> None:
    population, sample = monotony(days, Deviation.POPULATION), monotony(days, Deviation.SAMPLE)
    if population is None or sample is None:
        assert population is sample is None
    else:
        assert isclose(population / sample, sqrt(7 / 6))


@given(DAYS)
def test_monotony_is_jains_index_in_another_dress(days: list[int]) -> None:
    """J = 1 / (1 + CV^2) and population monotony = 1 / CV, so monotony = sqrt(J / (1 - J)); both undefined together."""
    index, of = jain(days), monotony(days, Deviation.POPULATION)
    if index is None:
        assert of is None
    elif len(set(days)) == 1:
        assert index == pytest.approx(1)
        assert of is None
    else:
        assert of is not None
        assert of / sqrt(1 + of * of) == pytest.approx(sqrt(index), rel=1e-9)
        if index < 0.999:
            assert of == pytest.approx(sqrt(index / (1 - index)), rel=1e-6)


EVENNESS = [
    ((1, 1, 1, 1), 1, 0, 0),
    ((1, 0, 0, 0), 0.25, 0.75, 1),
    ((1,) * 20 + (0,) * 80, 0.20, 0.80, 0.808081),
    ((2,) * 10 + (0,) * 90, 0.10, 0.90, 0.909091),
    ((1, 3, 5), 0.771429, 0.296296, 0.444444),
    ((1, 2, 3, 4), 0.833333, 0.25, 0.333333),
    ((10, 10, 10, 10, 10, 0), 0.833333, 0.166667, 0.2),
    ((60, 60, 45, 75), 0.969697, 0.09375, 0.125),
    ((50, 30, 50), 0.954802, 0.102564, 0.153846),
    (tuple(range(1, 11)), 0.785714, 0.30, 0.333333),
]


@pytest.mark.parametrize(("shares", "index", "plain", "corrected"), EVENNESS)
def test_evenness(shares: tuple[int, ...], index: float, plain: float, corrected: float) -> None:
    """Jain, Chiu, Hawe 1984: k of n with equal shares give k/n. Gini by hand, e.g. 1, 3, 5: (-2 + 0 + 10) / 27."""
    assert jain(shares) == pytest.approx(index, abs=1e-6)
    assert gini(shares) == pytest.approx(plain, abs=1e-6)
    assert gini(shares, corrected=True) == pytest.approx(corrected, abs=1e-6)


@pytest.mark.parametrize("shares", [row[0] for row in EVENNESS])
def test_gini_equals_the_double_sum(shares: tuple[int, ...]) -> None:
    """The other form: sum of |xi - xj| over 2 n^2 mean."""
    count, mean = len(shares), sum(shares) / len(shares)
    double = sum(abs(a - b) for a in shares for b in shares) / (2 * count * count * mean)
    assert gini(shares) == pytest.approx(double)


def test_evenness_ignores_scale_and_order() -> None:
    shares = (60, 60, 45, 75)
    for of in (jain, gini, least_share):
        values = {round(of(order) or 0, 12) for order in permutations(shares)}
        assert values == {round(of([60 * share for share in shares]) or 0, 12)}


def test_nothing_shared_is_undefined() -> None:
    assert jain((0, 0)) is None
    assert gini((0, 0)) is None
    assert least_share((0, 0)) is None
    assert gini((5,), corrected=True) is None


def test_the_least_share_shows_the_child_left_out() -> None:
    """1, 2, 3, 4 and 10 x 5 with one 0 share Jain 5/6; only the second leaves somebody out (1 / 2.5 = 0.4 and 0)."""
    assert jain((1, 2, 3, 4)) == pytest.approx(jain((10, 10, 10, 10, 10, 0)))
    assert least_share((1, 2, 3, 4)) == pytest.approx(0.4)
    assert least_share((10, 10, 10, 10, 10, 0)) == 0
