"""Few stood down: children come to play (our choice); minutes a child could have been there, counted by hand."""

from __future__ import annotations

import pytest

from constraints.few_stood_down import CHILDREN, MINUTES, FewStoodDown
from scheduler.club.club import Club
from scheduler.club.people import Absence
from scheduler.club.when import Occurs, Span
from scheduler.contract import Severity
from scheduler.plan.plan import PlannedSession, StoodDown
from tests.clubs import MONDAY, a_club
from tests.weeks import FIVE, found, held, spoken

RULE = FewStoodDown()


def down(first: int, last: int, player: str = "Herons Ivo") -> StoodDown:
    return StoodDown(player=player, why="week limit", start=first, end=last)


def counted(club: Club, *sessions: PlannedSession) -> tuple[list[int], int]:
    """Minutes by session and child, and how many children."""
    rows = found(RULE, club, *sessions, severity=Severity.NOTE)
    return [int(one.by) for one in rows if one.rule == MINUTES], sum(1 for one in rows if one.rule == CHILDREN)


@pytest.mark.parametrize(
    ("downs", "listed", "expected"),
    [
        ((), True, ([], 0)),
        ((down(FIVE + 74, FIVE + 75),), True, ([1], 1)),
        ((down(FIVE, FIVE + 75),), False, ([75], 1)),
        ((), False, ([75], 1)),
        ((down(FIVE, FIVE + 10), down(FIVE + 5, FIVE + 20)), True, ([20], 1)),  # no minute twice
        ((down(FIVE - 30, FIVE),), True, ([], 0)),
    ],
)
def test_minutes_of_one_child(downs: tuple[StoodDown, ...], listed: bool, expected: tuple[list[int], int]) -> None:
    club = a_club(players=2)
    players = ("Herons Ivo", "Herons Noor") if listed else ("Herons Noor",)
    assert counted(club, held(club, players=players, stood_down=downs)) == expected


@pytest.mark.parametrize(("gone", "expected"), [(Span(0, 24 * 60), []), (Span(FIVE + 15, 24 * 60), [15])])
def test_whoever_could_not_come_loses_nothing(gone: Span, expected: list[int]) -> None:
    row = Absence(who=("Herons Ivo",), occurs=Occurs(date=MONDAY), span=gone)
    club = a_club(players=2, absences=(row,))
    planned = held(club, players=("Herons Noor",), stood_down=(down(FIVE, FIVE + 75),))
    assert counted(club, planned) == (expected, len(expected))


def test_a_child_counts_once_a_week() -> None:
    club = a_club(players=2, sessions=2)
    two = [held(club, n, number=n, players=("Herons Noor",)) for n in (0, 1)]
    assert counted(club, *two) == ([75, 75], 1)
    assert spoken(RULE, club, two[0].model_copy(update={"players": ("Herons Ivo", "Herons Noor"),
                                                        "stood_down": (down(FIVE, FIVE + 1),)})) == [
        "Ivo is stood down from 1 minute of Herons 1",
        "one player is stood down from a part of the week",
    ]  # fmt: skip
