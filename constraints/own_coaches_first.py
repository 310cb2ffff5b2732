"""A team is led by its own first coach, and further adults are its own."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import WeekPlan

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel


class OwnCoachesFirst:
    """Costs one for each adult from elsewhere, and one for each team whose first coach is not there."""

    name = "own coaches first"
    words = "A session's adults are its teams' own, and each team's first coach is there."
    source = Source("children know their own coach", basis=Basis.COMMON_PRACTICE)
    firm = False

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def post(self, club: Club, model: BookingModel) -> None:
        """Pay for strangers and for leaders who are missing."""
        for ask in club.sessions:
            own = model.adults.own(ask.id)
            for coach, literal in model.adults.possible(ask.id).items():
                if coach not in own:
                    text = f"{club.called(coach)} of another team helps at {ask.id}"
                    model.penalise(self.name, 1, literal, (ask.id, coach), text)
            for team in ask.teams:
                first = next(iter(club.team(team).coaches), None)
                if first is not None:
                    text = f"{club.called(first)} cannot be at {ask.id}"
                    leader = model.adults.at(ask.id, first)  # None where a replan keeps other adults
                    missing = model.held(ask.id) if leader is None else model.held(ask.id) - leader
                    model.penalise(self.name, 1, missing, (ask.id, first), text)

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """The adults of each session against the Teams sheet."""
        for planned in plan.sessions:
            own = {coach for team in planned.teams for coach in club.team(team).coaches}
            for coach in planned.coaches:
                if coach not in own:
                    text = f"{club.called(coach)} of another team helps at {planned.session}"
                    yield Violation(self.name, (planned.session, coach), text, 1, "adults", Severity.NOTE)
            for team in planned.teams:
                for first in club.team(team).coaches[:1]:
                    if first not in planned.coaches:
                        text = f"{club.called(first)}, who leads {team}, is not at {planned.session}"
                        yield Violation(self.name, (planned.session, first), text, 1, "adults", Severity.NOTE)
