"""A session is held on one of the days it wishes for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.when import DAY_NAMES, day_words
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import WeekPlan

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel


class WishedDays:
    """Costs one for each session on another day."""

    name = "wished days"
    words = "A session is held on one of its wished days."
    source = Source("the club's own Sessions sheet", basis=Basis.OURS)
    firm = False

    def off(self, club: Club) -> str | None:
        """Off where no session wishes for a day."""
        return None if any(ask.wished_days for ask in club.sessions) else "no session has a wished day"

    def post(self, club: Club, model: BookingModel) -> None:
        """Pay for each session on a day that was not wished for."""
        for ask in club.sessions:
            for date in club.dates:
                if ask.wished_days and date.weekday() not in ask.wished_days:
                    held = model.on_day(ask.id, date)
                    if not isinstance(held, int) or held:
                        model.penalise(self.name, 1, held, (ask.id,), f"{ask.id} on {day_words(date)}")

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Each session's date against its wish."""
        for planned in plan.sessions:
            wished = club.session(planned.session).wished_days
            if wished and planned.date.weekday() not in wished:
                days = ", ".join(DAY_NAMES[day] for day in sorted(wished))
                text = f"{planned.session} is on {day_words(planned.date)}, wished for {days}"
                yield Violation(self.name, (planned.session,), text, 1, "sessions", Severity.NOTE)
