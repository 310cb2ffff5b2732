"""Pitch bookings: one use at a time of one place (common practice, no source); half-open at every end."""

from __future__ import annotations

from typing import Any

import pytest

from constraints.pitch_bookings import PitchBookings
from scheduler.club.club import Club
from scheduler.club.people import Match
from scheduler.club.places import Booked, Pitch
from scheduler.club.when import Occurs, Span
from tests.clubs import MONDAY, a_club
from tests.weeks import FIVE, SEVEN, SIX, breaches, held, hours, spoken, with_asks

RULE = PitchBookings()


def two_teams(**changes: Any) -> Club:
    """Two teams, an hour each, one zone of three."""
    return with_asks(a_club(teams=2, **changes), minutes=60, zones=1)


def test_one_after_the_other_and_side_by_side_are_lawful() -> None:
    club = two_teams()
    after = (held(club), held(club, start=SIX, number=1))
    beside = (held(club), held(club, number=1, zones=(2,)))
    tomorrow = (held(club), held(club, day=1, number=1))
    assert [breaches(RULE, club, *two) for two in (after, beside, tomorrow)] == [[], [], []]


def test_a_minute_of_one_zone_used_twice() -> None:
    club = two_teams()
    assert breaches(RULE, club, held(club), held(club, start=SIX - 1, number=1)) == [1]
    assert spoken(RULE, club, held(club), held(club, start=SIX - 15, number=1)) == [
        "Herons 1 and Kites 1 both need North zone 1 on Mon 7 Sep for 15 minutes"
    ]


@pytest.mark.parametrize(("minutes_between", "short"), [(25, []), (24, [1])])
def test_gap_set_up_and_pack_up_add_up(minutes_between: int, short: list[int]) -> None:
    """Between two sessions lie the pack-up of the one (5), the gap (10) and the set-up of the other (10)."""
    club = two_teams(gap=10, set_up=10, pack_up=5)
    second = held(club, start=FIVE + 30 + 60 + minutes_between, number=1)
    assert breaches(RULE, club, held(club, start=FIVE + 30), second) == short


@pytest.mark.parametrize(
    ("start", "over"), [(FIVE + 10, []), (FIVE + 9, [1]), (21 * 60 - 65, []), (21 * 60 - 64, [1]), (21 * 60, [65])]
)
def test_open_from_set_up_to_pack_up(start: int, over: list[int]) -> None:
    """Open from 17:00 to 21:00, 10 minutes of set-up and 5 of pack-up; from 21:00 on only the set-up is inside."""
    club = two_teams(set_up=10, pack_up=5)
    assert breaches(RULE, club, held(club, start=start)) == over


def test_two_opening_rows_are_not_joined() -> None:
    """A pitch that is open until 18:00 and again from 18:00 is two bookings of somebody's gate, not one."""
    rows = (*hours(FIVE, SIX), *hours(SIX, SEVEN))
    club = two_teams(pitches=(Pitch(id="North", site="Marsh Lane", zones=3, openings=rows),))
    assert breaches(RULE, club, held(club)) == []
    assert breaches(RULE, club, held(club, start=SIX - 15)) == [15]
    closed = two_teams(pitches=(Pitch(id="North", site="Marsh Lane", openings=hours(FIVE, SIX, days=frozenset({1}))),))
    assert spoken(RULE, closed, held(closed)) == ["Herons 1 needs North from 17:00 to 18:00 on Mon 7 Sep; it is closed"]


HIRED = Booked(pitch="North", zones=(1,), occurs=Occurs(days=frozenset({0})), span=Span(SIX, SEVEN), by="the choir")


@pytest.mark.parametrize(
    ("start", "zones", "day", "found"),
    [
        (FIVE, (1,), 0, []),
        (FIVE + 1, (1,), 0, [1]),
        (SEVEN - 1, (1,), 0, [1]),
        (SEVEN, (1,), 0, []),
        (SIX, (1, 2), 0, [60]),
        (SIX, (2, 3), 0, []),
        (SIX, (1,), 1, []),
    ],
)
def test_what_others_have_booked_is_theirs(start: int, zones: tuple[int, ...], day: int, found: list[int]) -> None:
    club = two_teams(booked=(HIRED,))
    assert breaches(RULE, club, held(club, day=day, start=start, zones=zones)) == found


def test_a_booking_without_zones_is_the_whole_pitch_and_names_who_has_it() -> None:
    club = two_teams(booked=(HIRED.model_copy(update={"zones": ()}),))
    assert spoken(RULE, club, held(club, start=SIX, zones=(3,))) == [
        "Herons 1 needs North on Mon 7 Sep, which the choir has 18:00-19:00: 60 minutes"
    ]
    packed = two_teams(booked=(HIRED,), set_up=10, pack_up=5)
    assert breaches(RULE, packed, held(packed, start=FIVE + 10, end=SIX - 5)) == []
    assert breaches(RULE, packed, held(packed, start=FIVE + 10, end=SIX - 4)) == [1]


@pytest.mark.parametrize(("keeps", "found"), [(None, [20]), (Span(SIX - 30, SEVEN), [50])])
def test_a_home_match_keeps_its_zones(keeps: Span | None, found: list[int]) -> None:
    """Kick-off 18:00 for 20 minutes; zones kept from 17:30 to 19:00 take 50 of the minutes from 17:10 to 18:20."""
    match = Match(team="Kites", date=MONDAY, kick_off=SIX, minutes=20, pitch="North", zones=(1, 2), zones_span=keeps)
    club = two_teams(matches=(match,))
    assert breaches(RULE, club, held(club, start=FIVE + 10, end=SIX + 20)) == found
    assert breaches(RULE, club, held(club, start=FIVE + 10, end=SIX + 20, zones=(3,))) == []
    away = two_teams(matches=(match.model_copy(update={"pitch": None}),))
    assert breaches(RULE, away, held(away, start=FIVE + 10, end=SIX + 20)) == []


def test_a_pitch_across_another_keeps_off_all_of_it() -> None:
    ground = (
        Pitch(id="North", site="Marsh Lane", zones=3, openings=hours(FIVE, SEVEN)),
        Pitch(id="Cross", site="Marsh Lane", zones=1, lies_on="North", openings=hours(FIVE, SEVEN)),
        Pitch(id="South", site="Marsh Lane", zones=1, openings=hours(FIVE, SEVEN)),
    )
    club = two_teams(pitches=ground)
    on_it = held(club, number=1, pitch="Cross", zones=(1,))
    assert breaches(RULE, club, held(club, zones=(3,)), on_it) == [60]
    assert breaches(RULE, club, on_it, held(club, zones=(3,))) == [60]
    assert breaches(RULE, club, held(club), held(club, number=1, pitch="South")) == []
    hired = two_teams(pitches=ground, booked=(HIRED.model_copy(update={"pitch": "Cross", "zones": ()}),))
    assert breaches(RULE, hired, held(hired, start=SIX, zones=(3,))) == [60]
    assert spoken(RULE, club, on_it, held(club, zones=(3,))) == [
        "Kites 1 and Herons 1 both need the ground of Cross and North on Mon 7 Sep for 60 minutes"
    ]
