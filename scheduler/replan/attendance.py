"""Who comes to the sessions that are not over yet, by the club as it is known now; what is over stays as it was."""

from __future__ import annotations

import datetime as dt

from scheduler.booking.standdown import MATCH_THAT_DAY, REST, SESSION_THAT_DAY, WEEK_LIMIT, joined, stand_downs
from scheduler.club.club import Club
from scheduler.club.when import DAY_MINUTES
from scheduler.plan.plan import PlannedSession, StoodDown, WeekPlan
from scheduler.plan.presence import can_come, cut_out, minutes_there

CHOSEN = (
    SESSION_THAT_DAY,
    MATCH_THAT_DAY,
    REST,
    WEEK_LIMIT,
)  # what the booking chose, not what follows from one session alone


def minute_of(now: dt.datetime | None, date: dt.date) -> int:
    """Minutes of a date passed at `now`: 0 where it is to come (or no time is given), 1440 where it is over."""
    if now is None or date > now.date():
        return 0
    return DAY_MINUTES if date < now.date() else now.hour * 60 + now.minute


def is_over(planned: PlannedSession, now: dt.datetime | None) -> bool:
    """Whether the session has ended."""
    return planned.end <= minute_of(now, planned.date)


def has_begun(planned: PlannedSession, now: dt.datetime | None) -> bool:
    """Whether the session has begun; then it can be neither moved nor cancelled."""
    return now is not None and planned.start < minute_of(now, planned.date)


def with_attendance(club: Club, plan: WeekPlan, now: dt.datetime | None = None) -> WeekPlan:
    """The plan with everybody who can come in each session to come, and nobody who cannot; places are left alone.

    A member of one of the session's own teams comes whenever free and not stood down; guests and players of second
    teams come where they came before, or where news says that they come after all. Stand-downs that follow from a
    child's limits are worked out again for those whose presence changed, the booking's own choices are kept.
    """
    sessions = [planned if _left_alone(club, planned, now) else _come(club, plan, planned) for planned in plan.sessions]
    known = [planned for planned in sessions if club.has("session", planned.session)]
    by_limits = {one.session: rows for one, rows in zip(known, stand_downs(club, known), strict=True)}
    done = tuple(
        planned if _left_alone(club, planned, now) else _stood_down(club, plan, planned, by_limits[planned.session])
        for planned in sessions
    )
    return plan.model_copy(update={"sessions": done})


def _left_alone(club: Club, planned: PlannedSession, now: dt.datetime | None) -> bool:
    return is_over(planned, now) or not club.has("session", planned.session)


def _told(plan: WeekPlan, planned: PlannedSession, *kinds: str) -> dict[str, None]:
    """Whom the news of the session's day is about."""
    return dict.fromkeys(news.about for news in plan.news if news.kind in kinds and news.date == planned.date)


def _come(club: Club, plan: WeekPlan, planned: PlannedSession) -> PlannedSession:
    down = {row.player for row in planned.stood_down}
    after_all = _told(plan, planned, "here")
    come = [
        player.id
        for player in club.members(planned.session)
        if can_come(club, player.id, planned.date, planned.span)
        and (
            player.id in planned.players
            or player.id in after_all
            or (club.is_own(player, planned.session) and player.id not in down)
        )
    ]
    players = (*(p for p in planned.players if p in come), *(p for p in come if p not in planned.players))
    order = {player.id: number for number, player in enumerate(club.players)}
    places = [order.get(player, len(order)) for player in planned.players]
    if places == sorted(places):
        players = tuple(sorted(players, key=lambda player: order.get(player, len(order))))
    return planned.model_copy(update={"players": players})


def _stood_down(
    club: Club, plan: WeekPlan, planned: PlannedSession, by_limits: tuple[StoodDown, ...]
) -> PlannedSession:
    told, after_all = _told(plan, planned, "absent", "here"), _told(plan, planned, "here")
    before = plan.by_session[planned.session]
    kept: list[StoodDown] = []
    for player in dict.fromkeys([*(row.player for row in planned.stood_down), *planned.players]):
        old = [row for row in planned.stood_down if row.player == player]
        new = [row for row in by_limits if row.player == player]
        if not club.has("player", player) or not can_come(club, player, planned.date, planned.span):
            continue
        if player not in planned.players:
            kept += old
        elif player in told or player not in before.players:
            chosen = [] if player in after_all else [row for row in old if row.why in CHOSEN]
            kept += joined([*new, *chosen])
        elif all(not cut_out([row.span], [one.span for one in old]) for row in new):
            kept += old
        else:
            kept += joined([*old, *new])
    order = {row: number for number, row in enumerate(planned.stood_down)}
    rows = tuple(sorted(kept, key=lambda row: order.get(row, len(order))))
    now = planned.model_copy(update={"stood_down": rows})
    there = tuple(player for player in now.players if minutes_there(club, now, player))
    return now.model_copy(update={"players": there})
