"""Who comes to the sessions that are not over yet, by the club as it is known now; what is over stays as it was."""

from __future__ import annotations

import datetime as dt

from scheduler.club.club import Club
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.presence import can_come


def minute_of(now: dt.datetime | None, date: dt.date) -> int:
    """Minutes of a date passed at `now`: 0 where it is to come (or no time is given), 1440 where it is over."""
    if now is None or date > now.date():
        return 0
    return 24 * 60 if date < now.date() else now.hour * 60 + now.minute


def is_over(planned: PlannedSession, now: dt.datetime | None) -> bool:
    """Whether the session has ended."""
    return planned.end <= minute_of(now, planned.date)


def has_begun(planned: PlannedSession, now: dt.datetime | None) -> bool:
    """Whether the session has begun; then it can be neither moved nor cancelled."""
    return now is not None and planned.start < minute_of(now, planned.date)


def with_attendance(club: Club, plan: WeekPlan, now: dt.datetime | None = None) -> WeekPlan:
    """The plan with everybody who can come in each session to come, and nobody who cannot; places are left alone.

    A member of one of the session's own teams comes whenever free and not stood down; guests and players of second
    teams come where they came before, or where news says that they come after all.
    """
    sessions = tuple(planned if is_over(planned, now) else _attended(club, plan, planned) for planned in plan.sessions)
    return plan.model_copy(update={"sessions": sessions})


def _attended(club: Club, plan: WeekPlan, planned: PlannedSession) -> PlannedSession:
    if not club.has("session", planned.session):
        return planned
    down = {row.player for row in planned.stood_down}
    after_all = {news.about for news in plan.news if news.kind == "here" and news.date == planned.date}
    members = club.members(planned.session)
    come = []
    for player in members:
        free = bool(can_come(club, player.id, planned.date, planned.span))
        asked = player.id in planned.players or player.id in after_all
        if free and (asked or (club.is_own(player, planned.session) and player.id not in down)):
            come.append(player.id)
    was = [player for player in planned.players if player in come]
    players = (*was, *(player for player in come if player not in was))
    rows = tuple(row for row in planned.stood_down if can_come(club, row.player, planned.date, planned.span))
    if players == planned.players and rows == planned.stood_down:
        return planned
    order = {player.id: number for number, player in enumerate(club.players)}
    in_order = list(planned.players) == sorted(planned.players, key=lambda p: order.get(p, len(order)))
    if in_order:
        players = tuple(sorted(players, key=lambda p: order.get(p, len(order))))
    return planned.model_copy(update={"players": players, "stood_down": rows})
