"""When adults are free to come to a session, worked out once a booking."""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable

from scheduler.booking.slots import Slot
from scheduler.club.club import Club
from scheduler.club.people import Coach
from scheduler.club.when import Span
from scheduler.plan.presence import away_spans

CHECKED = "Coaches.Checked until"


class Free:
    """Whether an adult is available for the whole of a span, not absent, and checked where checks are kept."""

    def __init__(self, club: Club) -> None:
        self._club, self._checks = club, not club.is_blank(CHECKED)
        self._known: dict[tuple[str, dt.date, Span], bool] = {}
        self._away: dict[str, tuple[int, ...]] = {}
        for number, row in enumerate(club.absences):
            for who in row.who:
                self._away[who] = (*self._away.get(who, ()), number)

    def __call__(self, coach: Coach, date: dt.date, span: Span) -> bool:
        """Whether the adult is free for a span of a date."""
        key = (coach.id, date, span)
        if key not in self._known:
            self._known[key] = self._is(coach, date, span)
        return self._known[key]

    def hangs_on(self, coach: Coach) -> Hashable:
        """All that it hangs on when an adult is free: two adults with the same are free at the same times."""
        return coach.available, coach.checked_until if self._checks else None, self._away.get(coach.id)

    def _is(self, coach: Coach, date: dt.date, span: Span) -> bool:
        if self._checks and (coach.checked_until is None or coach.checked_until < date):
            return False
        away = any(gone.overlaps(span) for gone in away_spans(self._club, coach.id, date))
        return coach.available_for(date, span) and not away


class NobodyFree:
    """Whether in a slot of one session none of some adults is free."""

    def __init__(self, free: Free, coaches: list[Coach]) -> None:
        self._free, self._coaches = free, coaches
        self._known: dict[tuple[dt.date, int], bool] = {}

    def __call__(self, slot: Slot) -> bool:
        """Whether nobody could be at a session in this slot."""
        key = (slot.date, slot.start)
        if key not in self._known:
            self._known[key] = not any(self._free(coach, slot.date, slot.span) for coach in self._coaches)
        return self._known[key]
