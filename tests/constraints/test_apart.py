"""Two who are kept apart; nobody's name outside the private sentence."""

from __future__ import annotations

import pytest

from constraints.apart import Apart
from constraints.coach_cover import CoachCover
from constraints.pitch_bookings import PitchBookings
from scheduler.booking.book import book
from scheduler.club.programme import Kind, Sizes
from scheduler.outcome import Booked, Conflict
from tests.clubs import a_club
from tests.rotations import a_child, a_practice, a_rotation_club, booked, dealt

BOTH_ENDS = a_practice(Kind.PART, areas=2, attackers=Sizes(1, 1, 2), keepers=1)


@pytest.mark.parametrize(
    ("rep", "found"),
    [
        ("a1 A2", 0),  # other side, other area
        ("a1 d2", 1),  # one side
        ("a1 D1", 1),  # one area
        ("r- R-", 0),  # both rest, on different sides
        ("r- r-", 1),
        ("a1 k2", 0),  # a keeper's side is the goal's, not the child's own
        ("a1 K1", 1),
    ],
)
def test_sides_and_areas(rep: str, found: int) -> None:
    club = a_rotation_club((a_child(0, apart_from=("Noor",)), a_child(1)), [[BOTH_ENDS]])
    breaches = list(Apart().audit(club, dealt(club, rep)))
    assert len(breaches) == found
    for breach in breaches:
        assert breach.about == ()
        assert "Ivo" not in breach.text
        assert "Ivo and Noor" in breach.private
        assert "two players to be kept apart (welfare file, row 1) are" in breach.text


def test_it_does_not_matter_who_named_whom() -> None:
    club = a_rotation_club((a_child(0), a_child(1, apart_from=("Ivo",))), [[BOTH_ENDS]])
    assert len(list(Apart().audit(club, dealt(club, "a1 D1")))) == 1


def test_an_adult_to_be_kept_apart_is_not_in_the_only_group() -> None:
    club = a_rotation_club((a_child(0, apart_from=("coach Herons 2",)),), [[BOTH_ENDS]])
    assert len(list(Apart().audit(club, dealt(club, "a1")))) == 1
    (planned,) = booked(club).sessions
    other = booked(club, sessions=(planned.model_copy(update={"coaches": ("coach Herons 1",)}),))
    assert list(Apart().audit(club, dealt(club, "a1", plan=other))) == []


def test_the_booking_takes_another_adult_where_there_is_one() -> None:
    """Three adults, two needed: the one to be kept apart is left out; of two adults none can be: no plan."""
    club = a_club(players=8)
    third = club.coaches[0].model_copy(update={"id": "third", "name": "Third"})
    players = (club.players[0].model_copy(update={"apart_from": ("coach Herons 2",)}), *club.players[1:])
    two = club.model_copy(update={"players": players})
    three = two.model_copy(update={"coaches": (*club.coaches, third)})
    rules = (PitchBookings(), CoachCover(), Apart())
    outcome = book(three, rules)
    assert isinstance(outcome, Booked)
    (planned,) = outcome.plan.sessions
    assert set(planned.coaches) == {"coach Herons 1", "third"}
    refused = book(two, rules)
    assert isinstance(refused, Conflict)
    assert any(demand.rule == "apart" for clash in refused.clashes for demand in clash.demands)
    assert all(players[0].called not in clash.text for clash in refused.clashes)
