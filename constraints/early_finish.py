"""Children are home well before the latest hour their age allows, where another slot is to be had."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.programme import SessionAsk
from scheduler.club.when import hhmm
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import WeekPlan

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot

MINUTES = 60


class EarlyFinish:
    """Costs one for each session that ends in the last hour before its youngest children should have finished."""

    name = "early finish"
    words = "A session ends an hour or more before the Finish by of the youngest of its own teams."
    source = Source("the younger first, the older later in the evening", basis=Basis.COMMON_PRACTICE)
    firm = False

    def off(self, club: Club) -> str | None:
        """Off where no age row gives a time to finish by."""
        return None if any(row.finish_by is not None for row in club.ages) else "no age row gives a Finish by"

    def post(self, club: Club, model: BookingModel) -> None:
        """Pay for each session that ends late for its youngest."""
        for ask in club.sessions:
            by = _finish_by(club, ask)
            late = 0 if by is None else model.is_where(ask.id, _After(by - MINUTES))
            if not isinstance(late, int) or late:
                model.penalise(self.name, 1, late, (ask.id,), f"{ask.id} ends late for its youngest")

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Each session's end against the earliest Finish by among the children of its own teams."""
        for planned in plan.sessions:
            times = [
                row.finish_by
                for player in club.players
                if player.team in planned.teams
                and (row := club.age_row(player)) is not None
                and row.finish_by is not None
            ]
            if times and planned.end + MINUTES > min(times):
                late = f"less than an hour before {hhmm(min(times))}, the Finish by of its youngest"
                text = f"{planned.session} ends at {hhmm(planned.end)}, {late}"
                yield Violation(self.name, (planned.session,), text, 1, "sessions", Severity.NOTE)


def _finish_by(club: Club, ask: SessionAsk) -> int | None:
    """The earliest Finish by of the children of the session's own teams."""
    rows = [club.age_row(player) for player in club.players if player.team in ask.teams]
    return min((row.finish_by for row in rows if row is not None and row.finish_by is not None), default=None)


class _After:
    """Whether a slot ends after this minute."""

    def __init__(self, minute: int) -> None:
        self._minute = minute

    def __call__(self, slot: Slot) -> bool:
        return slot.end > self._minute
