"""What a moment of a session costs by itself: adults who must be lent, children stood down for part of it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from scheduler.booking.free import Free
from scheduler.booking.slots import Slot
from scheduler.booking.squads import Squad, Stays, squads_of
from scheduler.club.club import Club
from scheduler.club.programme import SessionAsk
from scheduler.club.when import DAY_MINUTES, Span
from scheduler.plan.presence import away_spans

LEAST_ADULTS = 2
MINUTES = 100  # that a child is stood down weigh as much as one adult who must be lent
When = tuple[dt.date, int, str]


class Dislikes:
    """About what the booking would pay for a moment; the rules have the last word."""

    def __init__(self, club: Club) -> None:
        self._club, self._free, self._stays = club, Free(club), Stays(club)
        self._squads: dict[str, list[Squad]] = {ask.id: [] for ask in club.sessions}
        self._finish: dict[Squad, int] = {}
        for squad in squads_of(club):
            row = club.age_row(club.player(squad.first))
            self._finish[squad] = DAY_MINUTES if row is None or row.finish_by is None else row.finish_by
            for session in squad.sessions:
                self._squads[session].append(squad)

    def first(self, ask: SessionAsk) -> tuple[str, ...]:
        """The first coach of each of a session's teams."""
        return tuple(dict.fromkeys(coach for team in ask.teams for coach in self._club.team(team).coaches[:1]))

    def needed(self, ask: SessionAsk) -> int:
        """About how many adults a session takes, if its own teams come."""
        club = self._club
        ages = [club.limit_age(player) for player in club.members(ask.id) if player.team in ask.teams]
        row = next((row for row in club.ages if ages and row.from_age <= min(ages) <= row.to_age), None)
        ratio = None if row is None else row.players_per_adult
        return max(LEAST_ADULTS, ask.coaches_needed, 0 if ratio is None else -(-len(ages) // ratio))

    def of(self, ask: SessionAsk, times: Sequence[When]) -> list[float]:
        """The cost of each time: adults to be lent, first coaches missing, and minutes lost by children in hundreds."""
        club, needed = self._club, self.needed(ask)
        own = [club.coach(coach) for coach in club.own_coaches(ask.id)]
        first = [club.coach(coach) for coach in self.first(ask)]
        lost: dict[object, tuple[float, float]] = {}
        found = []
        for date, start, site in times:
            span = Span(start, start + ask.minutes)
            lacking = needed - sum(self._free(coach, date, span) for coach in own)
            cost = float(max(0, lacking) + sum(not self._free(coach, date, span) for coach in first))
            for squad in self._squads[ask.id]:
                key = (squad.first, date, site, start if away_spans(club, squad.first, date) else None)
                if key not in lost:
                    stay = self._stays.of(squad, ask.id, Slot(date, start, span.end, "", site, ()))
                    lost[key] = squad.size * (stay.can - stay.minutes) / MINUTES, squad.size * stay.minutes / MINUTES
                too_late = span.end > self._finish[squad]
                cost += sum(lost[key]) if too_late else lost[key][0]
            found.append(cost)
        return found
