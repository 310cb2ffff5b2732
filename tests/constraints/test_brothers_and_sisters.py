"""Brothers and sisters together: one journey for one family (common practice, no source). Families are confidential."""

from __future__ import annotations

import pytest

from constraints.brothers_and_sisters import BrothersAndSisters
from scheduler.club.club import Club
from scheduler.club.places import Pitch, Site
from scheduler.contract import Severity
from tests.clubs import a_club
from tests.weeks import FIVE, found, held, hours, notes, with_players

RULE = BrothersAndSisters()
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
