"""Age-phase load against NATA 2019 (hours a week not above age in years, two days off) and AAP 2024 (one to two days
off); the other limits are the club's own age rows, in pairs just inside and just outside.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from constraints.age_phase_load import AgePhaseLoad
from scheduler.club.club import Club
from scheduler.club.people import Absence, Elsewhere, Match
from scheduler.club.when import Occurs, Span
from scheduler.plan.plan import PlannedSession, StoodDown
from tests.clubs import MONDAY, a_club, an_age_row
from tests.weeks import FIVE, SIX, breaches, found, held, spoken, together, with_asks, with_practices

RULE = AgePhaseLoad()
NO_LIMITS: dict[str, Any] = {
    "session_minutes": None, "sessions_a_week": None, "week_minutes": None, "rest_days": None, "days_in_a_row": None,
    "finish_by": None, "week_load": None,
}  # fmt: skip


def limited(sessions: int = 1, **limits: Any) -> Club:
    """One child, Ivo of 12, whose age row has these limits and no others."""
    return a_club(players=1, keepers=0, sessions=sessions, ages=(an_age_row(**{**NO_LIMITS, **limits}),))


def beside(club: Club, *rows: tuple[int, int], rpe: int | None = None) -> Club:
    """With sport elsewhere: (day counted from the Monday, minutes)."""
    return club.model_copy(
        update={
            "elsewhere": tuple(
                Elsewhere(player="Herons Ivo", date=MONDAY + dt.timedelta(days=day), minutes=minutes, rpe=rpe)
                for day, minutes in rows
            )
        }
    )


def on(club: Club, *days: int, start: int = FIVE) -> list[PlannedSession]:
    """The club's sessions in turn on these days."""
    return [held(club, day, start, number) for number, day in enumerate(days)]


@pytest.mark.parametrize(("minutes", "over"), [(720 - 75, []), (735 - 75, [15])])
def test_twelve_hours_at_twelve_years(minutes: int, over: list[int]) -> None:
    """NATA 2019's own example: a child of 12 at most 12 hours a week; 12.0 pass and 12.25 fail, all sport added."""
    club = beside(limited(week_minutes=12 * 60), (2, minutes))
    assert breaches(RULE, club, held(club)) == over
    if over:
        said = "Ivo has 15 minutes too many in the week (welfare file)"
        assert spoken(RULE, club, held(club)) == [said]


@pytest.mark.parametrize(("rest_days", "short"), [(1, []), (2, [1])])
def test_six_days_of_sport_pass_one_rest_day_and_fail_two(rest_days: int, short: list[int]) -> None:
    """AAP 2024 asks for one to two days off a week, NATA 2019 for two: six days leave one."""
    club = beside(limited(rest_days=rest_days), *((day, 30) for day in range(1, 6)))
    assert breaches(RULE, club, held(club)) == short
    if short:
        assert spoken(RULE, club, held(club)) == ["Ivo has one day of rest too few (welfare file)"]


def test_nine_year_olds_in_four_sessions_and_a_match() -> None:
    """NATA 2019: at 9 years at most 9 hours; 4 x 90 minutes and a match of 50 are 6 h 50."""
    born = dt.date(MONDAY.year - 9, 3, 1)
    club = with_asks(limited(sessions=4, week_minutes=9 * 60, rest_days=2), minutes=90)
    players = tuple(player.model_copy(update={"born": born}) for player in club.players)
    match = Match(team="Herons", date=MONDAY + dt.timedelta(days=5), kick_off=600, minutes=50)
    club = club.model_copy(update={"players": players, "matches": (match,)})
    assert breaches(RULE, club, *on(club, 0, 1, 2, 3)) == []
    tight = club.model_copy(update={"ages": (an_age_row(**{**NO_LIMITS, "week_minutes": 6 * 60 + 49}),)})
    assert breaches(RULE, tight, *on(tight, 0, 1, 2, 3)) == [1]


OUTSIDE_THE_FILE = {
    "week_minutes": "has 1 minute too many in the week (welfare file)",
    "days_in_a_row": "plays one day too many in a row (welfare file)",
    "rest_days": "has one day of rest too few (welfare file)",
}


@pytest.mark.parametrize(
    ("limits", "inside", "outside", "by", "said"),
    [
        ("session_minutes", 75, 74, 1, "has 75 minutes in Herons 1, at most 74"),
        ("finish_by", FIVE + 75, FIVE + 74, 1, "is in Herons 1 until 18:15, after 18:14"),
        ("week_minutes", 75, 74, 1, "has 75 minutes in the week, at most 74"),
        ("sessions_a_week", 1, 0, 1, "has 1 session in the week, at most 0"),
        ("days_in_a_row", 1, 0, 1, "plays one day in a row from Mon 7 Sep, at most 0"),
        ("rest_days", 6, 7, 1, "rests on 6 days, at least 7"),
    ],
)
def test_each_limit_in_a_pair(limits: str, inside: int, outside: int, by: int, said: str) -> None:
    club = limited(**{limits: inside})
    assert breaches(RULE, club, held(club)) == []
    club = limited(**{limits: outside})
    assert breaches(RULE, club, held(club)) == [by]
    (one,) = found(RULE, club, held(club))
    assert one.text == f"Ivo {OUTSIDE_THE_FILE.get(limits, said)}"
    assert one.private == f"Ivo Herons: {said} (age row all)"


def test_one_session_a_day() -> None:
    """Common practice, no source."""
    club = limited(sessions=2)
    assert breaches(RULE, club, held(club), held(club, start=SIX + 15, number=1)) == [1]
    assert breaches(RULE, club, *on(club, 0, 1)) == []


def test_load_is_rpe_times_minutes_of_each_block_and_of_what_is_beside() -> None:
    """Foster 1998: 37 x 4 + 37 x 8 = 444, and 20 minutes elsewhere at 2 are 40: 484; two minutes are no block's."""
    parts = (together(rpe=4), together("Running", rpe=8))
    for cap, over in ((484, []), (483, [1])):
        club = beside(with_practices(limited(week_load=cap), *parts), (6, 20), rpe=2)
        assert breaches(RULE, club, held(club)) == over
    match = Match(team="Herons", date=MONDAY, kick_off=600, minutes=10, rpe=9)
    for cap, over in ((574, []), (573, [1])):
        club = beside(with_practices(limited(week_load=cap), *parts), (6, 20), rpe=2)
        club = club.model_copy(update={"matches": (match,)})
        assert breaches(RULE, club, held(club)) == over


@pytest.mark.parametrize(("downs", "over"), [((FIVE + 60, FIVE + 75), []), ((FIVE + 61, FIVE + 75), [1])])
def test_minutes_stood_down_or_away_do_not_count(downs: tuple[int, int], over: list[int]) -> None:
    club = limited(session_minutes=60)
    down = StoodDown(player="Herons Ivo", why="week limit", start=downs[0], end=downs[1])
    assert breaches(RULE, club, held(club, stood_down=(down,))) == over
    gone = Absence(who=("Herons Ivo",), occurs=Occurs(date=MONDAY), span=Span(*downs))
    club = club.model_copy(update={"absences": (gone,)})
    assert breaches(RULE, club, held(club)) == over


@pytest.mark.parametrize(
    ("days", "session", "over"),
    [
        ((1, 2), 0, [1]),  # Monday to Wednesday
        ((1, 3), 0, []),
        ((-2, -1), 0, [1]),  # the week before counts
        ((-3, -2), 0, []),
        ((7,), 6, []),
        ((5, 7), 6, [1]),  # the day after the week counts
        ((5, 8), 6, []),  # what comes later is not looked at
        ((1, 2, 3), 5, []),  # a run the session is no part of is nobody's doing here
    ],
)
def test_at_most_two_days_in_a_row(days: tuple[int, ...], session: int, over: list[int]) -> None:
    club = beside(limited(days_in_a_row=2), *((day, 30) for day in days))
    assert breaches(RULE, club, held(club, session)) == over


def test_a_week_before_and_a_day_after_are_all_that_is_looked_at() -> None:
    """Seven days before the Monday and the Monday are eight in a row; a ninth before them is not known of."""
    club = beside(limited(days_in_a_row=8), *((day, 30) for day in range(-8, 0)))
    assert breaches(RULE, club, held(club)) == []
    club = beside(limited(days_in_a_row=7), *((day, 30) for day in range(-8, 0)))
    assert breaches(RULE, club, held(club)) == [1]


@pytest.mark.parametrize(
    ("changes", "counted"),
    [
        ({}, True),
        ({"players": ("Herons Ivo",)}, True),
        ({"players": ("Herons Noor",)}, False),
        ({"minutes": 0}, False),
        ({"date": MONDAY + dt.timedelta(days=7)}, False),
    ],
)
def test_whose_match_counts(changes: dict[str, Any], counted: bool) -> None:
    """75 minutes of session and 60 of match against 100, for whoever is named or, nobody named, the whole team."""
    match = Match(team="Herons", date=MONDAY, kick_off=600, minutes=60).model_copy(update=changes)
    base = a_club(players=2, keepers=0, ages=(an_age_row(**{**NO_LIMITS, "week_minutes": 100}),), matches=(match,))
    assert breaches(RULE, base, held(base, players=("Herons Ivo",))) == ([35] if counted else [])
    for span, missed in ((Span(600, 660), True), (Span(601, 660), False)):
        gone = Absence(who=("Herons Ivo",), occurs=Occurs(date=match.date), span=span)
        club = base.model_copy(update={"absences": (gone,)})
        assert breaches(RULE, club, held(club, players=("Herons Ivo",))) == ([35] if counted and not missed else [])


def test_a_child_of_no_age_row_trains_once_a_day_all_the_same() -> None:
    club = limited(sessions=2).model_copy(update={"ages": (an_age_row(to_age=6),)})
    assert breaches(RULE, club, held(club), held(club, start=SIX + 15, number=1)) == [1]
