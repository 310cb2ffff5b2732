"""Clock and calendar words: minutes of the day, spans, weekdays, and rows that recur.

Times are minutes after local midnight, intervals half open `[start, end)`, weeks start on Monday (weekday 0).
"""

from __future__ import annotations

import datetime as dt
import re
from typing import NamedTuple

from pydantic import BaseModel, ConfigDict, Field

DAY_NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
LONG_DAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
DAY_MINUTES = 24 * 60


class Span(NamedTuple):
    """Minutes of one day, half open."""

    start: int
    end: int

    @property
    def minutes(self) -> int:
        """Length in minutes, never below zero."""
        return max(0, self.end - self.start)

    def overlaps(self, other: Span) -> bool:
        """Whether the two share at least a minute."""
        return self.start < other.end and other.start < self.end

    def holds(self, other: Span) -> bool:
        """Whether the other lies wholly inside this one."""
        return self.start <= other.start and other.end <= self.end

    def cut(self, other: Span) -> Span | None:
        """What the two share, or None."""
        both = Span(max(self.start, other.start), min(self.end, other.end))
        return both if both.start < both.end else None

    def without(self, other: Span) -> tuple[Span, ...]:
        """What is left of this span when the other is taken out."""
        if not self.overlaps(other):
            return (self,)
        parts = (Span(self.start, min(self.end, other.start)), Span(max(self.start, other.end), self.end))
        return tuple(part for part in parts if part.start < part.end)

    def __str__(self) -> str:
        """As `18:00-19:15`."""
        return f"{hhmm(self.start)}-{hhmm(self.end)}"


def hhmm(minute: int) -> str:
    """Minutes after midnight as `HH:MM`; 1440 is `24:00`."""
    return f"{minute // 60:02d}:{minute % 60:02d}"


def parse_hhmm(text: str) -> int:
    """`HH:MM` (also `H:MM`, `HH.MM`) to minutes after midnight; `24:00` is 1440. ValueError otherwise."""
    match = re.fullmatch(r"\s*(\d{1,2})[:.h](\d{2})(?::00)?\s*", text)
    if not match:
        raise ValueError(f"{text} is not a time such as 18:00")
    minute = int(match[1]) * 60 + int(match[2])
    if int(match[2]) > 59 or minute > DAY_MINUTES:
        raise ValueError(f"{text} is not a time between 00:00 and 24:00")
    return minute


def monday_of(date: dt.date) -> dt.date:
    """The Monday of the week a date lies in."""
    return date - dt.timedelta(days=date.weekday())


def week_dates(monday: dt.date) -> tuple[dt.date, ...]:
    """The seven dates of a week."""
    return tuple(monday + dt.timedelta(days=offset) for offset in range(7))


def day_words(date: dt.date) -> str:
    """A date as people say it, the same in every locale: `Tue 1 Dec`."""
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    return f"{DAY_NAMES[date.weekday()]} {date.day} {months[date.month - 1]}"


class Occurs(BaseModel):
    """On which dates a row holds: one date, a range of dates, or weekdays of every (or every second) week."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    date: dt.date | None = Field(default=None, description="first (or only) date")
    until: dt.date | None = Field(default=None, description="last date, inclusive")
    days: frozenset[int] = Field(default=frozenset(), description="weekdays, Monday 0; empty: every day of the range")
    every: int = Field(default=1, ge=1, description="1: each week; 2: every other week, counted from `date`")

    def on(self, date: dt.date) -> bool:
        """Whether the row holds on this date."""
        if self.until is not None and date > self.until:
            return False
        if not self.days:
            if self.date is None:
                return self.until is not None
            return self.date <= date <= (self.until or self.date)
        if date.weekday() not in self.days or (self.date is not None and date < self.date):
            return False
        anchor = monday_of(self.date) if self.date else dt.date(2024, 1, 1)
        return ((monday_of(date) - anchor).days // 7) % self.every == 0
