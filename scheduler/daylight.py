"""Civil dusk: until when an unlit pitch can be used.

Civil twilight ends when the centre of the Sun is 6 degrees below the horizon; printed almanacs round to the minute and
expect differences of about a minute from what is seen (United States Naval Observatory, HM Nautical Almanac Office).
"""

from __future__ import annotations

import datetime as dt
from functools import lru_cache
from zoneinfo import ZoneInfo

CIVIL_DEGREES = 6.0
DAY_MINUTES = 24 * 60
NEVER_LIGHT = 0


def _solar_noon(longitude: float, date: dt.date, zone: ZoneInfo) -> dt.datetime:
    """Mean solar noon (UTC, to about a quarter of an hour) that falls on a local date."""
    mean = dt.datetime(date.year, date.month, date.day, 12, tzinfo=dt.UTC) - dt.timedelta(minutes=longitude * 4)
    choices = (mean + dt.timedelta(days=offset) for offset in (0, -1, 1))
    return next((noon for noon in choices if noon.astimezone(zone).date() == date), mean)


@lru_cache(maxsize=4096)
def civil_dusk(latitude: float, longitude: float, date: dt.date, timezone: str) -> int | None:
    """Minute of the local day at which civil twilight ends, rounded to the minute.

    None: it never gets dark that evening (polar day); 0: it never gets light; 1440: dark only after midnight.
    `latitude` and `longitude` in degrees, north and east positive; `timezone` an IANA name (KeyError when unknown).
    """
    from astral import Observer, SunDirection
    from astral.sun import elevation, time_of_transit

    zone = ZoneInfo(timezone)
    noon = _solar_noon(longitude, date, zone)
    observer = Observer(latitude=latitude, longitude=longitude, elevation=0.0)
    # The library works by UTC day; far from Greenwich the local evening may belong to the UTC day before or after.
    for offset in (0, -1, 1):
        day = noon.date() + dt.timedelta(days=offset)
        try:  # twilight is defined by the true, not the refracted Sun
            at = time_of_transit(observer, day, 90 + CIVIL_DEGREES, SunDirection.SETTING, with_refraction=False)
        except ValueError:
            continue
        if dt.timedelta(minutes=-20) < at - noon <= dt.timedelta(hours=23, minutes=40):
            local = (at + dt.timedelta(seconds=30)).astimezone(zone)
            days_on = (local.date() - date).days
            return DAY_MINUTES if days_on > 0 else local.hour * 60 + local.minute
    always_light = elevation(observer, noon, with_refraction=False) > -CIVIL_DEGREES
    return None if always_light else NEVER_LIGHT
