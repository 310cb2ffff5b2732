"""Own limits and headers by age (U.S. Soccer, Recognize to Recover: at most 15 to 20 headers a week at U12 and U13)."""

from __future__ import annotations

import pytest

from constraints.limits import OwnLimits
from scheduler.club.people import Limits
from scheduler.club.programme import Contact, Kind
from scheduler.club.when import Span
from scheduler.plan.plan import StoodDown
from tests.clubs import an_age_row
from tests.rotations import EIGHTEEN, a_child, a_practice, a_rotation_club, booked, dealt


@pytest.mark.parametrize(("first", "second", "over"), [(12, 8, 0), (12, 9, 1)])
def test_headers_of_two_sessions_add_up(first: int, second: int, over: int) -> None:
    """12 + 8 = 20 headers in the week pass, 12 + 9 = 21 are one too many."""
    blocks = [[a_practice(Kind.GAME, name=f"heading {n}", headers_a_rep=n)] for n in (first, second)]
    club = a_rotation_club((a_child(0),), blocks, ages=(an_age_row(headers_a_week=20),))
    assert sum(found.by for found in OwnLimits().audit(club, dealt(club, "p1", "p1"))) == over


def test_no_number_for_the_age_is_not_zero() -> None:
    club = a_rotation_club((a_child(0),), [[a_practice(Kind.GAME, headers_a_rep=30)]],
                           ages=(an_age_row(headers_a_week=None),))  # fmt: skip
    assert list(OwnLimits().audit(club, dealt(club, "p1"))) == []


@pytest.mark.parametrize(
    ("limits", "contact", "headers", "found"),
    [
        (Limits(no_contact=True), Contact.NONE, 5, 0),
        (Limits(no_contact=True), Contact.SOME, 0, 1),
        (Limits(no_contact=True), Contact.HARD, 0, 1),
        (Limits(no_heading=True), Contact.HARD, 0, 0),
        (Limits(no_heading=True), Contact.NONE, 1, 1),
    ],
)
def test_what_is_not_named_in_public_is_said_in_private(
    limits: Limits, contact: Contact, headers: int, found: int
) -> None:
    practice = a_practice(Kind.GAME, contact=contact, headers_a_rep=headers)
    club = a_rotation_club((a_child(0, limits=limits),), [[practice]])
    breaches = list(OwnLimits().audit(club, dealt(club, "p1")))
    assert len(breaches) == found
    for breach in breaches:
        assert "no contact" not in breach.text
        assert "no heading" not in breach.text
        assert breach.private.endswith(("no contact", "no heading"))


@pytest.mark.parametrize(("leaves", "over"), [(40, 0), (41, 1)])
def test_most_minutes_count_from_arrival_to_leaving(leaves: int, over: int) -> None:
    """`max 40`: presence of 40 minutes passes, of 41 is one minute too long."""
    club = a_rotation_club((a_child(0, limits=Limits(max_minutes=40)),), [[a_practice(Kind.GAME)]])
    (planned,) = booked(club).sessions
    down = StoodDown(player="Ivo", why="own limit", start=EIGHTEEN + leaves, end=EIGHTEEN + 60)
    assert down.span == Span(EIGHTEEN + leaves, EIGHTEEN + 60)
    plan = booked(club, sessions=(planned.model_copy(update={"stood_down": (down,)}),))
    assert sum(found.by for found in OwnLimits().audit(club, plan)) == over
