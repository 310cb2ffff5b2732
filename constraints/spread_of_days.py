"""At least a day lies between two sessions of a team."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.when import day_words
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import WeekPlan

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel


class SpreadOfDays:
    """Costs one for each pair of a team's sessions on one day or on neighbouring days."""

    name = "spread of days"
    words = "Between two sessions of a team lies at least one day."
    source = Source("a day between two sessions", basis=Basis.COMMON_PRACTICE)
    firm = False

    def off(self, club: Club) -> str | None:
        """Off where no team has two sessions."""
        teams = [team for ask in club.sessions for team in ask.teams]
        return None if len(set(teams)) < len(teams) else "no team has two sessions"

    def post(self, club: Club, model: BookingModel) -> None:
        """Pay for each pair of days that lie too close."""
        for team in club.teams:
            sessions = [ask.id for ask in club.sessions if team.id in ask.teams]
            for one, other in combinations(sessions, 2):
                for (first, second), literal in model.day_pairs(one, other).items():
                    if abs((first - second).days) < 2:
                        text = f"{one} on {day_words(first)}, {other} on {day_words(second)}"
                        model.penalise(self.name, 1, literal, (team.id, one, other), text)

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Each team's dates in pairs."""
        for team in club.teams:
            for one, other in combinations([s for s in plan.sessions if team.id in s.teams], 2):
                if abs(one.date.toordinal() - other.date.toordinal()) <= 1:
                    text = f"{team.id}: {one.session} on {day_words(one.date)} and {other.session} on "
                    text += f"{day_words(other.date)}, no day between"
                    about = (team.id, one.session, other.session)
                    yield Violation(self.name, about, text, 1, "pairs of sessions", Severity.NOTE)
