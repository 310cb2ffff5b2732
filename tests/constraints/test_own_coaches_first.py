"""Own coaches first: children know their own coach (common practice, no source)."""

from __future__ import annotations

import pytest

from constraints.own_coaches_first import OwnCoachesFirst
from scheduler.booking.model import BookingModel
from tests.bookings import least_cost
from tests.clubs import a_club
from tests.weeks import held, notes, spoken, week_of

RULE = OwnCoachesFirst()


@pytest.mark.parametrize(
    ("adults", "paid"),
    [
        (("coach Herons 1",), 0),
        (("coach Herons 2", "coach Herons 1"), 0),
        (("coach Herons 2",), 1),  # the first of the row leads
        (("coach Herons 1", "coach Kites 1"), 1),
        (("coach Kites 2", "coach Kites 1"), 3),
    ],
)
def test_one_for_each_stranger_and_for_a_leader_who_is_not_there(adults: tuple[str, ...], paid: int) -> None:
    club = a_club(teams=2)
    assert sum(notes(RULE, club, held(club, coaches=adults))) == paid


def test_two_teams_in_one_session_have_two_leaders() -> None:
    club = a_club(teams=2)
    both = club.sessions[0].model_copy(update={"teams": ("Herons", "Kites")})
    club = club.model_copy(update={"sessions": (both,)})
    assert notes(RULE, club, held(club)) == []
    assert spoken(RULE, club, held(club, coaches=("coach Herons 1", "coach Kites 2"))) == [
        "Coach Kites 1, who leads Kites, is not at Herons 1"
    ]


def test_sentence() -> None:
    club = a_club(teams=2)
    adults = ("coach Herons 1", "coach Kites 1")
    assert spoken(RULE, club, held(club, coaches=adults)) == ["Coach Kites 1 of another team helps at Herons 1"]


@pytest.mark.parametrize("kept", [("coach Herons 2", "coach Kites 1"), ("coach Herons 1", "coach Kites 1")])
def test_a_replan_that_keeps_other_adults_pays_for_the_leader_who_is_missing(kept: tuple[str, ...]) -> None:
    """A session left as it is has no choice of adults; what its wish costs is counted all the same."""
    club = a_club(teams=2)
    club = club.model_copy(update={"sessions": club.sessions[:1]})
    model = BookingModel(club)
    model.adults.keep("Herons 1", kept)
    model.make()
    RULE.post(club, model)
    plan = week_of(club, held(club, coaches=kept))
    assert least_cost(model, plan) == {RULE.name: sum(notes(RULE, club, plan.sessions[0]))}
