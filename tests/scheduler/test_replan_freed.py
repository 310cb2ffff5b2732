"""A child left out because of another session that day comes again where that other session moves to another day."""

from __future__ import annotations

from constraints import RULES
from scheduler.audit import audit
from scheduler.booking.standdown import SESSION_THAT_DAY
from scheduler.club.club import Club
from scheduler.outcome import Booked
from scheduler.plan.plan import StoodDown, WeekPlan
from scheduler.replan.replan import replan
from scheduler.rotation.rotate import rotate
from tests.clubs import a_club
from tests.replans import booked_by_hand, told


def both_on_monday() -> tuple[Club, WeekPlan, str]:
    """Two teams' sessions on one day; a child of the second also plays for the first and is left out there."""
    club = a_club(teams=2, players=13)
    first, second = club.sessions
    child = next(player for player in reversed(club.players) if player.team == second.teams[0])
    shared = child.model_copy(update={"also_plays_for": first.teams, "second_team_agreed": True})
    players = tuple(shared if player.id == child.id else player for player in club.players)
    club = club.model_copy(update={"players": players})
    plan = booked_by_hand(club, (0, 17 * 60), (0, 19 * 60))
    sessions = []
    for planned in plan.sessions:
        if planned.session == first.id:
            row = StoodDown(player=child.id, why=SESSION_THAT_DAY, start=planned.start, end=planned.end)
            left = tuple(player for player in planned.players if player != child.id)
            planned = planned.model_copy(update={"players": left, "stood_down": (row,)})
        sessions.append(planned)
    done = rotate(club, plan.model_copy(update={"sessions": tuple(sessions)}), RULES)
    assert isinstance(done, Booked)
    return club, done.plan, child.id


def test_a_child_comes_again_where_the_other_session_moves_away() -> None:
    club, plan, child = both_on_monday()
    first, second = club.sessions
    now, known = told(club, plan, closed=[club.pitches[0].id], on="2026-09-07", from_="19:00")
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    after = outcome.plan
    assert after.by_session[second.id].date != after.by_session[first.id].date
    assert child in after.by_session[first.id].players
    assert not after.by_session[first.id].stood_down
    assert not audit(now, after, RULES).breaches


def test_a_child_stays_left_out_where_the_other_session_stays_that_day() -> None:
    club, plan, child = both_on_monday()
    first = club.sessions[0]
    gone = next(player.id for player in club.players if player.team == first.teams[0])
    now, known = told(club, plan, absent=[gone], on="2026-09-07")
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert child not in outcome.plan.by_session[first.id].players
    assert [row.player for row in outcome.plan.by_session[first.id].stood_down] == [child]
