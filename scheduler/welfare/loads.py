"""Planned load: RPE x minutes, the day's sum, the week's sum, monotony and strain. Description only.

Source: session RPE after Foster 1998 (Med Sci Sports Exerc 30(7):1164-1168) and Foster et al. 2001 (JSCR 15:109-115).
Monotony is the daily mean over the daily standard deviation of seven days, rest days counting as 0; strain is the
week's load x monotony. None of the texts says which standard deviation; the two differ by the square root of 7/6.
The files print the population form. A load figure describes what is planned and says nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import StrEnum
from math import sqrt

WEEK_DAYS = 7
SCALES = {"0-10": (0, 10), "6-20": (6, 20)}


class Deviation(StrEnum):
    """Which standard deviation: divided by n, or by n - 1."""

    POPULATION = "population"
    SAMPLE = "sample"


PRINTED = Deviation.POPULATION


def session_load(rpe: int, minutes: int, scale: str = "0-10") -> int:
    """RPE x minutes, in arbitrary units; ValueError where the RPE is not on the club's scale (`0-10` or `6-20`)."""
    least, most = SCALES[scale]
    if not least <= rpe <= most:
        raise ValueError(f"RPE {rpe} is not on the scale {scale}: a number from {least} to {most}")
    if minutes < 0:
        raise ValueError(f"{minutes} minutes: a number from 0 up")
    return rpe * minutes


def day_sums(entries: Iterable[tuple[int, int]]) -> tuple[int, ...]:
    """Seven daily loads from (weekday, load) pairs; everything on one day is added up before any mean or deviation."""
    days = [0] * WEEK_DAYS
    for weekday, load in entries:
        days[weekday] += load
    return tuple(days)


def week_load(days: Sequence[int]) -> int:
    """The seven daily loads added up."""
    return sum(days)


def monotony(days: Sequence[int], deviation: Deviation = PRINTED) -> float | None:
    """Daily mean over the daily standard deviation; None where every day is alike, an empty week included.

    Integer sums throughout, so that equal days are found equal: n sum(x^2) - (sum x)^2 is n^2 times the variance.
    """
    count, total = len(days), sum(days)
    spread = count * sum(day * day for day in days) - total * total
    if spread == 0 or total == 0:
        return None
    ratio = total / sqrt(spread)
    return ratio if deviation is Deviation.POPULATION else ratio * sqrt((count - 1) / count)


def strain(days: Sequence[int], deviation: Deviation = PRINTED) -> float | None:
    """The week's load x monotony, monotony not rounded; None where monotony is undefined."""
    of = monotony(days, deviation)
    return None if of is None else sum(days) * of
