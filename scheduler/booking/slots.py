"""Where and when a session could be held: every start on the club's grid, every run of neighbouring zones."""

from __future__ import annotations

import datetime as dt
from typing import NamedTuple

from scheduler.club.club import Club
from scheduler.club.places import Pitch
from scheduler.club.programme import SessionAsk
from scheduler.club.when import DAY_MINUTES, Span
from scheduler.plan.plan import PlannedSession


class Slot(NamedTuple):
    """One way to hold a session. Times are minutes of the day, `zones` a run of neighbours on one pitch."""

    date: dt.date
    start: int
    end: int
    pitch: str
    site: str
    zones: tuple[int, ...]

    @property
    def span(self) -> Span:
        """When the players are there, set-up and pack-up not included."""
        return Span(self.start, self.end)

    @property
    def moment(self) -> Moment:
        """Day, start and site: all that matters to people."""
        return Moment(self.date, self.start, self.site)


class Moment(NamedTuple):
    """When, and at which site, a session is held."""

    date: dt.date
    start: int
    site: str


def runs(pitch: Pitch, zones: int | None) -> tuple[tuple[int, ...], ...]:
    """Every run of so many neighbouring zones of a pitch, from zone 1 up; None: all of it."""
    length = pitch.zones if zones is None else zones
    return tuple(tuple(range(first, first + length)) for first in range(1, pitch.zones - length + 2))


def _hours(club: Club) -> Span:
    """The widest opening hours of any pitch, one step wider so that a slot can also be too early or too late."""
    spans = [opening.span for pitch in club.pitches for opening in pitch.openings]
    first = min((span.start for span in spans), default=0) - club.step
    last = max((span.end for span in spans), default=DAY_MINUTES) + club.step
    return Span(max(0, first), min(DAY_MINUTES, last))


def slots_of(club: Club, ask: SessionAsk) -> list[Slot]:
    """Every slot of a session in order of date, start, pitch and zones, whether or not any rule allows it."""
    hours = _hours(club)
    first = -(-hours.start // club.step) * club.step
    places = [(pitch.id, pitch.site, zones) for pitch in club.pitches for zones in runs(pitch, ask.zones)]
    return [
        Slot(date, start, start + ask.minutes, pitch, site, zones)
        for date in club.dates
        for start in range(first, hours.end - ask.minutes + 1, club.step)
        for pitch, site, zones in places
    ]


def slot_of(club: Club, planned: PlannedSession) -> Slot:
    """The slot a planned session is held in."""
    site = club.pitch(planned.pitch).site
    return Slot(planned.date, planned.start, planned.end, planned.pitch, site, planned.zones)


def planned_at(ask: SessionAsk, slot: Slot, coaches: tuple[str, ...] = (), players: tuple[str, ...] = ()
               ) -> PlannedSession:  # fmt: skip
    """A planned session in a slot, without blocks and stand-downs."""
    return PlannedSession(
        session=ask.id,
        teams=ask.teams,
        date=slot.date,
        start=slot.start,
        end=slot.end,
        pitch=slot.pitch,
        zones=slot.zones,
        coaches=coaches,
        players=players,
    )


def travel(club: Club, one: str, other: str) -> int:
    """Minutes between two sites: none at one site, else the longer of what the two sites say."""
    if one == other:
        return 0
    return max(club.site(one).minutes_between, club.site(other).minutes_between)
