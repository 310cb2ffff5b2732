"""Two age years in contact, whole years on the Monday (7 September 2026)."""

from __future__ import annotations

import datetime as dt

import pytest

from constraints.age_gap import AgeGap
from scheduler.club.programme import Contact, Kind
from tests.rotations import a_child, a_practice, a_rotation_club, dealt

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
