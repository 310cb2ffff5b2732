"""Heat, cold and lightning against the published bands."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from scheduler.club.places import Weather
from scheduler.plan.plan import PlannedSession
from scheduler.welfare.weather import back_from, cold_advice, heat_band, minutes_allowed, weather_rule
from tests.clubs import MONDAY, a_club


def a_session(start: int = 1080, minutes: int = 75, date: dt.date = MONDAY) -> PlannedSession:
    return PlannedSession(
        session="Herons 1", teams=("Herons",), date=date, start=start, end=start + minutes, pitch="North",
        zones=(1, 2, 3), coaches=("coach Herons 1", "coach Herons 2"), players=(),
    )  # fmt: skip


def at(**given: Any) -> Weather:
    return Weather(date=MONDAY, site="Marsh Lane", **given)


@pytest.mark.parametrize(
    ("wbgt", "level"),
    [
        (82.0, "green"),
        (82.1, "yellow"),  # printed: green below 82.1, yellow from 82.2; a gap goes to the hotter band
        (82.15, "yellow"),
        (87.0, "yellow"),
        (87.05, "orange"),
        (87.1, "orange"),
        (90.0, "orange"),
        (90.1, "red"),
        (91.9, "red"),
        (92.0, "black"),  # printed: black above 92.0, red to 91.9; others stop at 92
        (93.0, "black"),
    ],
)
def test_heat_bands_of_category_3(wbgt: float, level: str) -> None:
    """U.S. Soccer, Recognize to Recover, WBGT in degrees F, regional category 3."""
    assert heat_band(wbgt).level == level


@pytest.mark.parametrize(("category", "wbgt", "level"), [(1, 86.2, "black"), (1, 84.1, "orange"), (2, 84.6, "yellow")])
def test_heat_bands_of_the_other_categories(category: int, wbgt: float, level: str) -> None:
    """Categories 1 and 2 from memory."""
    assert heat_band(wbgt, category).level == level


@pytest.mark.parametrize(("wbgt", "minutes"), [(91, 44), (89, 44), (85, 48), (80, 51), (95, 0)])
def test_minutes_of_play_an_hour(wbgt: float, minutes: int) -> None:
    """60 - 4 x 4 = 44 under red and orange, 60 - 3 x 4 = 48 yellow, 60 - 3 x 3 = 51 green."""
    assert heat_band(wbgt).play_an_hour == minutes


@pytest.mark.parametrize(
    ("chill", "word"),
    [
        (30.1, None),
        (30, "aware"),
        (25, "clothing"),
        (15.1, "clothing"),
        (15, "limiting"),
        (0.5, "limiting"),
        (0, "ending"),
    ],
)
def test_cold_bands(chill: float, word: str | None) -> None:
    """NATA 2008 (J Athl Train 43:640-658), wind chill in degrees F."""
    advice = cold_advice(chill)
    assert advice is None if word is None else advice is not None and word in advice


def test_each_new_thunder_resets_the_half_hour() -> None:
    """18:02 and 18:20: not before 18:50 (not 18:32)."""
    assert back_from([18 * 60 + 2, 18 * 60 + 20]) == 18 * 60 + 50
    assert back_from([]) is None


def firm(*rows: Weather, **session: int) -> list[int]:
    return [v.by for v in weather_rule(a_club(weather=rows), a_session(**session)) if v.firm]


def test_a_black_day_holds_no_session() -> None:
    assert firm(at(wbgt_f=92.0)) == [75]


@pytest.mark.parametrize(("minutes", "by"), [(60, []), (61, [1]), (90, [30])])
def test_a_red_day_holds_an_hour(minutes: int, by: list[int]) -> None:
    """A 90-minute session under red must be cut to 60: 30 minutes too long."""
    assert firm(at(wbgt_f=90.1), minutes=minutes) == by


@pytest.mark.parametrize(("minutes", "by"), [(120, []), (135, [15])])
def test_an_orange_day_holds_two_hours(minutes: int, by: list[int]) -> None:
    assert firm(at(wbgt_f=89.0), minutes=minutes) == by


@pytest.mark.parametrize(
    ("start", "minutes", "by"),
    [
        (18 * 60, 75, [50]),  # it would be on when the thunder is heard at 18:20
        (18 * 60 + 49, 60, [1]),
        (18 * 60 + 50, 60, []),  # half open: may start at 18:50
        (17 * 60, 62, []),  # over at 18:02, when the first thunder is heard
        (17 * 60, 63, [110]),  # one minute longer is on at 18:02; back at 18:50 is 110 minutes after 17:00
    ],
)
def test_thunder_keeps_a_session_off_for_half_an_hour(start: int, minutes: int, by: list[int]) -> None:
    assert firm(at(thunder_last=18 * 60 + 2), at(thunder_last=18 * 60 + 20), start=start, minutes=minutes) == by


@pytest.mark.parametrize(("category", "over"), [(1, [75]), (2, [15]), (3, [])])
def test_the_clubs_heat_category_holds(category: int, over: list[int]) -> None:
    """88 F: black in category 1 (above 86.2), red in 2 (87.8 to 89.7: an hour of the 75 minutes), orange in 3.

    Categories 1 and 2 from memory; the booking leaves out what the audit would find.
    """
    club = a_club(weather=(at(wbgt_f=88.0),), heat_category=category)
    assert [verdict.by for verdict in weather_rule(club, a_session()) if verdict.firm] == over
    allowed = minutes_allowed(club.weather, category)
    assert (allowed is not None and allowed < 75) is bool(over)


def test_cold_and_breaks_are_advice() -> None:
    verdicts = weather_rule(a_club(weather=(at(wbgt_f=85.0, wind_chill_f=10),)), a_session())
    assert [verdict.firm for verdict in verdicts] == [False, False]


def test_other_dates_and_sites_do_not_count() -> None:
    tuesday = Weather(date=MONDAY + dt.timedelta(days=1), site="Marsh Lane", wbgt_f=95)
    elsewhere = Weather(date=MONDAY, site="Hill", wbgt_f=95)
    assert weather_rule(a_club(weather=(tuesday, elsewhere)), a_session()) == ()
