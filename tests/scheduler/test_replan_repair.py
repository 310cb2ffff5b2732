"""Fewest changes: against every rotation there is on small pools, against the exact model on a pool of sixteen."""

from __future__ import annotations

import datetime as dt

import pytest

from constraints import RULES
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, KeeperWish
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.replan.attendance import with_attendance
from scheduler.replan.carry import carried
from scheduler.replan.differences import differences
from scheduler.replan.fewer import fewer_changes
from scheduler.replan.repair import Repaired, repair
from scheduler.replan.replan import replan
from scheduler.replan.task import Task
from scheduler.rotation.setting import settings
from tests.clubs import some_players
from tests.replans import a_week, rotated, told
from tests.small_rings import ROLES, fewest_by_enumeration, small


@pytest.mark.parametrize(
    ("practice", "players", "keepers", "gone"),
    [
        ("game", 5, 0, (0,)),
        ("game", 5, 0, (3,)),
        ("game", 4, 0, (1,)),
        ("game", 5, 0, (0, 2)),
        ("part", 4, 0, (0,)),
        ("part", 4, 0, (2,)),
        ("in goal", 4, 2, (0,)),
        ("in goal", 4, 2, (3,)),
    ],
)
def test_fewest_changes_equal_enumeration(practice: str, players: int, keepers: int, gone: tuple[int, ...]) -> None:
    club, plan = small(practice, players, keepers)
    names = [club.players[number].id for number in gone]
    now, known = told(club, plan, absent=names, on="2026-09-07")
    booked = with_attendance(now, known)
    least = fewest_by_enumeration(now, known, carried(now, known, booked))
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert outcome.proven
    assert len(differences(now, known, outcome.plan).places) == least


@pytest.mark.parametrize("arrives", [0, 1])
def test_a_child_who_comes_after_all_changes_as_little_as_enumeration(arrives: int) -> None:
    club, _ = small("game", 5)
    late = club.players[arrives].id
    away, known = told(club, WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=()),
                       absent=[late], on="2026-09-07")  # fmt: skip
    plan = rotated_without(away, late).model_copy(update={"news": known.news})
    now, after = told(away, plan, here=[late], on="2026-09-07")
    booked = with_attendance(now, after)
    assert late in booked.sessions[0].players
    least = fewest_by_enumeration(now, after, carried(now, after, booked))
    outcome = replan(now, after, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert len(differences(now, after, outcome.plan).places) == least


def rotated_without(club: Club, late: str) -> WeekPlan:
    from scheduler.rotation.rotate import rotate
    from tests.replans import booked_by_hand

    plan = booked_by_hand(club, (0, 18 * 60))
    session = plan.sessions[0]
    players = tuple(player for player in session.players if player != late)
    done = rotate(club, plan.model_copy(update={"sessions": (session.model_copy(update={"players": players}),)}), RULES)
    assert isinstance(done, Booked)
    return done.plan


@pytest.mark.parametrize("gone", [(11,), (4,), (11, 15), (2, 9), (4, 8, 12), (5, 9, 13)])
def test_one_two_and_three_missing_from_sixteen(gone: tuple[int, ...]) -> None:
    """No session moves, every rule holds, and those who are gone have no place."""
    club, plan = a_week(16, 4)
    names = [club.players[number].id for number in gone]
    now, known = told(club, plan, absent=names, on="2026-09-07")
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    changes = differences(now, known, outcome.plan)
    assert not changes.sessions
    assert not audit(now, outcome.plan, RULES).breaches
    assert {change.player for change in changes.comes if not change.comes} == set(names)
    assert outcome.plan.revision == 2


def test_the_exact_model_finds_nothing_better_than_the_repair() -> None:
    """The quick repair says its number is the least; the complete model is asked for one change fewer and has none."""
    club, plan = a_week(16, 4)
    now, known = told(club, plan, absent=[club.players[11].id], on="2026-09-07")
    laid = carried(now, known, with_attendance(now, known))
    (ring,) = settings(now, laid)
    quick = repair(Task(now, known, ring, frozenset()), laid, lambda found: not audit(now, found, ROLES).breaches)
    assert quick.least
    doubted = Repaired(quick.plan, quick.changes, 0)
    better, proved = fewer_changes(now, known, laid, ring, ROLES, frozenset(), doubted, 20)
    assert proved
    assert better == quick.plan


def one_goal(policy: KeeperPolicy, second: KeeperWish) -> tuple[Club, WeekPlan]:
    """Five players, one of them a regular keeper, one with another answer; one goal."""
    club, _ = small("in goal", 5, keepers=2)
    players = list(some_players("Herons", 5, keepers=1))
    players[1] = players[1].model_copy(update={"keeper": second})
    teams = (club.teams[0].model_copy(update={"keepers": policy}),)
    club = club.model_copy(update={"players": tuple(players), "teams": teams})
    return club, rotated(club, (0, 18 * 60))


def test_the_only_regular_missing_a_willing_child_keeps() -> None:
    club, plan = one_goal(KeeperPolicy.REGULARS, KeeperWish.WILLING)
    now, known = told(club, plan, absent=[club.players[0].id], on="2026-09-07")
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    reps = outcome.plan.sessions[0].blocks[0].stations[0].reps
    assert [[p.player for p in rep.places if p.role == "keep"] for rep in reps] == [[club.players[1].id]] * 2


def test_the_only_keeper_missing_is_said_and_the_session_called_off() -> None:
    """Nobody else was asked: no rotation, no other day helps while she is away all week, so it is not held."""
    club, plan = one_goal(KeeperPolicy.VOLUNTEERS, KeeperWish.NO)
    keeper = club.players[0].id
    now, known = club, plan
    for date in club.dates:
        now, known = told(now, known, absent=[keeper], on=date.isoformat())
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert [row.session for row in outcome.plan.cancelled] == ["Herons 1"]
    assert "in goal" in outcome.plan.cancelled[0].why or "keeper" in outcome.plan.cancelled[0].why


def test_a_late_child_comes_after_all_and_whistles_played_stay() -> None:
    """Away all evening, there from 18:22; the clock says 18:22: the rep from 18:20 to 18:25 goes on without her."""
    club, plan = a_week(16, 4)
    late = club.players[7].id
    away, known = told(club, plan, absent=[late], on="2026-09-07")
    first = replan(away, known, RULES, limit=10)
    assert isinstance(first, Booked)
    now = dt.datetime(2026, 9, 7, 18, 22)
    there, known = told(away, first.plan, here=[late], on="2026-09-07", now="2026-09-07 18:22")
    outcome = replan(there, known, RULES, now=now, limit=10)
    assert isinstance(outcome, Booked)
    before = {(b.block, r.rep): r for b in first.plan.sessions[0].blocks for s in b.stations for r in s.reps}
    for block in outcome.plan.sessions[0].blocks:
        for rep in block.stations[0].reps:
            has = late in {place.player for place in rep.places}
            if rep.start < 18 * 60 + 22:
                assert rep.places == before[block.block, rep.rep].places
                assert not has
            else:
                assert has


def test_nothing_to_change_keeps_plan_and_number() -> None:
    club, plan = a_week(16, 4)
    outcome = replan(club, plan, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert outcome.plan.sessions == plan.sessions
    assert outcome.plan.revision == plan.revision


def test_the_same_news_gives_the_same_plan() -> None:
    club, plan = a_week(16, 4)
    now, known = told(club, plan, absent=[club.players[4].id], on="2026-09-07")
    once, again = (replan(now, known, RULES, limit=10) for _ in range(2))
    assert isinstance(once, Booked)
    assert isinstance(again, Booked)
    assert once.plan.to_json() == again.plan.to_json()


def swapped(plan: WeekPlan, rep_number: int, one: str, other: str) -> WeekPlan:
    """Two players change places by hand in one rep of the second block."""
    session = plan.sessions[0]
    station = session.blocks[1].stations[0]
    rep = station.reps[rep_number]
    takes = {one: other, other: one}
    places = tuple(place.model_copy(update={"player": takes.get(place.player, place.player)}) for place in rep.places)
    reps = tuple(rep.model_copy(update={"places": places}) if r is rep else r for r in station.reps)
    block = session.blocks[1].model_copy(update={"stations": (station.model_copy(update={"reps": reps}),)})
    blocks = (session.blocks[0], block, *session.blocks[2:])
    return plan.model_copy(update={"sessions": (session.model_copy(update={"blocks": blocks}),)})


def test_a_lawful_edit_by_hand_is_kept_as_it_is() -> None:
    club, plan = a_week(16, 4)
    names = [player.id for player in club.players]
    edited = next(
        found
        for one in names
        for other in names
        if one < other
        and (found := swapped(plan, 2, one, other)) != plan
        and not audit(club, found, RULES).breaches
        and differences(club, plan, found).places
    )
    outcome = replan(club, edited, RULES, held=plan, limit=10)
    assert isinstance(outcome, Booked)
    assert outcome.plan.sessions == edited.sessions
    assert outcome.plan.revision == plan.revision + 1
    assert len(differences(club, plan, outcome.plan).places) == 2


def test_an_unlawful_edit_is_mended_and_said_with_few_changes() -> None:
    """A child who was not asked is put in goal by hand: somebody else keeps, and most of the card stays."""
    club, plan = a_week(16, 4)
    rep = plan.sessions[0].blocks[1].stations[0].reps[2]
    keeper = next(place.player for place in rep.places if place.role == "keep")
    child = next(p.player for p in rep.places if p.role != "keep" and club.player(p.player).keeper == "")
    edited = swapped(plan, 2, keeper, child)
    assert audit(club, edited, RULES).breaches
    outcome = replan(club, edited, RULES, held=plan, limit=10)
    assert isinstance(outcome, Booked)
    assert not audit(club, outcome.plan, RULES).breaches
    assert len(differences(club, edited, outcome.plan).places) <= 4
