"""Rows that keep two sessions apart, moment by moment, against plain arithmetic for every pair of moments."""

from __future__ import annotations

import datetime as dt
from itertools import product

import numpy as np
import pytest

from scheduler.booking.apart import keep_apart_by_moments
from scheduler.booking.build import build_booking
from scheduler.booking.model import BookingModel
from scheduler.booking.slots import Moment
from scheduler.club.club import Club
from scheduler.club.places import Pitch, Site
from tests.clubs import a_club
from tests.weeks import FIVE, hours

SITES = ("Marsh Lane", "Mill Road", "Brook Park")


def two_sessions(ways: tuple[int, ...], minutes: tuple[int, int], step: int) -> Club:
    """A session of each of two teams, one pitch at each site; `ways`: what each site says of minutes to others."""
    sites = SITES[: len(ways)]
    club = a_club(
        teams=2,
        players=2,
        sites=tuple(Site(id=site, minutes_between=way) for site, way in zip(sites, ways, strict=True)),
        pitches=tuple(Pitch(id=site, site=site, zones=1, openings=hours(FIVE, 20 * 60)) for site in sites),
    )
    asks = tuple(ask.model_copy(update={"minutes": m}) for ask, m in zip(club.sessions, minutes, strict=True))
    return club.model_copy(update={"sessions": asks, "step": step})


def lie_apart(club: Club, ways: tuple[int, ...], one: Moment, other: Moment, with_travel: bool) -> bool:
    """Minute by minute: at no minute are both on, nor is anybody on the way while the other is on."""
    first, second = (
        range(moment.start, moment.start + ask.minutes) for moment, ask in zip((one, other), club.sessions, strict=True)
    )
    if one.date != other.date:
        return True
    between = 0
    if with_travel and one.site != other.site:
        between = max(ways[SITES.index(one.site)], ways[SITES.index(other.site)])
    return not any(minute in second for minute in range(first.start - between, first.stop + between))


class Rows:
    """The rows of a model from a number on."""

    def __init__(self, model: BookingModel, first: int) -> None:
        rows = list(model.model.proto.constraints)[first:]
        self.factors = np.zeros((len(rows), len(model.model.proto.variables)), np.int64)
        for number, row in enumerate(rows):
            self.factors[number, list(row.linear.vars)] = list(row.linear.coeffs)
        self.low, self.high = np.array([list(row.linear.domain) for row in rows]).T

    def allow(self, *true: int) -> bool:
        """Whether all of them hold where these literals alone are 1."""
        total = self.factors[:, true].sum(axis=1)
        return bool(((self.low <= total) & (total <= self.high)).all())


@pytest.mark.parametrize("with_travel", [False, True])
@pytest.mark.parametrize(
    ("ways", "minutes", "step"),
    [
        ((0,), (75, 75), 15),
        ((0, 20), (75, 60), 15),
        ((20, 10, 35), (50, 75), 15),
        ((0, 0, 25), (65, 40), 10),
        ((0, 7, 0), (37, 75), 15),
        ((15, 15), (60, 60), 15),
        ((90, 0), (20, 45), 20),
    ],
)
def test_rows_allow_the_pairs_of_moments_that_lie_apart_and_no_others(
    ways: tuple[int, ...], minutes: tuple[int, int], step: int, with_travel: bool
) -> None:
    club = two_sessions(ways, minutes, step)
    model = build_booking(club, [])
    one, other = (ask.id for ask in club.sessions)
    moments = [model.moments(session) for session in (one, other)]
    on, before = model.model.new_bool_var("on"), len(model.model.proto.constraints)
    keep_apart_by_moments(model, on, one, other, with_travel)
    rows = Rows(model, before)
    assert len(rows.factors)
    two_days = {club.week, club.week + dt.timedelta(days=1)}
    verdicts = []
    for (a, x), (b, y) in product(*(of.items() for of in moments)):
        if a.date == club.week and b.date in two_days:
            assert not isinstance(x, int)
            assert not isinstance(y, int)
            assert rows.allow(x.index, y.index)
            verdict = rows.allow(x.index, y.index, on.index)
            assert verdict == lie_apart(club, ways, a, b, with_travel), (a, b)
            verdicts.append(verdict)
    assert {True, False} == set(verdicts)


def test_no_row_says_what_another_says_already() -> None:
    """Rows of one site: none has all the literals of another."""
    club = two_sessions((0,), (75, 60), 15)
    model = build_booking(club, [])
    one, other = (ask.id for ask in club.sessions)
    before = len(model.model.proto.constraints)
    on = model.model.new_bool_var("on")
    keep_apart_by_moments(model, on, one, other, False)
    rows = [set(row.linear.vars) for row in list(model.model.proto.constraints)[before:]]
    assert len(rows) > 7
    assert not any(less <= more for less in rows for more in rows if less is not more)
