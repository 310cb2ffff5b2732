"""Children left out of a session because of another that day, once that other session is on another day or not held."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.booking.standdown import SESSION_THAT_DAY
from scheduler.plan.plan import PlannedSession, WeekPlan


def free_again(before: WeekPlan, after: WeekPlan) -> Iterator[tuple[str, str]]:
    """Each session and child left out of it who was at another that day in one plan and is at none in the other."""
    for planned in after.sessions:
        for row in planned.stood_down:
            if row.why == SESSION_THAT_DAY and row.player not in planned.players:
                were, are = (_others(plan, planned, row.player) for plan in (before, after))
                if were and not are:
                    yield planned.session, row.player


def back_in(planned: PlannedSession, player: str) -> PlannedSession:
    """The session with a child who had been left out."""
    rows = tuple(row for row in planned.stood_down if (row.player, row.why) != (player, SESSION_THAT_DAY))
    return planned.model_copy(update={"players": (*planned.players, player), "stood_down": rows})


def _others(plan: WeekPlan, planned: PlannedSession, player: str) -> list[str]:
    return [
        other.session
        for other in plan.sessions
        if other.session != planned.session and other.date == planned.date and player in other.players
    ]
