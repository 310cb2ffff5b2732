"""Match recovery: rest around matches (common practice, no source); a day just inside and a day just outside."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from constraints.match_recovery import MatchRecovery
from scheduler.club.club import Club
from scheduler.club.people import Absence, AfterMatch, Match
from scheduler.club.programme import Contact
from scheduler.club.when import Occurs, Span
from scheduler.plan.plan import StoodDown
from tests.clubs import MONDAY, a_club, an_age_row
from tests.weeks import FIVE, breaches, held, spoken, together, with_players, with_practices

RULE = MatchRecovery()
WEDNESDAY = Match(team="Herons", date=MONDAY + dt.timedelta(days=2), kick_off=600, minutes=40)
SOFT, SOME, HARD = (together(f"{contact.value} contact", contact=contact) for contact in Contact)


def playing(after: AfterMatch = AfterMatch.REST, age: int = 13, practices: Any = (SOFT,), **match: Any) -> Club:
    """One child of an age, a match on Wednesday, a session plan of these practices in equal blocks."""
    club = a_club(players=1, keepers=0, ages=(an_age_row(after_match=after),),
                  matches=(WEDNESDAY.model_copy(update=match),))  # fmt: skip
    return with_players(with_practices(club, *practices), born=dt.date(MONDAY.year - age, 3, 1))


@pytest.mark.parametrize(("day", "found"), [(0, []), (1, []), (2, [1]), (3, [1]), (4, [])])
def test_no_session_on_the_day_nor_the_day_after(day: int, found: list[int]) -> None:
    club = playing()
    assert breaches(RULE, club, held(club, day)) == found
    if found:
        what = {2: "a match day", 3: "the day after a match"}[day]
        said = f"Ivo trains in Herons 1 on {'Wed 9' if day == 2 else 'Thu 10'} Sep, {what}"
        assert spoken(RULE, club, held(club, day)) == [said]


@pytest.mark.parametrize(
    ("after", "practice", "by_day"),
    [
        (AfterMatch.REST, HARD, [[], [75], [1], [1], []]),
        (AfterMatch.REST, SOME, [[], [], [1], [1], []]),
        (AfterMatch.NO_CONTACT, SOFT, [[], [], [1], [], []]),
        (AfterMatch.NO_CONTACT, SOME, [[], [], [1], [75], []]),
        (AfterMatch.NO_CONTACT, HARD, [[], [75], [1], [75], []]),
        (AfterMatch.ANY, HARD, [[], [], [], [], []]),
    ],
)
def test_what_the_age_row_allows(after: AfterMatch, practice: Any, by_day: list[list[int]]) -> None:
    club = playing(after, practices=(practice,))
    assert [breaches(RULE, club, held(club, day)) for day in range(5)] == by_day


@pytest.mark.parametrize(("age", "found"), [(12, []), (13, [75])])
def test_hard_contact_the_day_before_from_13_up(age: int, found: list[int]) -> None:
    club = playing(age=age, practices=(HARD,))
    assert breaches(RULE, club, held(club, 1)) == found


@pytest.mark.parametrize(("down", "found"), [((FIVE + 37, FIVE + 75), []), ((FIVE + 38, FIVE + 75), [1])])
def test_only_the_block_with_contact(down: tuple[int, int], found: list[int]) -> None:
    """Contact from the 37th minute on, the day before the match: stood down from then on is lawful."""
    club = playing(practices=(SOFT, HARD))
    row = StoodDown(player="Herons Ivo", why="rest around a match", start=down[0], end=down[1])
    assert breaches(RULE, club, held(club, 1, stood_down=(row,))) == found
    if found:
        assert spoken(RULE, club, held(club, 1, stood_down=(row,))) == [
            "Ivo trains in Herons 1 on Tue 8 Sep in block 2, which has contact, the day before a match"
        ]


@pytest.mark.parametrize(
    ("match", "found"),
    [
        ({"players": ("Herons Ivo",)}, [1]),
        ({"players": ("somebody else",)}, []),
        ({"minutes": 0}, []),
        ({"team": "Kites"}, []),
        ({"team": "Kites", "players": ("Herons Ivo",)}, [1]),
    ],
)
def test_whose_match_it_is(match: dict[str, Any], found: list[int]) -> None:
    club = playing(**match)
    assert breaches(RULE, club, held(club, 2)) == found


@pytest.mark.parametrize(("span", "found"), [(Span(600, 640), []), (Span(600, 639), [1]), (Span(601, 640), [1])])
def test_whoever_misses_the_match_may_train(span: Span, found: list[int]) -> None:
    gone = Absence(who=("Herons Ivo",), occurs=Occurs(date=WEDNESDAY.date), span=span)
    club = playing().model_copy(update={"absences": (gone,)})
    assert breaches(RULE, club, held(club, 3)) == found


def test_a_match_of_the_sunday_before_keeps_the_monday_free() -> None:
    club = playing(date=MONDAY - dt.timedelta(days=1))
    assert breaches(RULE, club, held(club)) == [1]
    assert breaches(RULE, club, held(club, 1)) == []


def test_without_matches_it_is_off() -> None:
    assert RULE.off(a_club()) == "the Matches sheet is empty"
    assert RULE.off(playing()) is None
