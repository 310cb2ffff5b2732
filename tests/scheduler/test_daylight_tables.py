"""Civil dusk against printed and computed tables."""

import datetime as dt

import pytest

from scheduler.daylight import civil_dusk


def minute(text: str) -> int:
    hours, minutes = text.split(":")
    return int(hours) * 60 + int(minutes)


def test_almanac_atlanta() -> None:
    # USNO almanac print-out, Atlanta, 33.8 N 84.4 W, 6 Sep 2009, EDT: end of civil twilight 20:21.
    assert civil_dusk(33.8, -84.4, dt.date(2009, 9, 6), "America/New_York") == minute("20:21")


# Decorah, Iowa, September table citing USNO, CDT. The page prints neither year nor place; 2008 and 43.30 N 91.80 W
# are inferred: they reproduce every time of the table.
DECORAH = {1: "20:11", 5: "20:03", 10: "19:54", 15: "19:45", 20: "19:36", 25: "19:27", 30: "19:18"}


@pytest.mark.parametrize(("day", "ends"), DECORAH.items())
def test_almanac_decorah(day: int, ends: str) -> None:
    assert civil_dusk(43.30, -91.80, dt.date(2008, 9, day), "America/Chicago") == minute(ends)


# Computed with two independent routines that agree within 4 seconds, not published.
COMPUTED = [
    (51.4779, -0.0015, dt.date(2024, 3, 20), "Europe/London", "18:47"),
    (51.4779, -0.0015, dt.date(2024, 6, 20), "Europe/London", "22:08"),  # 21:08 at UTC+0, clocks one hour on
    (51.4779, -0.0015, dt.date(2024, 12, 21), "Europe/London", "16:34"),
    (53.35, -6.26, dt.date(2024, 10, 26), "Europe/Dublin", "18:40"),
    (53.35, -6.26, dt.date(2024, 10, 27), "Europe/Dublin", "17:38"),  # the clock change moved it by an hour
    (55.86, -4.25, dt.date(2024, 12, 21), "Europe/London", "16:32"),
    (-37.81, 144.96, dt.date(2024, 6, 21), "Australia/Melbourne", "17:38"),
]


@pytest.mark.parametrize(("latitude", "longitude", "date", "zone", "ends"), COMPUTED)
def test_computed_table(latitude: float, longitude: float, date: dt.date, zone: str, ends: str) -> None:
    got = civil_dusk(latitude, longitude, date, zone)
    assert got is not None
    assert abs(got - minute(ends)) <= 1  # printed times are good to about a minute


def test_polar_day_is_never_dark() -> None:
    # Tromso, 21 Jun 2024: the sun never sets.
    assert civil_dusk(69.65, 18.96, dt.date(2024, 6, 21), "Europe/Oslo") is None


def test_polar_night_is_never_light() -> None:
    # At 78.2 N on 21 Dec the noon Sun stands 90 - 78.2 - 23.4 = -11.6 degrees, below -6: no civil twilight at all.
    assert civil_dusk(78.2, 15.6, dt.date(2024, 12, 21), "Arctic/Longyearbyen") == 0


def test_local_evening_far_from_greenwich() -> None:
    # Worked example of NREL/TP-560-34302 (39.742476 N, 105.1786 W): the UT day 17 Oct 2003 holds the sunset of the
    # local 16th; local sunset on the 17th is 17:18:51 at UTC-7, so 18:19 on the clock (UTC-6). Civil dusk follows the
    # sunset by 26 to 30 minutes at this latitude and falls by one or two minutes a day.
    dusks = [civil_dusk(39.742476, -105.1786, dt.date(2003, 10, day), "America/Denver") or 0 for day in (16, 17)]
    assert minute("18:45") <= dusks[1] <= minute("18:49")
    assert 1 <= dusks[0] - dusks[1] <= 2


def test_dusk_after_midnight_is_end_of_day() -> None:
    # Oulu, 65 N: on 1 May dusk comes before midnight, by 10 May after it (counted as 24:00), from 20 May never.
    oulu = [civil_dusk(65.0, 25.5, dt.date(2024, 5, day), "Europe/Helsinki") for day in (1, 10, 25)]
    assert oulu[0] is not None
    assert minute("23:00") < oulu[0] < 1440
    assert oulu[1:] == [1440, None]


@pytest.mark.parametrize("longitude", [-179.9, -120.0, 0.0, 120.0, 179.9])
def test_every_longitude_has_an_evening(longitude: float) -> None:
    # On the equator at an equinox civil dusk comes about 24 minutes after sunset, six hours after solar noon. Etc/GMT
    # zones carry the sign the other way round; the nearest whole hour moves dusk by at most half an hour.
    zone = f"Etc/GMT{-round(longitude / 15):+d}"
    dusk = civil_dusk(0.0, longitude, dt.date(2024, 3, 20), zone)
    assert dusk is not None
    assert minute("18:00") <= dusk <= minute("19:10")
