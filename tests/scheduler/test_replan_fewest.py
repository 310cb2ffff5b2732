"""The small model of a ring's places: what it calls the fewest changes is the fewest of every rotation there is."""

from __future__ import annotations

import datetime as dt
from random import Random

import pytest

from constraints import RULES
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.club.people import Carried
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.replan.attendance import with_attendance
from scheduler.replan.carry import carried
from scheduler.replan.differences import differences
from scheduler.replan.fewer import fewer_changes
from scheduler.replan.fewest import NO_WAY, fewest_places, sessions_to_open, with_neighbours
from scheduler.replan.repair import NOTHING, Repaired, repair
from scheduler.replan.replan import replan
from scheduler.replan.scoreboard import Scoreboard
from scheduler.replan.task import Task
from scheduler.rotation.setting import Ring, settings
from tests.replans import a_week, told
from tests.small_rings import ROLES, fewest_by_enumeration, small


def asked(club: Club, known: WeekPlan, limit: float, found: Repaired = NOTHING) -> tuple[Repaired, WeekPlan, Ring]:
    """What the model makes of a week's only ring; with the week it starts from."""
    laid = carried(club, known, with_attendance(club, known))
    (ring,) = settings(club, laid)

    def lawful(plan: WeekPlan) -> bool:
        return not audit(club, plan, ROLES).breaches

    return fewest_places(Task(club, known, ring, frozenset()), laid, lawful, found, limit), laid, ring


@pytest.mark.parametrize(
    ("practice", "players", "keepers", "gone"),
    [
        ("game", 5, 0, (0,)),
        ("game", 5, 0, (4,)),
        ("game", 5, 0, (0, 2)),
        ("part", 4, 0, (0,)),
        ("part", 4, 0, (1,)),
        ("part", 5, 0, (0, 1)),
        ("in goal", 4, 2, (0,)),
        ("in goal", 4, 2, (3,)),
    ],
)
def test_the_model_alone_finds_and_proves_what_enumeration_finds(
    practice: str, players: int, keepers: int, gone: tuple[int, ...]
) -> None:
    club, plan = small(practice, players, keepers)
    now, known = told(club, plan, absent=[club.players[number].id for number in gone], on="2026-09-07")
    found, laid, _ = asked(now, known, 20)
    least = fewest_by_enumeration(now, known, laid)
    if least is None:
        assert found.plan is None
        assert found.bound == NO_WAY
        return
    assert found.plan is not None
    assert found.changes == found.bound == least
    assert len(differences(now, known, found.plan).places) == least


def two_change_bibs(plan: WeekPlan, rep: int = -1) -> WeekPlan:
    """The week with the places of two children of different bibs changed over in the last rep alone, or another."""
    session = plan.sessions[0]
    block = session.blocks[-1]
    station = block.stations[0]
    reps = list(station.reps)
    one = next(place for place in reps[rep].places if place.side == "bibs" and place.role != "keep")
    other = next(place for place in reps[rep].places if place.side != "bibs" and place.role != "keep")
    names = {one.player: other.player, other.player: one.player}
    places = [place.model_copy(update={"player": names.get(place.player, place.player)}) for place in reps[rep].places]
    reps[rep] = reps[rep].model_copy(update={"places": tuple(places)})
    stations = (station.model_copy(update={"reps": tuple(reps)}),)
    blocks = (*session.blocks[:-1], block.model_copy(update={"stations": stations}))
    return plan.model_copy(update={"sessions": (session.model_copy(update={"blocks": blocks}),)})


@pytest.mark.parametrize("rep", [0, -1])
@pytest.mark.parametrize(("practice", "players"), [("game", 4), ("game", 5)])
def test_an_edit_that_changes_bibs_is_undone_with_the_fewest_changes(practice: str, players: int, rep: int) -> None:
    """One rep in wrong bibs: that rep is mended, or the two wear the others' bibs from the start; no more than that."""
    club, plan = small(practice, players)
    edited = two_change_bibs(plan, rep)
    assert audit(club, edited, RULES).breaches
    found, laid, _ = asked(club, edited, 20)
    assert found.plan is not None
    assert found.changes == found.bound == fewest_by_enumeration(club, edited, laid)


@pytest.mark.parametrize("players", [4, 5])
def test_an_edit_of_the_first_rep_is_undone_there_and_not_followed_in_all_later_reps(players: int) -> None:
    """Two wear the others' bibs in the first of three reps: two places there, not four in the other two."""
    club, plan = small("game", players, reps=3)
    edited = two_change_bibs(plan, 0)
    assert not audit(club, plan, RULES).breaches
    assert len(differences(club, edited, plan).places) == 2
    found, laid, ring = asked(club, edited, 20)
    task = Task(club, edited, ring, frozenset())
    quick = repair(task, laid, lambda one: not audit(club, one, ROLES).breaches)
    for one in (found, quick):
        assert one.plan is not None
        assert one.changes == one.bound == 2


@pytest.mark.parametrize(("seed", "sessions"), [*((seed, 1) for seed in range(4)), (0, 2), (1, 2)])
def test_the_complete_model_has_nothing_with_fewer_changes(seed: int, sessions: int) -> None:
    """Sixteen players, one to three of them missing: the complete model, told of no bound, finds nothing better."""
    club, plan = a_week(16, 4, sessions)
    random = Random(seed)
    names = [player.id for player in random.sample(club.players[2:], random.randint(1, 3))]
    now, known = told(club, plan, absent=names, on="2026-09-07")
    found, laid, ring = asked(now, known, 40)
    assert found.plan is not None
    assert found.least
    doubted = Repaired(found.plan, found.changes, 0)
    better, _ = fewer_changes(now, known, laid, ring, ROLES, frozenset(), doubted, 10)
    assert better == found.plan


@pytest.mark.parametrize(("due", "opened"), [(0, 1), (4, 2)])
def test_other_sessions_are_opened_where_missing_one_leaves_somebody_beyond_one_rep(due: int, opened: int) -> None:
    """A child due four minutes of defence misses the first session, where they would have been made up."""
    club, plan = a_week(16, 4, 2)
    child = club.players[8].id
    club = club.model_copy(update={"carried": (Carried(player=child, defend=due),)})
    now, known = told(club, plan, absent=[child], on="2026-09-07")
    (ring,) = settings(now, carried(now, known, with_attendance(now, known)))
    task = Task(now, known, ring, frozenset())
    names = [session.session for session in plan.sessions]
    assert sessions_to_open(task, Scoreboard(now, ring, task.filled)) == set(names[:opened])
    assert with_neighbours(task, names[:1]) == set(names)


def test_bounds_never_pass_what_a_longer_look_finds() -> None:
    """What a short look shows to be needed is never more than what a long one finds."""
    club, plan = a_week(16, 4, 2)
    now, known = told(club, plan, absent=[club.players[number].id for number in (7, 9, 11)], on="2026-09-07")
    short, _, _ = asked(now, known, 0.2)
    long, _, _ = asked(now, known, 20)
    assert long.plan is not None
    assert short.bound <= long.bound <= long.changes
    assert short.plan is None or short.changes >= long.bound


def test_sessions_in_another_order_change_few_places() -> None:
    """The first of two sessions moves behind the second; everybody's shares at the whistles are others."""
    club, plan = a_week(16, 4, 2)
    first, second = plan.sessions
    now, known = club, plan
    for day in (0, 1):
        date = (club.week + dt.timedelta(days=day)).isoformat()
        now, known = told(now, known, closed=[club.pitches[0].id], on=date)
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert outcome.plan.by_session[first.session].date > second.date
    assert differences(now, known, outcome.plan).moved == 1
    assert not audit(now, outcome.plan, RULES).breaches
