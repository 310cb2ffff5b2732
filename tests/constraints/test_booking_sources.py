"""Booking rules against what their sources print, and their edges in pairs: just inside, just outside."""

from __future__ import annotations

import datetime as dt

import pytest

from constraints.age_phase_load import AgePhaseLoad
from constraints.coach_cover import CoachCover
from constraints.daylight import Daylight
from constraints.enough_to_play import EnoughToPlay, least_players
from constraints.space import Space
from scheduler.club.club import Club
from scheduler.club.people import Elsewhere
from scheduler.club.places import Opening, Pitch
from scheduler.club.programme import Kind, Practice
from scheduler.club.when import Span
from scheduler.contract import Rule
from scheduler.plan.plan import PlannedSession, WeekPlan
from tests.clubs import MONDAY, WARM_UP, a_club, an_age_row, some_players

FIVE = 17 * 60


def held(club: Club, date: dt.date = MONDAY, start: int = FIVE, players: int | None = None, adults: int = 2,
         **changes: object) -> WeekPlan:  # fmt: skip
    """The first session of the club on a date, with so many of its players and coaches, by hand."""
    ask = club.sessions[0]
    pitch = club.pitches[0]
    planned = PlannedSession(
        session=ask.id,
        teams=ask.teams,
        date=date,
        start=start,
        end=start + ask.minutes,
        pitch=pitch.id,
        zones=tuple(range(1, pitch.zones + 1)),
        coaches=tuple(coach.id for coach in club.coaches[:adults]),
        players=tuple(player.id for player in club.members(ask.id)[:players]),
    )
    planned = planned.model_copy(update=changes)
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=(planned,))


def breaches(rule: Rule, club: Club, plan: WeekPlan) -> list[int]:
    return [int(found.by) for found in rule.audit(club, plan) if found.severity.value == "breach"]


# NSPCC and Child Protection in Sport Unit: 1:6 at 4 to 8, 1:8 at 9 to 12, 1:10 at 13 to 18, at least two adults
NSPCC = (
    an_age_row(from_age=4, to_age=8, players_per_adult=6),
    an_age_row(from_age=9, to_age=12, players_per_adult=8),
    an_age_row(from_age=13, to_age=18, players_per_adult=10),
)
TABLE = [(1, 2, 2, 2), (12, 2, 2, 2), (16, 3, 2, 2), (17, 3, 3, 2), (20, 4, 3, 2), (21, 4, 3, 3), (24, 4, 3, 3),
         (30, 5, 4, 3)]  # fmt: skip


@pytest.mark.parametrize(("count", "at_8", "at_12", "at_13"), TABLE)
def test_adults_of_the_published_table(count: int, at_8: int, at_12: int, at_13: int) -> None:
    """One adult fewer than the table is a breach of one, the table itself is none."""
    for age, needed in ((8, at_8), (12, at_12), (13, at_13)):
        born = dt.date(MONDAY.year - age, 1, 15)
        club = a_club(players=1, ages=NSPCC)
        team = some_players("Herons", count, born=born)
        adults = tuple(club.coaches[0].model_copy(update={"id": f"adult {n}"}) for n in range(5))
        first = club.teams[0].model_copy(update={"coaches": ("adult 0",)})
        club = club.model_copy(update={"players": team, "coaches": adults, "teams": (first,)})
        assert breaches(CoachCover(), club, held(club, adults=needed)) == []
        assert breaches(CoachCover(), club, held(club, adults=needed - 1)) == [1]


def test_the_youngest_there_sets_the_ratio() -> None:
    """8 of 8 years, 10 of 10 and 5 of 13: 23 children at 1:6 are 4 adults. The source gives no rule for mixed ages."""
    ages = ((8, 8), (10, 10), (13, 5))
    mixed = tuple(
        player
        for age, count in ages
        for player in some_players("Herons", count, first=age, born=dt.date(MONDAY.year - age, 1, 15))
    )
    club = a_club(ages=NSPCC).model_copy(
        update={"players": tuple(p.model_copy(update={"id": f"{n}"}) for n, p in enumerate(mixed))}
    )
    coach = club.coaches[0]
    adults = (*club.coaches, *(coach.model_copy(update={"id": f"helper {n}"}) for n in range(2)))
    club = club.model_copy(update={"coaches": adults})
    assert breaches(CoachCover(), club, held(club, adults=4)) == []
    assert breaches(CoachCover(), club, held(club, adults=3)) == [1]


@pytest.mark.parametrize(("field", "rule_found"), [("checked_until", 2), ("first_aid_until", 75)])
def test_checks_and_first_aid_are_good_on_their_last_day(field: str, rule_found: int) -> None:
    """Two adults whose date is the day itself will do; dated the day before, two are unchecked, or 75 minutes bare."""
    for date, expected in ((MONDAY, 0), (MONDAY - dt.timedelta(days=1), rule_found)):
        club = a_club()
        dated = tuple(coach.model_copy(update={field: date}) for coach in club.coaches)
        club = club.model_copy(update={"coaches": dated})
        assert sum(breaches(CoachCover(), club, held(club))) == expected


@pytest.mark.parametrize(("sunday", "over"), [(0, 0), (1, 52)])
def test_dublin_either_side_of_the_clock_change(sunday: int, over: int) -> None:
    """17:30 to 18:30 in Dublin: civil dusk 18:40 on 26 October 2024, 17:38 on the 27th (computed, not published)."""
    date = dt.date(2024, 10, 26) + dt.timedelta(days=sunday)
    pitch = Pitch(id="North", site="Marsh Lane", zones=3,
                  openings=(Opening(span=Span(FIVE, 21 * 60), lit=False),))  # fmt: skip
    club = a_club(week=dt.date(2024, 10, 21), pitches=(pitch,))
    asks = tuple(ask.model_copy(update={"minutes": 60}) for ask in club.sessions)
    club = club.model_copy(update={"sessions": asks})
    assert breaches(Daylight(), club, held(club, date, FIVE + 30)) == ([over] if over else [])


@pytest.mark.parametrize(("rest_days", "expected"), [(1, []), (2, [1])])
def test_six_days_of_sport_pass_one_rest_day_and_fail_two(rest_days: int, expected: list[int]) -> None:
    """AAP 2024 asks for one to two days off a week, NATA 2019 for two: six days leave one."""
    row = an_age_row(rest_days=rest_days, days_in_a_row=None, week_minutes=None)
    others = tuple(
        Elsewhere(player="Herons Ivo", date=MONDAY + dt.timedelta(days=day), minutes=30) for day in range(1, 6)
    )
    club = a_club(players=1, keepers=0, ages=(row,), elsewhere=others)
    assert breaches(AgePhaseLoad(), club, held(club)) == expected


@pytest.mark.parametrize(("beside", "expected"), [(720 - 75, []), (735 - 75, [15])])
def test_twelve_hours_at_twelve_years(beside: int, expected: list[int]) -> None:
    """NATA 2019: hours a week not above age in years; at 12 years 12.0 hours pass and 12.25 fail, all sport added."""
    others = (Elsewhere(player="Herons Ivo", date=MONDAY + dt.timedelta(days=2), minutes=beside),)
    club = a_club(players=1, keepers=0, ages=(an_age_row(week_minutes=12 * 60),), elsewhere=others)
    assert breaches(AgePhaseLoad(), club, held(club)) == expected


@pytest.mark.parametrize(("least", "broken"), [(324.5, False), (324.6, True)])
def test_metres_a_player_of_a_full_pitch(least: float, broken: bool) -> None:
    """IFAB Law 1 allows 105 x 68 m: 7140 m2, 324.5 for each of 22 (a 2025 study prints 325)."""
    practice = Practice(id="Eleven a side", kind=Kind.TOGETHER, m2_least=least)
    pitch = Pitch(id="Main", site="Marsh Lane", zones=3, length=105, width=68,
                  openings=(Opening(span=Span(FIVE, 21 * 60)),))  # fmt: skip
    club = a_club(players=22, practices=(practice,), pitches=(pitch,))
    rows = (club.plans[0].model_copy(update={"practice": practice.id}),)
    club = club.model_copy(update={"plans": rows})
    assert bool(list(Space().audit(club, held(club)))) is broken


def test_least_players_of_a_plan() -> None:
    """At both ends two areas of 3 + 2 + 1 are 12; a game of two sides of 4 and a keeper each is 10: 12 are needed."""
    club = a_club()
    assert least_players(club, club.sessions[0].id) == 12
    assert breaches(EnoughToPlay(), club, held(club, players=12)) == []
    assert breaches(EnoughToPlay(), club, held(club, players=11)) == [1]


@pytest.mark.parametrize(("players", "expected"), [(1, []), (0, [1])])
def test_a_session_for_nobody_is_none(players: int, expected: list[int]) -> None:
    """A plan of practices without sizes can be played by one, and not by none."""
    club = a_club(practices=(WARM_UP,))
    rows = (club.plans[0].model_copy(update={"practice": WARM_UP.id}),)
    club = club.model_copy(update={"plans": rows})
    assert least_players(club, club.sessions[0].id) == 1
    assert breaches(EnoughToPlay(), club, held(club, players=players)) == expected
