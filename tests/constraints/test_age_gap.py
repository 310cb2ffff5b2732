"""Two age years in contact, whole years on the Monday (7 September 2026)."""

from __future__ import annotations

import datetime as dt

import pytest

from constraints import RULES
from constraints.age_gap import AgeGap
from scheduler.booking.standdown import stand_downs
from scheduler.club.club import Club
from scheduler.club.programme import Contact, Kind, Sizes
from scheduler.outcome import Booked
from scheduler.week import plan_week
from tests.rotations import a_child, a_practice, a_rotation_club, booked, dealt

TEN = dt.date(2016, 9, 7)  # ten on the Monday itself
JUST_THIRTEEN, STILL_TWELVE = dt.date(2013, 9, 7), dt.date(2013, 9, 8)


@pytest.mark.parametrize(
    ("born", "contact", "rep", "found"),
    [
        (STILL_TWELVE, Contact.SOME, "p1 P1", 0),
        (JUST_THIRTEEN, Contact.SOME, "p1 P1", 1),
        (JUST_THIRTEEN, Contact.NONE, "p1 P1", 0),
        (JUST_THIRTEEN, Contact.HARD, "p1 P2", 0),
        (JUST_THIRTEEN, Contact.HARD, "p1 R-", 0),
    ],
)
def test_the_day_of_the_birthday_counts(born: dt.date, contact: Contact, rep: str, found: int) -> None:
    game = a_practice(Kind.GAME, areas=2, contact=contact)
    club = a_rotation_club((a_child(0, born=TEN), a_child(1, born=born)), [[game]])
    breaches = list(AgeGap().audit(club, dealt(club, rep)))
    assert len(breaches) == found
    assert all((breach.by, breach.unit) == (1, "years") for breach in breaches)


def test_together_with_contact_counts_as_one_area() -> None:
    practice = a_practice(Kind.TOGETHER, rep=None, contact=Contact.SOME)
    club = a_rotation_club((a_child(0, born=TEN), a_child(1, born=JUST_THIRTEEN)), [[practice]])
    assert len(list(AgeGap().audit(club, dealt(club, "t- t-")))) == 1


def a_team(*born: dt.date, areas: int = 1, contact: Contact = Contact.SOME) -> Club:
    """A game of 3 to 6 a side in each area without keepers, after a warm-up; children born so."""
    game = a_practice(Kind.GAME, areas=areas, contact=contact, attackers=Sizes(3, 4, 6))
    warm_up = a_practice(Kind.TOGETHER, rep=None, contact=Contact.NONE)
    squad = tuple(a_child(number, born=date) for number, date in enumerate(born))
    return a_rotation_club(squad, [[warm_up], [game]], reps=2)


THIRTEEN = dt.date(2013, 3, 1)


@pytest.mark.parametrize(
    ("young", "areas", "contact", "down"),
    [
        (1, 1, Contact.SOME, 1),  # alone among eleven
        (1, 1, Contact.NONE, 0),
        (1, 2, Contact.SOME, 1),  # a second area would hold that child alone
        (5, 1, Contact.HARD, 5),  # fewer than half, and one area for all
        (5, 2, Contact.HARD, 5),  # an area takes six
        (6, 2, Contact.HARD, 0),  # six can play in an area of their own
    ],
)
def test_whoever_has_too_few_near_in_age_is_stood_down_from_contact(
    young: int, areas: int, contact: Contact, down: int
) -> None:
    """Three years apart; the children of that age are out of the block with contact and in the warm-up."""
    club = a_team(*[TEN] * young, *[THIRTEEN] * (12 - young), areas=areas, contact=contact)
    (planned,) = booked(club).sessions
    (rows,) = stand_downs(club, [planned])
    assert {row.player for row in rows} == {child.id for child in club.players[:down]}
    start = planned.start + 5 * 2  # the warm-up is as long as two reps of 4 minutes with changeovers
    assert {(row.why, row.start) for row in rows} <= {("age gap", start)}


def test_two_years_are_not_too_many() -> None:
    club = a_team(STILL_TWELVE, *[TEN] * 11)
    assert stand_downs(club, booked(club).sessions) == ((),)


def test_a_week_with_a_child_who_plays_up_three_years_is_planned() -> None:
    """Without the stand-down there is no rotation: everybody plays, and there is one area."""
    club = a_team(TEN, *[THIRTEEN] * 11)
    outcome = plan_week(club, RULES)
    assert isinstance(outcome, Booked)
    (planned,) = outcome.plan.sessions
    assert [(row.player, row.why) for row in planned.stood_down] == [(club.players[0].id, "age gap")]
    places = [place for block in planned.blocks for s in block.stations for rep in s.reps for place in rep.places]
    assert [place.role for place in places if place.player == club.players[0].id] == ["all"]
