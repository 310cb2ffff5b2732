"""Children who stand down though counting says none must: for want of kit that others at the site use meanwhile."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from constraints import RULES
from scheduler.booking.build import build_booking, narrowed_booking
from scheduler.booking.knots import MINUTES, Knots
from scheduler.booking.nearby import Nearby
from scheduler.booking.slots import Slot
from scheduler.booking.stages import Stages
from scheduler.booking.unmet import unmet_of
from scheduler.booking.untie import beside, untied
from scheduler.club.club import Club
from scheduler.club.people import Elsewhere
from scheduler.club.places import Opening
from scheduler.club.when import Span
from scheduler.plan.plan import WeekPlan
from scheduler.progress import silent
from tests.clubs import a_club
from tests.scheduler.test_booking_draft import breaches
from tests.speed.clubs import a_town, known_week

BOTH_ON_MONDAY = {"Herons 1": (0, "A"), "Kites 1": (0, "B"), "Herons 2": (2, "A"), "Kites 2": (4, "A")}


def one_ball_short() -> Club:
    """Two teams of 14 with two sessions each, 27 balls; two pitches on each of four days."""
    club = a_club(teams=2, players=14, sessions=2)
    opening = Opening(days=frozenset({0, 2, 4, 6}), span=Span(17 * 60, 18 * 60 + 15))
    pitches = tuple(club.pitches[0].model_copy(update={"id": name, "openings": (opening,)}) for name in "AB")
    kit = tuple(item.model_copy(update={"count": 27 if item.item == "ball size 4" else 99}) for item in club.kit)
    return club.model_copy(update={"pitches": pitches, "kit": kit})


def booked_at(club: Club, where: dict[str, tuple[int, str]]) -> WeekPlan:
    """The best week with each session on a day and a pitch."""
    slots = {
        session: [slot for slot in of if ((slot.date - club.week).days, slot.pitch) == where[session]]
        for session, of in narrowed_booking(club, RULES).narrowed.items()
    }
    stages = Stages(build_booking(club, RULES, slots=slots), 10.0, tidy=False)
    stages.run()
    assert stages.plan is not None
    return stages.plan


def lost(club: Club, plan: WeekPlan) -> float:
    return sum(row.by for row in unmet_of(club, plan, RULES) if row.wish == MINUTES)


@pytest.mark.parametrize("looks", [True, False])
def test_a_child_for_whom_there_was_no_ball_comes_back(looks: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """No child is in two teams, so nobody looks at its sessions unless a week is looked at."""
    club = one_ball_short()
    week, narrowed = booked_at(club, BOTH_ON_MONDAY), narrowed_booking(club, RULES)
    assert (breaches(club, week), lost(club, week)) == ([], 75)
    if not looks:
        monkeypatch.setattr(Knots, "look_after", lambda *_: None)
    knots = Knots(narrowed, RULES, 60.0)
    assert (knots.known, knots.plain) == ([], [])
    knots.look_after(week)
    near = Nearby(club, RULES, narrowed.narrowed, knots.sessions)
    plan, spent, stopped = untied(near, club, RULES, week, knots, 5.0, silent)
    assert not stopped
    assert (breaches(club, plan), lost(club, plan)) == ([], 0 if looks else 75)
    assert (spent > 0) is looks
    assert (plan == week) is not looks


def test_a_week_is_looked_at_once_and_one_without_a_loss_not_at_all() -> None:
    club = one_ball_short()
    week = booked_at(club, BOTH_ON_MONDAY)
    [short] = {row.about[1] for row in unmet_of(club, week, RULES) if row.wish == MINUTES}
    team = club.session(short).teams[0]
    knots = Knots(narrowed_booking(club, RULES), RULES, 60.0)
    knots.look_after(booked_at(club, BOTH_ON_MONDAY | {"Herons 1": (6, "B")}))
    assert (knots.known, knots.plain) == ([], [])
    for _ in range(2):
        knots.look_after(week)
        assert knots.known == []
        [knot] = knots.plain
        assert knot.sessions == (f"{team} 1", f"{team} 2")
        assert knot.players == {player.id for player in club.players if player.team == team}
        assert knot[3:] == (0, 0, 0)


def test_a_child_who_must_lose_something_and_loses_more_is_looked_at() -> None:
    """Fifty-five minutes of the week are left for 75: 20 are lost whatever the slots, all of them beside the others."""
    club = one_ball_short()
    club = club.model_copy(update={"sessions": tuple(ask for ask in club.sessions if ask.id[-1] == "1")})
    child = [one.id for one in club.players if one.team == "Kites"][7]  # no keeper: of these both are needed
    row = club.age_row(club.player(child))
    assert row is not None
    assert row.week_minutes is not None
    much = Elsewhere(player=child, date=club.week + dt.timedelta(days=1), minutes=row.week_minutes - 55)
    club = club.model_copy(update={"elsewhere": (much,)})
    for day, minutes, looked_at in ((2, 20, []), (0, 75, [("Kites 1",)])):
        week = booked_at(club, BOTH_ON_MONDAY | {"Kites 1": (day, "B")})
        assert {(row.about[0], row.by) for row in unmet_of(club, week, RULES) if row.wish == MINUTES} == {
            (child, minutes)
        }
        knots = Knots(narrowed_booking(club, RULES), RULES, 60.0)
        knots.look_after(week)
        assert [knot.sessions for knot in (*knots.known, *knots.plain)] == looked_at
        assert [knot.minutes for knot in (*knots.known, *knots.plain)] == [20] * len(looked_at)


def test_what_breaks_a_rule_is_not_gone_on_from(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first proposal has the child back and no ball for it; the next is looked for from the week as it was."""
    club = one_ball_short()
    week, narrowed = booked_at(club, BOTH_ON_MONDAY), narrowed_booking(club, RULES)
    knots, near = Knots(narrowed, RULES, 60.0), Nearby(club, RULES, narrowed.narrowed)
    knots.look_after(week)
    rebooked, asked = near.rebooked, list[tuple[WeekPlan, set[str]]]()
    members = {ask.id: tuple(player.id for player in club.members(ask.id)) for ask in club.sessions}
    everybody = week.model_copy(
        update={
            "sessions": tuple(
                one.model_copy(update={"players": members[one.session], "stood_down": ()}) for one in week.sessions
            )
        }
    )

    def proposed(plan: WeekPlan, teams: set[str], **more: Any) -> tuple[WeekPlan | None, float]:
        asked.append((plan, more["beside"]))
        return (everybody, 0.1) if len(asked) == 1 else rebooked(plan, teams, **more)

    monkeypatch.setattr(near, "rebooked", proposed)
    plan, _, _ = untied(near, club, RULES, week, knots, 5.0, silent)
    assert breaches(club, everybody) != []
    assert (breaches(club, plan), lost(club, plan)) == ([], 0)
    assert asked == [(week, beside(club, week, knots.plain[0].sessions))] * 2
    assert asked[0][1]


def test_whoever_uses_kit_meanwhile_is_in_the_model_too() -> None:
    """On the same slots: without the other team there seems to be a ball more."""
    club = one_ball_short()
    week = booked_at(club, BOTH_ON_MONDAY)
    narrowed = narrowed_booking(club, RULES)
    near, knots = Nearby(club, RULES, narrowed.narrowed), Knots(narrowed, RULES, 60.0)
    [short] = {row.about[1] for row in unmet_of(club, week, RULES) if row.wish == MINUTES}
    [other] = beside(club, week, (short,))
    assert {short, other} == {"Herons 1", "Kites 1"}

    def nowhere_else(session: str, slot: Slot) -> bool:
        return False

    teams = set(club.session(short).teams)
    alone, _ = near.rebooked(week, teams, nowhere_else, rules=knots.rules)
    assert alone is not None
    assert lost(club, alone) == 0
    assert not near.is_lawful(alone)
    both, _ = near.rebooked(week, teams, nowhere_else, rules=knots.rules, beside={other})
    assert both is None
    held = {one.session: one for one in week.sessions}
    assert {one.session for one in alone.sessions if one != held[one.session]} == {short}


def test_others_at_a_site_are_those_there_for_a_minute_at_least() -> None:
    town = a_town(12, 0.9, 3, 1)
    club, week = town.club, known_week(town)
    found = some = 0
    for team in club.teams:
        mine = [one for one in week.sessions if team.id in one.teams]
        minutes = {
            (one.date, club.pitch(one.pitch).site, minute) for one in mine for minute in range(one.start, one.end)
        }
        others = {
            one.session
            for one in week.sessions
            if team.id not in one.teams
            and any((one.date, club.pitch(one.pitch).site, minute) in minutes for minute in range(one.start, one.end))
        }
        assert beside(club, week, [one.session for one in mine]) == others
        found, some = found + len(others), some + (0 < len(others) < len(week.sessions) - len(mine))
    assert some
    assert found
