"""Sites, pitches, outside bookings and kit."""

from __future__ import annotations

import datetime as dt

from pydantic import BaseModel, ConfigDict, Field

from scheduler.club.when import Occurs, Span


class Site(BaseModel):
    """A place with one or more pitches."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    latitude: float | None = Field(default=None, ge=-90, le=90, description="degrees, north positive")
    longitude: float | None = Field(default=None, ge=-180, le=180, description="degrees, east positive")
    minutes_between: int = Field(default=0, ge=0, description="travel minutes to any other site")
    help_address: str = ""
    defibrillator: str = ""


class Opening(BaseModel):
    """When a pitch is open on some weekdays, and until when it is lit."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    days: frozenset[int] = Field(default=frozenset(range(7)), description="weekdays, Monday 0")
    span: Span = Field(description="opening hours, minutes after midnight")
    lit: bool = True
    lights_out: int | None = Field(default=None, description="minute the lights go out; None: lit to closing time")


class Pitch(BaseModel):
    """A marked field of equal strips (zones 1 to `zones`) along its length."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    site: str
    zones: int = Field(default=3, ge=1, le=6)
    length: float | None = Field(default=None, gt=0, description="metres")
    width: float | None = Field(default=None, gt=0, description="metres")
    surface: str = ""
    openings: tuple[Opening, ...]
    quality: int | None = Field(default=None, ge=1, le=5)
    lies_on: str | None = Field(default=None, description="another pitch: booking one blocks the other")
    goals_at: str = ""

    def openings_on(self, date: dt.date) -> tuple[Opening, ...]:
        """The opening rows of one date."""
        return tuple(opening for opening in self.openings if date.weekday() in opening.days)

    def zone_area(self) -> float | None:
        """Square metres of one zone, or None where the size is not given."""
        if self.length is None or self.width is None:
            return None
        return self.length * self.width / self.zones


class Booked(BaseModel):
    """Something that keeps the club off some zones: hirers, maintenance, a closure."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    pitch: str
    zones: tuple[int, ...] = Field(default=(), description="empty: the whole pitch")
    occurs: Occurs
    span: Span
    by: str = ""


class KitItem(BaseModel):
    """How many of one item lie at one site."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    item: str
    site: str
    count: int = Field(ge=0)
    missing: tuple[tuple[dt.date, int], ...] = Field(default=(), description="so many fewer on single dates")

    def count_on(self, date: dt.date) -> int:
        """How many are at hand on one date."""
        return max(0, self.count - sum(number for day, number in self.missing if day == date))


class Weather(BaseModel):
    """What was measured or forecast for one site on one date."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    date: dt.date
    site: str
    wbgt_f: float | None = Field(default=None, description="wet bulb globe temperature, degrees Fahrenheit")
    wind_chill_f: float | None = Field(default=None, description="wind chill, degrees Fahrenheit")
    thunder_last: int | None = Field(default=None, description="minute of the day the last thunder was heard")
