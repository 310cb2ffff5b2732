"""A player is in one session at a time."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.numbers import so_many
from scheduler.club.when import day_words
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import WeekPlan

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel


class OnePlaceAtOnce:
    """No player in two sessions that share a minute, absent players in none."""

    name = "one place at once"
    words = "A player comes to one session at a time, and absent players come to none."
    source = Source("nobody is in two places", basis=Basis.COMMON_PRACTICE)
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def narrow(self, club: Club, model: BookingModel) -> None:
        """A player of several sessions may have to miss one."""
        for squad in model.squads():
            if len(squad.sessions) > 1:
                model.children.may_be_left_out(squad)

    def post(self, club: Club, model: BookingModel) -> None:
        """The sessions that a squad attends in one way lie apart in time, unless nobody of it could be there."""
        for squad in model.squads():
            on = model.switch(
                self.name, squad.first, f"{club.called(squad.first)} and whoever plays the same is in one place at once"
            )
            for way in model.children.ways(squad):
                for one, other in combinations(way.sessions, 2):
                    if model.children.never_on_one_day(one, other, squad):
                        continue
                    there = [model.children.is_there(squad, session) for session in (one, other)]
                    if 0 in [here for here in there if isinstance(here, int)]:
                        continue
                    model.at_least(on, [model.apart(one, other, False)], 1, [way.used, *there])

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Every pair of sessions and everybody in both; everybody who is away and listed all the same."""
        for one, other in combinations(plan.sessions, 2):
            minutes = min(one.end, other.end) - max(one.start, other.start)
            if one.date != other.date or minutes <= 0:
                continue
            for player in one.players:
                if player in other.players:
                    text = f"{club.called(player)} is wanted by {one.session} and {other.session} on "
                    text += f"{day_words(one.date)} at once for {so_many(minutes, 'minute')}"
                    yield Violation(self.name, (player, one.session, other.session), text, minutes, "minutes")
        for planned in plan.sessions:
            for player in planned.players:
                away = [row.span for row in club.absences if player in row.who and row.occurs.on(planned.date)]
                minutes_there = sum(
                    1
                    for minute in range(planned.start, planned.end)
                    if not any(span.start <= minute < span.end for span in away)
                )
                if minutes_there == 0:
                    text = f"{club.called(player)} is listed for {planned.session}, but away the whole time"
                    yield Violation(self.name, (player, planned.session), text, planned.end - planned.start, "minutes")
