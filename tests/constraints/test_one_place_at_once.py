"""One place at once: nobody is in two places (common practice, no source); half-open at both ends."""

from __future__ import annotations

import pytest

from constraints.one_place_at_once import OnePlaceAtOnce
from scheduler.club.club import Club
from scheduler.club.people import Absence
from scheduler.club.when import Occurs, Span
from tests.clubs import MONDAY, a_club
from tests.weeks import FIVE, SIX, breaches, held, spoken, with_players

RULE = OnePlaceAtOnce()


def a_double() -> Club:
    """Ivo of the Herons also plays for the Kites; sessions of 75 minutes."""
    return with_players(a_club(teams=2, players=3), 0, also_plays_for=("Kites",))


@pytest.mark.parametrize(
    ("start", "day", "shared"),
    [(SIX + 15, 0, []), (SIX + 14, 0, [1]), (FIVE - 75, 0, []), (FIVE - 74, 0, [1]), (FIVE, 0, [75]), (FIVE, 1, [])],
)
def test_two_sessions_share_no_minute(start: int, day: int, shared: list[int]) -> None:
    club = a_double()
    assert breaches(RULE, club, held(club), held(club, day, start, number=1)) == shared
    if shared == [1] and start > FIVE:
        assert spoken(RULE, club, held(club), held(club, day, start, number=1)) == [
            "Ivo is wanted by Herons 1 and Kites 1 on Mon 7 Sep at once for 1 minute"
        ]


def test_whoever_is_in_one_of_the_two_only_is_lawful() -> None:
    club = a_double()
    assert breaches(RULE, club, held(club), held(club, number=1, players=tuple(p.id for p in club.players[3:]))) == []


@pytest.mark.parametrize(
    ("spans", "found"),
    [
        ((Span(FIVE, FIVE + 75),), [75]),
        ((Span(FIVE, FIVE + 74),), []),
        ((Span(FIVE + 1, FIVE + 75),), []),
        ((Span(0, FIVE + 30), Span(FIVE + 30, 24 * 60)), [75]),
        ((Span(0, FIVE + 30), Span(FIVE + 31, 24 * 60)), []),
    ],
)
def test_whoever_is_away_throughout_is_not_listed(spans: tuple[Span, ...], found: list[int]) -> None:
    rows = tuple(Absence(who=("Herons Ivo",), occurs=Occurs(date=MONDAY), span=span) for span in spans)
    club = a_club(players=3, absences=rows)
    assert breaches(RULE, club, held(club)) == found
    assert breaches(RULE, club, held(club, 1)) == []
    if found:
        assert spoken(RULE, club, held(club)) == ["Ivo is listed for Herons 1, but away the whole time"]
