"""Good slots shared: good and bad slots in turn (common practice, no source)."""

from __future__ import annotations

import pytest

from constraints.good_slots_shared import GoodSlotsShared
from scheduler.club.club import Club
from scheduler.club.places import Pitch
from tests.clubs import a_club
from tests.weeks import FIVE, held, hours, notes, spoken

RULE = GoodSlotsShared()
CLOSING = 21 * 60
GROUNDS = tuple(
    Pitch(id=name, site="Marsh Lane", quality=quality, openings=hours(FIVE, CLOSING))
    for name, quality in (("North", 4), ("South", 3), ("East", None))
)
LATE = CLOSING - 75  # ends at closing time


def club_of(sessions: int) -> Club:
    return a_club(sessions=sessions, pitches=GROUNDS)


@pytest.mark.parametrize(("end", "paid"), [(CLOSING - 60, []), (CLOSING - 59, [1]), (CLOSING, [1])])
def test_the_last_hour_before_closing_is_late(end: int, paid: list[int]) -> None:
    """One session: half of it, rounded down, is none."""
    club = club_of(1)
    assert notes(RULE, club, held(club, start=end - 75)) == paid


@pytest.mark.parametrize(
    ("sessions", "late", "paid"), [(1, 1, [1]), (2, 1, []), (2, 2, [1]), (3, 1, []), (3, 2, [1]), (4, 2, [])]
)
def test_half_of_the_sessions_are_a_fair_share(sessions: int, late: int, paid: list[int]) -> None:
    club = club_of(sessions)
    booked = [held(club, n, LATE if n < late else FIVE, n) for n in range(sessions)]
    assert notes(RULE, club, *booked) == paid
    worse = [held(club, n, FIVE, n, pitch="South" if n < late else "North") for n in range(sessions)]
    assert notes(RULE, club, *worse) == paid


def test_late_and_poorer_are_counted_apart_and_no_quality_is_good() -> None:
    club = club_of(2)
    mixed = (held(club, 0, LATE, 0), held(club, 1, FIVE, 1, pitch="South"))
    assert notes(RULE, club, *mixed) == []
    both = (held(club, 0, LATE, 0, pitch="South"), held(club, 1, LATE, 1, pitch="South"))
    assert spoken(RULE, club, *both) == [
        "Herons has late hours 2 times; half of its sessions would be 1",
        "Herons has poorer pitches 2 times; half of its sessions would be 1",
    ]
    assert notes(RULE, club, *(held(club, n, FIVE, n, pitch="East") for n in (0, 1))) == []


def test_each_team_by_itself() -> None:
    club = a_club(teams=2, pitches=GROUNDS)
    assert notes(RULE, club, held(club, start=LATE), held(club, 1, LATE, 1)) == [1, 1]
