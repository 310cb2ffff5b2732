"""Brothers and sisters together: one journey for one family (common practice, no source). Families are confidential."""

from __future__ import annotations

import datetime as dt

import pytest

from constraints import brothers_and_sisters
from constraints.age_phase_load import AgePhaseLoad
from constraints.brothers_and_sisters import BrothersAndSisters
from scheduler.booking.build import build_booking
from scheduler.booking.slots import slots_of
from scheduler.club.club import Club
from scheduler.club.places import Pitch, Site
from scheduler.contract import Severity
from tests.bookings import anybody, every_booking, everybody, least_cost
from tests.clubs import a_club, an_age_row
from tests.weeks import FIVE, found, held, hours, notes, together, with_asks, with_players, with_practices

RULE = BrothersAndSisters()
AGES = (an_age_row(finish_by=None),)
SITES = (Site(id="Marsh Lane"), Site(id="Mill Road"))
PITCHES = tuple(Pitch(id=site.id, site=site.id, zones=3, openings=hours(FIVE, 21 * 60)) for site in SITES)


def a_family(sessions: int = 2) -> Club:
    """Ivo of the Herons and Mia of the Kites are brother and sister."""
    club = a_club(teams=2, players=4, sessions=sessions, sites=SITES, pitches=PITCHES)
    return with_players(club, 0, 4, family="Reed")


@pytest.mark.parametrize(
    ("herons", "kites", "over"),
    [((0, 2), (0, 2), []), ((0, 2), (0, 3), [1]), ((0, 2), (1, 3), [2]), ((0, 0), (2, 2), [])],
)
def test_outings_beyond_those_of_the_busiest_child(
    herons: tuple[int, int], kites: tuple[int, int], over: list[int]
) -> None:
    """Two sessions each: two outings are the fewest that can be asked for."""
    club = a_family()
    days = (*herons, *kites)
    assert notes(RULE, club, *(held(club, day, number=n) for n, day in enumerate(days))) == over


def test_another_site_is_another_outing() -> None:
    club = a_family(sessions=1)
    assert notes(RULE, club, held(club), held(club, number=1)) == []
    assert notes(RULE, club, held(club), held(club, number=1, pitch="Mill Road")) == [1]


def test_a_family_is_named_by_its_teams_alone() -> None:
    club = a_family(sessions=1)
    (one,) = found(RULE, club, held(club), held(club, 1, number=1), severity=Severity.NOTE)
    assert one.text == "brothers and sisters in Herons and Kites mean 2 outings, 1 would be the fewest"
    assert one.about == ("Herons", "Kites")
    assert one.private == "family Reed: 2 outings"


def test_one_child_a_family_in_one_team_and_no_family_cost_nothing() -> None:
    club = a_club(teams=2, players=4, sessions=1)
    two = (held(club), held(club, 1, number=1))
    assert RULE.off(club) == "the column Family is empty"
    for numbers in ((0,), (0, 1)):
        one = with_players(club, *numbers, family="Reed")
        assert RULE.off(one) is None
        assert notes(RULE, one, *two) == []


def a_short_week() -> Club:
    """Ivo of the Herons has two sessions, Mia of the Kites one; nobody else is there, and each site has one pitch."""
    club = a_club(teams=2, players=1, keepers=0, sessions=2, step=120, ages=AGES, sites=SITES, pitches=PITCHES)
    club = with_asks(with_practices(club, together(), minutes=60), minutes=60)
    return with_players(club.model_copy(update={"sessions": club.sessions[:3]}), 0, 1, family="Reed")


@pytest.mark.parametrize("certain_only", [True, False])
def test_what_the_relaxation_is_told_besides_leaves_out_no_plan(certain_only: bool) -> None:
    """Where Ivo may be left out of one of his sessions, both may be on one day; else never."""
    club, load, both, allowed = a_short_week(), AgePhaseLoad(), 0, 0
    days = (club.week, club.week + dt.timedelta(days=1))
    slots = [slot for slot in slots_of(club, club.sessions[0]) if slot.date in days and slot.zones == (1, 2, 3)]
    starts = sorted({slot.start for slot in slots})[1 : 2 + certain_only]
    comes = everybody if certain_only else anybody
    model = build_booking(club, [RULE, load], certain_only=certain_only, free=not certain_only)
    for plan in every_booking(club, attendance=comes, slots=lambda slot: slot.date in days and slot.start in starts):
        if not any(one.severity is Severity.BREACH for one in load.audit(club, plan)):
            paid = least_cost(model, plan)
            assert paid is not None, plan
            assert paid.get(RULE.name, 0) == sum(one.by for one in RULE.audit(club, plan)), plan
            herons = [one.date for one in plan.sessions if one.teams == ("Herons",)]
            both += herons[0] == herons[1]
            allowed += 1
    assert allowed > 30
    assert (both > 0) is not certain_only


@pytest.mark.parametrize(("rules", "certain_only", "more"), [(2, True, True), (2, False, False), (1, True, False)])
def test_it_is_told_only_where_a_childs_sessions_are_never_on_one_day(
    rules: int, certain_only: bool, more: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    def rows() -> int:
        model = build_booking(a_short_week(), (RULE, AgePhaseLoad())[:rules], certain_only=certain_only)
        return len(model.model.proto.constraints)

    told = rows()
    monkeypatch.setattr(brothers_and_sisters, "_on_days_of_their_own", lambda *_: False)
    assert (told > rows()) is more
