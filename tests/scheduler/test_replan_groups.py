"""Replanning a session in groups: somebody comes over where a group cannot do without; what is called the fewest."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache

import pytest

from constraints import RULES
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.club.programme import Sizes
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.replan.attendance import with_attendance
from scheduler.replan.carry import carried
from scheduler.replan.differences import differences
from scheduler.replan.fewer import fewest_changes
from scheduler.replan.mend import Mended, Stuck, mend
from scheduler.replan.replaced import Replaced
from scheduler.replan.replan import replan
from scheduler.replan.ringmodel import RingModel
from scheduler.replan.scoreboard import Scoreboard
from scheduler.replan.task import Task
from scheduler.rotation.rotate import rotate
from scheduler.rotation.setting import settings
from tests.replans import told
from tests.rotations import a_practice, a_rotation_club, a_squad, booked
from tests.small_rings import ROLES


@lru_cache(maxsize=2)
def in_two_groups(least: int) -> tuple[Club, WeekPlan]:
    """Fourteen, three of them regular keepers, at two stations with one goal each that the two groups visit in turn."""
    stations = [
        a_practice(name=name, attackers=Sizes(least, 2, 4), defenders=Sizes(least, 2, 3), keepers=1)
        for name in ("one", "two")
    ]
    club = a_rotation_club(a_squad(14, regulars=3), [stations, stations], reps=2)
    done = rotate(club, booked(club), RULES)
    assert isinstance(done, Booked)
    return club, done.plan


def groups_of(plan: WeekPlan) -> dict[str, int]:
    return {place.player: place.group for station in plan.sessions[0].blocks[0].stations
            for place in station.reps[0].places}  # fmt: skip


@pytest.mark.parametrize("least", [1, 3])
def test_a_keeper_comes_over_from_the_other_group_and_the_session_stays(least: int) -> None:
    """One group loses its only keeper, the other has two. With three at least in attack and in defence every group
    needs seven with the keeper, or one of six is too few: then the session cannot be held with thirteen that day."""
    club, plan = in_two_groups(least)
    groups = groups_of(plan)
    keepers = [player.id for player in club.players[:3]]
    (alone,) = [one for one in keepers if sum(groups[other] == groups[one] for other in keepers) == 1]
    now, known = told(club, plan, absent=[alone], on="2026-09-07")
    outcome = replan(now, known, RULES, limit=20)
    assert isinstance(outcome, Replaced)
    assert not audit(now, outcome.plan, RULES).breaches
    changes = differences(now, known, outcome.plan)
    if least == 3:
        assert changes.moved == 1
        return
    assert not changes.moved
    assert not outcome.plan.cancelled
    assert not outcome.fewest_places
    assert len(changes.places) < 4 + 4 + 4  # a child's places of a whole session are four
    assert sum(groups[player] != group for player, group in groups_of(outcome.plan).items()) == 1


def test_a_group_that_becomes_too_small_is_no_defect_but_made_up_from_the_other() -> None:
    """Eight in two groups of four, two at least at a station: one group goes, so half of the other come over."""
    stations = [a_practice(name=name, attackers=Sizes(1, 2, 4), defenders=Sizes(1, 1, 3)) for name in ("one", "two")]
    club = a_rotation_club(a_squad(8), [stations, stations], reps=1)
    done = rotate(club, booked(club), RULES)
    assert isinstance(done, Booked)
    groups = groups_of(done.plan)
    gone = [player for player in groups if groups[player] == 1]
    now, known = told(club, done.plan, absent=gone, on="2026-09-07")
    laid = carried(now, known, with_attendance(now, known))
    (ring,) = settings(now, laid)
    kept = Task(now, known, ring, frozenset())
    assert RingModel(kept, Scoreboard(now, ring, kept.filled), {}).ask(5.0, kept.old).none
    outcome = replan(now, known, RULES, limit=10)
    assert isinstance(outcome, Booked)
    assert not differences(now, known, outcome.plan).moved


def test_without_time_to_look_for_few_changes_there_is_still_a_plan() -> None:
    """Only what has been played already is never made from nothing."""
    club, plan = in_two_groups(1)
    keepers = [player.id for player in club.players[:3]]
    groups = groups_of(plan)
    (alone,) = [one for one in keepers if sum(groups[other] == groups[one] for other in keepers) == 1]
    now, known = told(club, plan, absent=[alone], on="2026-09-07")
    laid = carried(now, known, with_attendance(now, known))
    soon = mend(now, known, laid, RULES, now=None, limit=0.01)
    assert isinstance(soon, Mended)
    assert not soon.proven
    assert not audit(now, soon.plan, ROLES).breaches
    begun = dt.datetime(2026, 9, 7, 18, 3)
    assert isinstance(mend(now, known, laid, RULES, now=begun, limit=0.01), Stuck)


def test_with_groups_kept_nothing_beyond_a_change_of_group_is_called_the_fewest() -> None:
    """The complete model keeps the groups of so many: fewer changes may be had by another group if that costs less."""
    club, plan = in_two_groups(1)
    now, known = told(club, plan, absent=[club.players[4].id], on="2026-09-07")
    laid = carried(now, known, with_attendance(now, known))
    (ring,) = settings(now, laid)
    task = Task(now, known, ring, frozenset())
    assert task.places_of_groups() == 4

    def asked(of_groups: int) -> tuple[int, bool]:
        found = fewest_changes(now, known, laid, ring, ROLES, frozenset(), of_groups, 20)
        assert not isinstance(found, str)
        return len(differences(now, known, found[0]).places), found[1]

    changes, proved = asked(4)
    assert 0 < changes <= 4
    assert proved
    assert asked(changes - 1) == (changes, False)
