"""Sessions booked by hand, weeks made of them, and what a rule finds in such a week."""

from __future__ import annotations

import datetime as dt
from typing import Any

from scheduler.club.club import Club
from scheduler.club.places import Opening
from scheduler.club.programme import Kind, PlanRow, Practice
from scheduler.club.when import Span
from scheduler.contract import Rule, Severity, Violation
from scheduler.plan.plan import PlannedSession, WeekPlan

FIVE, SIX, SEVEN = 17 * 60, 18 * 60, 19 * 60


def held(club: Club, day: int = 0, start: int = FIVE, number: int = 0, **changes: Any) -> PlannedSession:
    """A session of the club (by number) on a day of the week (0: Monday): the first pitch, its teams' own coaches, all
    members.
    """
    ask, pitch = club.sessions[number], club.pitches[0]
    base: dict[str, Any] = {
        "session": ask.id,
        "teams": ask.teams,
        "date": club.week + dt.timedelta(days=day),
        "start": start,
        "end": start + ask.minutes,
        "pitch": pitch.id,
        "zones": tuple(range(1, (ask.zones or pitch.zones) + 1)),
        "coaches": tuple(dict.fromkeys(coach for team in ask.teams for coach in club.team(team).coaches)),
        "players": tuple(player.id for player in club.members(ask.id)),
    }
    return PlannedSession(**{**base, **changes})


def week_of(club: Club, *sessions: PlannedSession) -> WeekPlan:
    """These sessions as the club's plan."""
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=sessions)


def found(rule: Rule, club: Club, *sessions: PlannedSession, severity: Severity = Severity.BREACH) -> list[Violation]:
    """What a rule finds of one severity in these sessions."""
    return [one for one in rule.audit(club, week_of(club, *sessions)) if one.severity is severity]


def breaches(rule: Rule, club: Club, *sessions: PlannedSession) -> list[int]:
    """The amounts of the breaches."""
    return [int(one.by) for one in found(rule, club, *sessions)]


def notes(rule: Rule, club: Club, *sessions: PlannedSession) -> list[int]:
    """The amounts of the wishes not met."""
    return [int(one.by) for one in found(rule, club, *sessions, severity=Severity.NOTE)]


def spoken(rule: Rule, club: Club, *sessions: PlannedSession) -> list[str]:
    """Every finding as the sentence it is read out in."""
    return [one.text for one in rule.audit(club, week_of(club, *sessions))]


def with_asks(club: Club, **changes: Any) -> Club:
    """The club with every session's row changed in this way."""
    return club.model_copy(update={"sessions": tuple(ask.model_copy(update=changes) for ask in club.sessions)})


def with_players(club: Club, *numbers: int, **changes: Any) -> Club:
    """The club with these players (by number; none given: all) changed in this way."""
    rows = tuple(
        player.model_copy(update=changes) if n in numbers or not numbers else player
        for n, player in enumerate(club.players)
    )
    return club.model_copy(update={"players": rows})


def with_coaches(club: Club, *numbers: int, **changes: Any) -> Club:
    """The club with these coaches (by number; none given: all) changed in this way."""
    rows = tuple(
        coach.model_copy(update=changes) if n in numbers or not numbers else coach
        for n, coach in enumerate(club.coaches)
    )
    return club.model_copy(update={"coaches": rows})


def with_practices(club: Club, *practices: Practice, minutes: int = 75) -> Club:
    """The club with a session plan of these practices, one block each, of so many minutes together."""
    each = minutes // len(practices)
    rows = tuple(
        PlanRow(plan="Evening", block=str(n), practice=practice.id, minutes=each)
        for n, practice in enumerate(practices, 1)
    )
    library = tuple(dict.fromkeys(practices))
    return club.model_copy(update={"practices": library, "plans": rows})


def together(name: str = "Warm-up", **changes: Any) -> Practice:
    """Something everybody does the same."""
    return Practice(id=name, kind=Kind.TOGETHER, **{"rpe": 4, **changes})


def hours(first: int, last: int, **changes: Any) -> tuple[Opening, ...]:
    """Open every day from one minute to another."""
    return (Opening(span=Span(first, last), **changes),)
