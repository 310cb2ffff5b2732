"""Planned weeks for tests of replanning, made by the product's own rotation on sessions booked by hand."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache

from constraints import RULES
from scheduler.club.club import Club
from scheduler.outcome import Booked
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.replan.events import Options, as_reported, read_news
from scheduler.rotation.rotate import rotate
from tests.clubs import MONDAY, a_club


def booked_by_hand(club: Club, *starts: tuple[int, int]) -> WeekPlan:
    """Each session asked for at (day offset, minute) on the whole of the first pitch, with its teams' coaches."""
    pitch = club.pitches[0]
    sessions = [
        PlannedSession(
            session=ask.id,
            teams=ask.teams,
            date=MONDAY + dt.timedelta(days=day),
            start=start,
            end=start + ask.minutes,
            pitch=pitch.id,
            zones=tuple(range(1, pitch.zones + 1)),
            coaches=tuple(coach for team in ask.teams for coach in club.team(team).coaches),
            players=tuple(player.id for player in club.members(ask.id)),
            sides=("bibs", "own shirts"),
        )
        for ask, (day, start) in zip(club.sessions, starts, strict=True)
    ]
    sessions.sort(key=lambda one: (one.date, one.start))
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=tuple(sessions))


def rotated(club: Club, *starts: tuple[int, int]) -> WeekPlan:
    """A week with places: booked by hand, filled by the product."""
    done = rotate(club, booked_by_hand(club, *starts), RULES)
    assert isinstance(done, Booked)
    return done.plan


@lru_cache(maxsize=8)
def a_week(players: int = 16, keepers: int = 3, sessions: int = 1) -> tuple[Club, WeekPlan]:
    """One team's week, sessions two days apart at 18:00."""
    club = a_club(players=players, keepers=keepers, sessions=sessions)
    return club, rotated(club, *((2 * number, 18 * 60) for number in range(sessions)))


def told(club: Club, plan: WeekPlan, **options: object) -> tuple[Club, WeekPlan]:
    """The club and the plan after options of `replan` have been read: the new news put into both."""
    news = read_news(club, plan, Options(**options))
    known = plan.model_copy(update={"news": (*plan.news, *news)})
    return as_reported(club, plan.model_copy(update={"news": ()}), news), known
