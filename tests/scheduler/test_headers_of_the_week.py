"""Headers a week that are too few for all sessions: who heads where, what is lost, and what cannot be at all."""

from __future__ import annotations

import pytest

from constraints import RULES
from constraints.few_stood_down import CHILDREN, MINUTES
from scheduler.booking.book import book
from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, Limits
from scheduler.club.programme import Kind, PlanRow, Practice, Sizes
from scheduler.outcome import Booked, Conflict, OutOfTime
from scheduler.reasons.arithmetic import or_counted
from scheduler.week import plan_week
from scheduler.workbook.check import impossibilities
from tests.clubs import a_club
from tests.weeks import with_players, with_practices

ROUND = Practice(id="Heading in a ring", kind=Kind.TOGETHER, rep=5, rpe=3)
GOALS = Practice(id="Crosses", kind=Kind.PART, attackers=Sizes(1, 2, 9), defenders=Sizes(1, 1, 9), rep=5, rpe=3)


def heading(practice: Practice, each: int, most: int | None, *, keepers: int = 12) -> Club:
    """A team of twelve with two sessions of one practice, so many headers a rep, and an age row with so many a week."""
    head = practice.model_copy(update={"headers_a_rep": each})
    club = with_practices(a_club(players=12, sessions=2, keepers=keepers), head)
    plans = (PlanRow(plan="Evening", block="1", practice=practice.id, minutes=30),)
    ages = tuple(row.model_copy(update={"headers_a_week": most}) for row in club.ages)
    return club.model_copy(update={"ages": ages, "plans": plans})


def booked(club: Club) -> Booked:
    outcome = book(club, RULES, limit=5.0)
    assert isinstance(outcome, Booked), outcome
    return outcome


def heads_in(outcome: Booked) -> list[set[str]]:
    """Who is there for the block of each session."""
    return [set(one.players) - {down.player for down in one.stood_down} for one in outcome.plan.sessions]


def test_enough_for_both_sessions_stands_nobody_down() -> None:
    outcome = booked(heading(ROUND, 5, 10))
    assert [len(who) for who in heads_in(outcome)] == [12, 12]
    assert outcome.proven


def test_enough_for_one_session_lets_half_of_the_team_begin_with_each() -> None:
    first, second = heads_in(booked(heading(ROUND, 5, 9)))
    assert (len(first), len(second)) == (6, 6)
    assert not first & second


def test_what_is_lost_by_headers_used_up_elsewhere_is_not_called_the_least() -> None:
    """One child stays for 40 of 75 minutes by its own limit: that is known to the model, and alone it is the least."""
    for most, minutes, children in ((10, 70, 1), (9, 70 + 11 * 30, 12)):
        outcome = booked(with_players(heading(ROUND, 5, most), 0, limits=Limits(max_minutes=40)))
        lost = {proof.measure: proof for proof in outcome.plan.proofs if proof.measure in (MINUTES, CHILDREN)}
        assert [lost[MINUTES].value, lost[CHILDREN].value] == [minutes, children]
        assert lost[MINUTES].bound <= 70
        assert {proof.proved for proof in lost.values()} == {most == 10}
        assert outcome.proven == (most == 10)
        assert sum(row.by for row in outcome.plan.unmet if row.wish == MINUTES) == minutes


def test_a_goal_finds_somebody_with_headers_left() -> None:
    """Six reps of one goal: every child may keep, so six are left in each session, and the week is lawful."""
    outcome = plan_week(heading(GOALS, 1, 10), RULES, limit=5.0)
    assert isinstance(outcome, Booked), outcome
    assert [len(who) for who in heads_in(outcome)] == [6, 6]


@pytest.mark.parametrize(("most", "told"), [(12, False), (11, True), (None, False)])
def test_too_few_headers_for_whoever_keeps_goal_are_counted(most: int | None, told: bool) -> None:
    """Two sessions of six reps with a header each, one goal and one keeper: twelve, whoever they are."""
    club = heading(GOALS, 1, most, keepers=1)
    said = [str(fault) for fault in impossibilities(club)]
    assert said == (
        [
            "Teams, Herons: whoever keeps goal heads 12 times in all in its practices this week, and the one who may "
            "be asked have 11 by their age rows; fewer headers or reps, or more who keep goal"
        ]
        if told
        else []
    )


def test_where_time_runs_out_counting_still_says_why() -> None:
    late = OutOfTime(1.0, "booking")
    outcome = or_counted(heading(GOALS, 1, 11, keepers=1), late)
    assert isinstance(outcome, Conflict)
    (clash,) = outcome.clashes
    assert [(one.subject, "heads 12 times" in one.text) for one in clash.demands] == [("Herons", True)]
    assert or_counted(heading(GOALS, 1, 12, keepers=1), late) is late


def test_two_goals_and_everybody_asked() -> None:
    """Twice as many headers in goal and twelve children who may keep: 24 of 120 are no fault of counting."""
    club = heading(GOALS.model_copy(update={"areas": 2}), 1, 10, keepers=0)
    team = club.teams[0].model_copy(update={"keepers": KeeperPolicy.EVERYONE})
    assert impossibilities(club.model_copy(update={"teams": (team,)})) == []
    assert isinstance(plan_week(club.model_copy(update={"teams": (team,)}), RULES, limit=5.0), Booked)
