"""Spread of days: a day between two sessions of a team (common practice, no source)."""

from __future__ import annotations

import pytest

from constraints.spread_of_days import SpreadOfDays
from tests.clubs import a_club
from tests.weeks import held, notes, spoken

RULE = SpreadOfDays()


@pytest.mark.parametrize(
    ("days", "paid"),
    [((0, 2), 0), ((0, 1), 1), ((1, 0), 1), ((0, 0), 1), ((0, 6), 0), ((0, 1, 2), 2), ((0, 0, 0), 3), ((0, 2, 4), 0)],
)
def test_one_for_each_pair_that_is_too_close(days: tuple[int, ...], paid: int) -> None:
    club = a_club(sessions=len(days))
    assert sum(notes(RULE, club, *(held(club, day, number=n) for n, day in enumerate(days)))) == paid


def test_each_team_by_itself() -> None:
    """The Herons share the Kites' session of Tuesday: one pair of theirs is close, none of the Kites'."""
    club = a_club(teams=2)
    both = club.sessions[1].model_copy(update={"teams": ("Herons", "Kites")})
    shared = club.model_copy(update={"sessions": (club.sessions[0], both)})
    two = (held(shared), held(shared, 1, number=1))
    assert spoken(RULE, shared, *two) == ["Herons: Herons 1 on Mon 7 Sep and Kites 1 on Tue 8 Sep, no day between"]
    assert notes(RULE, club, held(club), held(club, 1, number=1)) == []
    assert RULE.off(club) == "no team has two sessions"
    assert RULE.off(shared) is None
