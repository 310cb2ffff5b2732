"""Fewest sessions moved: against every booking there is of a small club, and that places come before sessions."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache
from itertools import product

import pytest

from constraints import RULES
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.club.places import Opening, Pitch, Site
from scheduler.club.programme import Kind, PlanRow, Practice, Sizes
from scheduler.club.when import Span
from scheduler.outcome import Booked, Conflict
from scheduler.plan.plan import WeekPlan
from scheduler.replan.differences import differences
from scheduler.replan.disturbance import booking_breaches, disturbances
from scheduler.replan.replaced import Replaced
from scheduler.replan.replan import replan
from scheduler.week import plan_week
from tests.clubs import a_club
from tests.replans import told

GAME = Practice(id="Two v two", kind=Kind.GAME, attackers=Sizes(1, 2, 2), keepers=0, rep=10, rpe=5)


@lru_cache(maxsize=4)
def three_teams() -> tuple[Club, WeekPlan]:
    """Three teams of four, an hour each on one of two one-zone pitches, on the hour from 17:00 to 20:00."""
    club = a_club(
        teams=3,
        players=4,
        keepers=0,
        step=60,
        pitches=tuple(
            Pitch(id=name, site="Marsh Lane", zones=1, openings=(Opening(span=Span(17 * 60, 20 * 60)),))
            for name in ("North", "South")
        ),
        sites=(Site(id="Marsh Lane", latitude=53.35, longitude=-6.26),),
        practices=(GAME,),
        plans=(PlanRow(plan="Evening", block="1", practice=GAME.id, minutes=60, reps=2),),
        kit=(),
        blank=frozenset({"Kit"}),
    )
    asks = tuple(ask.model_copy(update={"minutes": 60, "zones": 1, "days": frozenset({0, 1})}) for ask in club.sessions)
    club = club.model_copy(update={"sessions": asks})
    outcome = plan_week(club, RULES, limit=10)
    assert isinstance(outcome, Booked)
    return club, outcome.plan


def fewest_moves_by_enumeration(club: Club, plan: WeekPlan) -> int | None:
    """Every session at every hour of both days on both pitches, with its own adults and everybody there."""
    spots = [
        (club.week + dt.timedelta(days=day), hour * 60, pitch)
        for day in (0, 1)
        for hour in (17, 18, 19)
        for pitch in ("North", "South")
    ]
    bare = [one.model_copy(update={"blocks": ()}) for one in plan.sessions]
    best: int | None = None
    for chosen in product(spots, repeat=len(bare)):
        moved = sum((one.date, one.start, one.pitch) != spot for one, spot in zip(bare, chosen, strict=True))
        if len(set(chosen)) < len(chosen) or (best is not None and moved >= best):
            continue  # two sessions in one spot, or no better than one that is lawful
        sessions = [
            one.model_copy(update={"date": date, "start": start, "end": start + 60, "pitch": pitch})
            for one, (date, start, pitch) in zip(bare, chosen, strict=True)
        ]
        sessions.sort(key=lambda one: (one.date, one.start, one.pitch, one.zones))
        if not booking_breaches(club, plan.model_copy(update={"sessions": tuple(sessions)}), RULES):
            best = moved
    return best


@pytest.mark.parametrize(
    "closures",
    [
        [("North", 0, None, None)],
        [("North", 0, None, None), ("South", 0, None, None)],
        [("North", 0, "17:00", "18:00"), ("South", 0, "17:00", "18:00"), ("North", 1, None, None)],
        [("North", 1, "18:00", None), ("South", 1, "17:00", "19:00"), ("South", 0, None, None)],
    ],
)
def test_fewest_moves_equal_enumeration(closures: list[tuple[str, int, str | None, str | None]]) -> None:
    club, plan = three_teams()
    now, known = club, plan
    for pitch, day, start, end in closures:
        date = (club.week + dt.timedelta(days=day)).isoformat()
        now, known = told(now, known, closed=[pitch], on=date, from_=start, until=end)
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Replaced)
    assert outcome.fewest_moves
    assert not outcome.plan.cancelled
    assert differences(now, known, outcome.plan).moved == fewest_moves_by_enumeration(now, known)


def test_where_nothing_is_left_the_fewest_sessions_are_called_off() -> None:
    """Only 17:00 to 18:00 on Tuesday on South is left: one of three sessions can be held, so two are not."""
    club, plan = three_teams()
    now, known = told(club, plan, closed=["North", "South"], on="2026-09-07")
    now, known = told(now, known, closed=["North"], on="2026-09-08")
    now, known = told(now, known, closed=["South"], on="2026-09-08", from_="18:00")
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert len(outcome.plan.sessions) == 1
    assert len(outcome.plan.cancelled) == 2
    assert all("is closed on" in row.why for row in outcome.plan.cancelled)


def test_a_session_called_off_stays_so_and_the_rest_is_left_alone() -> None:
    club, plan = three_teams()
    now, known = told(club, plan, closed=["North", "South"], on="2026-09-07")
    now, known = told(now, known, closed=["North"], on="2026-09-08")
    now, known = told(now, known, closed=["South"], on="2026-09-08", from_="18:00")
    first = replan(now, known, RULES, limit=10)
    assert isinstance(first, Booked)
    second = replan(now, first.plan, RULES, limit=10)
    assert isinstance(second, Booked)
    assert second.plan.cancelled == first.plan.cancelled
    assert second.plan.revision == first.plan.revision


def test_an_absent_coach_is_replaced_and_no_session_moves() -> None:
    club, plan = three_teams()
    session = plan.sessions[0]
    now, known = told(club, plan, absent=[session.coaches[1]], on=session.date.isoformat())
    assert [one.session for one in disturbances(now, known, RULES)] == [session.session]
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    changes = differences(now, known, outcome.plan)
    assert changes.moved == 0
    assert not changes.places
    assert [(row.session, row.left) for row in changes.adults] == [(session.session, (session.coaches[1],))]
    assert not audit(now, outcome.plan, RULES).breaches


def test_a_missing_child_moves_no_session_where_places_would_do() -> None:
    club, plan = three_teams()
    session = plan.sessions[1]
    now, known = told(club, plan, absent=[session.players[0]], on=session.date.isoformat())
    assert not disturbances(now, with_nobody_extra(known), RULES)
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert not differences(now, known, outcome.plan).sessions


def with_nobody_extra(plan: WeekPlan) -> WeekPlan:
    """The plan without those whom the news calls absent, so that only the bookings are judged."""
    gone = {news.about for news in plan.news}
    return plan.model_copy(
        update={
            "sessions": tuple(
                one.model_copy(update={"players": tuple(p for p in one.players if p not in gone)})
                for one in plan.sessions
            )
        }
    )


def test_what_has_begun_neither_moves_nor_is_called_off() -> None:
    """The pitch closes ten minutes into the session: nothing lawful is left, and that is said."""
    club, plan = three_teams()
    session = plan.sessions[0]
    now = dt.datetime.combine(session.date, dt.time(session.start // 60, 10))
    clock = now.strftime("%Y-%m-%d %H:%M")
    there, known = told(club, plan, closed=[session.pitch], on=session.date.isoformat(), now=clock)
    outcome = replan(there, known, RULES, now=now, limit=10)
    assert isinstance(outcome, Conflict)
