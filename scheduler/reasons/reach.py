"""Where and when each session could be held at all, and how much ground and how many adults there are."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cached_property

from scheduler.club.club import Club
from scheduler.club.programme import SessionAsk
from scheduler.club.when import DAY_MINUTES, Span
from scheduler.plan.presence import away_spans
from scheduler.workbook.slots import dark_from, lawful_spans, taken, where_and_when

Stretch = tuple[dt.date, Span]
EVERY_HOUR = ((frozenset(range(7)), Span(0, DAY_MINUTES)),)


@dataclass(frozen=True)
class Reach:
    """One session and every (pitch, date, span) that opening hours, light, hirers and its own coaches leave to it."""

    ask: SessionAsk
    spots: tuple[tuple[str, dt.date, Span], ...]

    @cached_property
    def dates(self) -> frozenset[dt.date]:
        """The dates left."""
        return frozenset(date for _, date, _ in self.spots)

    @cached_property
    def pitches(self) -> frozenset[str]:
        """The pitches left."""
        return frozenset(pitch for pitch, _, _ in self.spots)

    @cached_property
    def window(self) -> Span:
        """From the earliest start to the latest end, over all dates."""
        return Span(min(span.start for *_, span in self.spots), max(span.end for *_, span in self.spots))


def reaches(club: Club) -> tuple[Reach, ...]:
    """The reach of every session that can be held somewhere, in the club's order."""
    found = []
    for ask in club.sessions:
        spans, _ = lawful_spans(club, ask, where_and_when(club, ask)[0])
        if spans:
            found.append(Reach(ask, tuple((slot.pitch.id, slot.date, span) for slot, span in spans)))
    return tuple(found)


def free_ground(club: Club, pitches: frozenset[str], dates: frozenset[dt.date], window: Span) -> tuple[int, ...]:
    """How long each zone of these pitches is free without a break in a window of these dates: open, light, not taken.

    A gap is added to each, since none is needed after the last session.
    """
    found: list[int] = []
    for pitch in club.pitches:
        if pitch.id not in pitches:
            continue
        for date in sorted(dates):
            rows = taken(club, pitch, date)
            for zone in range(1, pitch.zones + 1):
                free: set[int] = set()
                for opening in pitch.openings_on(date):
                    end = min(opening.span.end, dark_from(club, pitch, opening, date), window.end)
                    free.update(range(max(opening.span.start, window.start), end))
                for zones, span in rows:
                    if zone in zones:
                        free.difference_update(range(span.start, span.end))
                starts = sorted(minute for minute in free if minute - 1 not in free)
                ends = sorted(minute + 1 for minute in free if minute + 1 not in free)
                found += [end - start + club.gap for start, end in zip(starts, ends, strict=True)]
    return tuple(found)


def free_adults(club: Club, coaches: tuple[str, ...], dates: frozenset[dt.date], window: Span) -> int:
    """Minutes of these adults in a window of these dates, each available and not away, checks in date."""
    checked = not club.is_blank("Coaches.Checked until")
    total = 0
    for coach in coaches:
        until = club.coach(coach).checked_until
        for date in sorted(dates):
            if checked and (until is None or until < date):
                continue
            available = club.coach(coach).available
            rows = EVERY_HOUR if available is None else available
            hours = [span for days, span in rows if date.weekday() in days]
            inside = [both for span in hours if (both := span.cut(window)) is not None]
            minutes = {minute for span in inside for minute in range(span.start, span.end)}
            for away in away_spans(club, coach, date):
                minutes.difference_update(range(away.start, away.end))
            total += len(minutes)
    return total
