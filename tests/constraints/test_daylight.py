"""Daylight: dusk as the United States Naval Observatory prints it and as computed for Dublin; lamps; unknown places."""

from __future__ import annotations

import datetime as dt

import pytest

from constraints.daylight import Daylight
from scheduler.club.club import Club
from scheduler.club.places import Opening, Pitch, Site
from scheduler.club.when import Span
from tests.clubs import a_club
from tests.weeks import FIVE, breaches, held, spoken, with_asks

RULE = Daylight()
EIGHT = 20 * 60


def unlit(date: dt.date, zone: str, place: Site, **changes: object) -> Club:
    """An hour on an unlit pitch in the week of a date."""
    opening = Opening(span=Span(0, 24 * 60), **{"lit": False, **changes})  # type: ignore[arg-type]
    pitch = Pitch(id="North", site=place.id, zones=3, openings=(opening,))
    monday = date - dt.timedelta(days=date.weekday())
    return with_asks(a_club(week=monday, timezone=zone, sites=(place,), pitches=(pitch,)), minutes=60)


ATLANTA = (dt.date(2009, 9, 6), "America/New_York", Site(id="Marsh Lane", latitude=33.8, longitude=-84.4), EIGHT + 21)
DECORAH = (dt.date(2008, 9, 1), "America/Chicago", Site(id="Marsh Lane", latitude=43.3, longitude=-91.8), EIGHT + 11)


@pytest.mark.parametrize(("date", "zone", "place", "dusk"), [ATLANTA, DECORAH], ids=["Atlanta", "Decorah"])
def test_a_session_ends_by_the_printed_dusk(date: dt.date, zone: str, place: Site, dusk: int) -> None:
    """USNO print-out, Atlanta, 6 September 2009: end of civil twilight 20:21. Decorah, 1 September: 20:11 (the table
    gives neither year nor place; 2008 and 43.30 N 91.80 W are inferred).
    """
    club, day = unlit(date, zone, place), date.weekday()
    assert breaches(RULE, club, held(club, day, dusk - 60)) == []
    assert breaches(RULE, club, held(club, day, dusk - 59)) == [1]


@pytest.mark.parametrize(("sunday", "over"), [(0, []), (1, [52])])
def test_dublin_either_side_of_the_clock_change(sunday: int, over: list[int]) -> None:
    """17:30 to 18:30 in Dublin: civil dusk 18:40 on 26 October 2024, 17:38 on the 27th (computed, not published)."""
    dublin = Site(id="Marsh Lane", latitude=53.35, longitude=-6.26)
    club = unlit(dt.date(2024, 10, 26), "Europe/Dublin", dublin)
    planned = held(club, 5 + sunday, FIVE + 30)
    assert breaches(RULE, club, planned) == over
    if over:
        said = "Herons 1 on North ends at 18:30 on Sun 27 Oct; there is light until 17:38"
        assert spoken(RULE, club, planned) == [said]


def test_polar_day_and_polar_night() -> None:
    """At 69.65 N the sun does not set on 21 June; at 78.2 N the noon sun of 21 December stands 11.6 degrees low."""
    tromso = Site(id="Marsh Lane", latitude=69.65, longitude=18.96)
    day = unlit(dt.date(2024, 6, 21), "Europe/Oslo", tromso)
    assert breaches(RULE, day, held(day, 4, 23 * 60)) == []
    svalbard = Site(id="Marsh Lane", latitude=78.2, longitude=15.6)
    night = unlit(dt.date(2024, 12, 21), "Arctic/Longyearbyen", svalbard)
    assert spoken(RULE, night, held(night, 5, 12 * 60)) == [
        "Herons 1 on North ends at 13:00 on Sat 21 Dec; there is no light"
    ]
    assert breaches(RULE, night, held(night, 5, 12 * 60)) == [60]


@pytest.mark.parametrize(("out", "end", "dark"), [(21 * 60, 21 * 60, []), (21 * 60, 21 * 60 + 1, [1]),
                                                  (FIVE, EIGHT + 21, []), (FIVE, EIGHT + 22, [1])])  # fmt: skip
def test_lamps_that_go_out(out: int, end: int, dark: list[int]) -> None:
    """Lamps until 21:00 serve until then; lamps until 17:00 are of no use in Atlanta, where it is light until 20:21."""
    date, zone, place, _ = ATLANTA
    club = unlit(date, zone, place, lit=True, lights_out=out)
    assert breaches(RULE, club, held(club, 6, end - 60)) == dark


def test_the_lightest_of_the_opening_rows_it_lies_in() -> None:
    """A lit row from 20:00 on serves a session that lies in it, with its set-up, and none that begins before it."""
    date, zone, place, _ = ATLANTA
    club = unlit(date, zone, place)
    rows = (*club.pitches[0].openings, Opening(span=Span(EIGHT, 23 * 60)))
    club = club.model_copy(update={"pitches": (club.pitches[0].model_copy(update={"openings": rows}),)})
    assert breaches(RULE, club, held(club, 6, EIGHT)) == []
    assert breaches(RULE, club, held(club, 6, EIGHT - 15)) == [24]
    before = club.model_copy(update={"set_up": 15})
    assert breaches(RULE, before, held(before, 6, EIGHT)) == [39]
    after = club.model_copy(update={"pack_up": 15})
    assert breaches(RULE, after, held(after, 6, 22 * 60 - 15)) == []
    assert breaches(RULE, after, held(after, 6, 22 * 60 - 14)) == [60]


def test_lit_pitches_switch_it_off_and_unknown_places_have_no_light() -> None:
    assert RULE.off(a_club()) == "every pitch is lit"
    club = unlit(dt.date(2024, 6, 21), "Europe/Oslo", Site(id="Marsh Lane"))
    assert RULE.off(club) is None
    assert breaches(RULE, club, held(club, 4, 12 * 60)) == [60]
