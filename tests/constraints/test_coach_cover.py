"""Coach cover against the table of the NSPCC and the Child Protection in Sport Unit: 1:6 at 4 to 8 years, 1:8 at 9 to
12, 1:10 at 13 to 18, and at least two adults always. What the source leaves open says so beside the check.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from constraints.coach_cover import CoachCover
from scheduler.audit import rules_off
from scheduler.booking.build import build_booking
from scheduler.booking.whereabouts import twice_at_once
from scheduler.club.club import Club
from scheduler.club.people import Absence
from scheduler.club.places import Pitch, Site
from scheduler.club.programme import PlanRow
from scheduler.club.when import Occurs, Span
from tests.bookings import allows
from tests.clubs import MONDAY, a_club, an_age_row, some_players
from tests.weeks import FIVE, SEVEN, SIX, breaches, held, hours, spoken, together, week_of, with_asks, with_coaches

RULE = CoachCover()
NSPCC = (
    an_age_row(from_age=4, to_age=8, players_per_adult=6),
    an_age_row(from_age=9, to_age=12, players_per_adult=8),
    an_age_row(from_age=13, to_age=18, players_per_adult=10),
)
TABLE = [(1, 2, 2, 2), (12, 2, 2, 2), (16, 3, 2, 2), (17, 3, 3, 2), (20, 4, 3, 2), (21, 4, 3, 3), (24, 4, 3, 3),
         (30, 5, 4, 3)]  # fmt: skip


def adults_of(club: Club, count: int) -> tuple[str, ...]:
    return tuple(coach.id for coach in club.coaches[:count])


def with_adults(club: Club, count: int) -> Club:
    """So many adults, the first of them the coach of the first team."""
    adults = tuple(club.coaches[0].model_copy(update={"id": f"adult {n}", "name": f"Adult {n}"}) for n in range(count))
    team = club.teams[0].model_copy(update={"coaches": ("adult 0",)})
    return club.model_copy(update={"coaches": adults, "teams": (team, *club.teams[1:])})


def children(*ages: tuple[int, int]) -> Club:
    """So many children of each age, and six adults."""
    rows = [
        player for age, count in ages for player in some_players("Herons", count, born=dt.date(MONDAY.year - age, 1, 9))
    ]
    players = tuple(player.model_copy(update={"id": f"child {n}"}) for n, player in enumerate(rows))
    return with_adults(a_club(ages=NSPCC).model_copy(update={"players": players}), 6)


@pytest.mark.parametrize(("adults", "missing"), [(1, [1]), (2, [])])
def test_never_one_adult_alone(adults: int, missing: list[int]) -> None:
    """Three children of 13 are one adult's by 1:10 and by Coaches needed; the source asks for two always."""
    club = with_asks(children((13, 3)), coaches_needed=1)
    assert breaches(RULE, club, held(club, coaches=adults_of(club, adults))) == missing


@pytest.mark.parametrize(("count", "at_8", "at_12", "at_13"), TABLE)
def test_adults_of_the_published_table(count: int, at_8: int, at_12: int, at_13: int) -> None:
    """One adult fewer than the table is a breach of one, the table itself is none."""
    for age, needed in ((8, at_8), (12, at_12), (13, at_13)):
        club = children((age, count))
        assert breaches(RULE, club, held(club, coaches=adults_of(club, needed))) == []
        assert breaches(RULE, club, held(club, coaches=adults_of(club, needed - 1))) == [1]


def test_the_youngest_there_sets_the_ratio() -> None:
    """8 of 8 years, 10 of 10 and 5 of 13: 23 children at 1:6 are 4 adults. The source gives no rule for mixed ages."""
    club = children((13, 5), (8, 8), (10, 10))
    assert breaches(RULE, club, held(club, coaches=adults_of(club, 4))) == []
    assert breaches(RULE, club, held(club, coaches=adults_of(club, 3))) == [1]
    older = tuple(player.id for player in club.players if (club.age(player) or 0) > 8)
    assert breaches(RULE, club, held(club, coaches=adults_of(club, 2), players=older)) == []
    assert spoken(RULE, club, held(club, coaches=adults_of(club, 3))) == [
        "Herons 1 has 3 adults and needs 4: one for every 6 of 23 players"
    ]


def test_two_adults_always_and_as_many_as_asked_for_and_as_there_are_stations() -> None:
    """For one child two adults are needed as well; Coaches needed may ask for three; three stations need three."""
    club = children((12, 1))
    assert spoken(RULE, club, held(club, coaches=adults_of(club, 1))) == ["Herons 1 has 1 adult and needs 2"]
    asked = with_asks(club, coaches_needed=3)
    assert breaches(RULE, asked, held(asked, coaches=adults_of(asked, 2))) == [1]
    assert breaches(RULE, asked, held(asked, coaches=adults_of(asked, 3))) == []
    three = tuple(together(name) for name in ("Passing", "Turning", "Shooting"))
    rows = tuple(PlanRow(plan="Evening", block="1", practice=practice.id, minutes=20) for practice in three)
    stations = club.model_copy(update={"practices": three, "plans": rows})
    assert breaches(RULE, stations, held(stations, coaches=adults_of(stations, 2))) == [1]
    assert breaches(RULE, stations, held(stations, coaches=adults_of(stations, 3))) == []


def test_a_coach_of_each_team_and_a_keeper_coach_where_asked() -> None:
    club = a_club(teams=2)
    both = club.model_copy(
        update={"sessions": (club.sessions[0].model_copy(update={"teams": ("Herons", "Kites"), "coaches_needed": 0}),)}
    )
    eight = tuple(player.id for player in both.players[:8])
    own = {"players": eight, "coaches": ("coach Herons 1", "coach Herons 2")}
    assert spoken(RULE, both, held(both, **own)) == ["Herons 1 has no coach of Kites"]
    assert breaches(RULE, both, held(both, players=eight, coaches=("coach Herons 1", "coach Kites 2"))) == []
    helper = with_coaches(both, 2, 3, helper_only=True)
    assert breaches(RULE, helper, held(helper, players=eight, coaches=("coach Herons 1", "coach Kites 2"))) == [1]
    keepers = with_asks(a_club(), needs_keeper_coach=True)
    assert spoken(RULE, keepers, held(keepers)) == ["Herons 1 has no keeper coach"]
    assert breaches(RULE, with_coaches(keepers, 1, keeper_coach=True), held(keepers)) == []


@pytest.mark.parametrize(("field", "expected"), [("checked_until", 2), ("first_aid_until", 75)])
def test_checks_and_first_aid_are_good_on_their_last_day(field: str, expected: int) -> None:
    """Two adults whose date is the day itself will do; dated the day before, two are unchecked, or 75 minutes bare."""
    for date, amount in ((MONDAY, 0), (MONDAY - dt.timedelta(days=1), expected), (None, expected)):
        club = with_coaches(a_club(), **{field: date})
        assert sum(breaches(RULE, club, held(club))) == amount


def test_a_column_wholly_empty_is_not_asked_for() -> None:
    """Nobody has a date in Checked until or First aid until: those two demands are off, two adults stay."""
    columns = frozenset({"Coaches.Checked until", "Coaches.First aid until"})
    club = with_coaches(a_club(blank=columns), checked_until=None, first_aid_until=None)
    assert breaches(RULE, club, held(club)) == []
    assert breaches(RULE, club, held(club, coaches=("coach Herons 1",))) == [1]
    assert rules_off(club, (RULE,)) == (
        "coach cover: checks of adults, the column Checked until is empty",
        "coach cover: first aiders, the column First aid until is empty",
    )
    assert rules_off(a_club(), (RULE,)) == ()


HOURS = ((frozenset({0}), Span(FIVE, FIVE + 75)), (frozenset({0}), Span(FIVE + 75, SEVEN)))


@pytest.mark.parametrize(
    ("changes", "start", "day", "found"),
    [
        ({"available": HOURS}, FIVE, 0, []),
        ({"available": HOURS}, FIVE - 1, 0, [1]),
        ({"available": HOURS}, FIVE + 1, 0, [1]),  # neighbouring entries are not joined
        ({"available": HOURS}, FIVE, 1, [1]),
        ({"available": None}, FIVE, 1, []),
        ({"available": ()}, FIVE, 0, [1]),
    ],
)
def test_available_for_the_whole_session(changes: dict[str, Any], start: int, day: int, found: list[int]) -> None:
    club = with_coaches(a_club(), 0, **changes)
    assert breaches(RULE, club, held(club, day, start)) == found


@pytest.mark.parametrize(
    ("span", "found"),
    [
        (Span(0, FIVE), []),
        (Span(0, FIVE + 1), [1]),
        (Span(FIVE + 75, 24 * 60), []),
        (Span(FIVE + 74, 24 * 60), [1]),
    ],
)
def test_an_adult_who_is_away_for_a_minute_of_it(span: Span, found: list[int]) -> None:
    gone = Absence(who=("coach Herons 1",), occurs=Occurs(date=MONDAY), span=span)
    club = a_club(absences=(gone,))
    assert breaches(RULE, club, held(club)) == found
    assert breaches(RULE, club, held(club, 1)) == []
    if found:
        said = "Coach Herons 1 is not available for Herons 1 on Mon 7 Sep 17:00-18:15"
        assert spoken(RULE, club, held(club)) == [said]


TWO_SITES = (Site(id="Marsh Lane", minutes_between=20), Site(id="Mill Road", minutes_between=10))
TWO_GROUNDS = (
    Pitch(id="North", site="Marsh Lane", zones=3, openings=hours(FIVE, 21 * 60)),
    Pitch(id="Mill", site="Mill Road", zones=3, openings=hours(FIVE, 21 * 60)),
)


@pytest.mark.parametrize(
    ("pitch", "start", "short"),
    [("North", SIX + 15, []), ("North", SIX + 14, [1]), ("Mill", SIX + 35, []), ("Mill", SIX + 34, [1])],
)
def test_one_place_at_a_time_and_the_way_between(pitch: str, start: int, short: list[int]) -> None:
    """The first session ends at 18:15; between the two sites lie 20 minutes, the longer of what they say."""
    club = a_club(teams=2, sites=TWO_SITES, pitches=TWO_GROUNDS)
    helper = ("coach Kites 1", "coach Herons 1")
    two = (held(club), held(club, start=start, number=1, pitch=pitch, coaches=helper))
    eight = [one.model_copy(update={"players": one.players[:8]}) for one in two]
    assert breaches(RULE, club, *eight) == short
    if short and pitch == "Mill":
        assert spoken(RULE, club, *eight) == [
            "Coach Herons 1 is at Herons 1 (17:00-18:15) and Kites 1 (18:34-19:49) on Mon 7 Sep, 20 minutes apart"
        ]


@pytest.mark.parametrize(("start", "bare"), [(FIVE, []), (FIVE + 15, [15]), (SIX + 15, [75])])
def test_a_first_aider_on_the_site_for_every_minute(start: int, bare: list[int]) -> None:
    """Only the Herons' coach is one: the Kites' 75 minutes are covered while the Herons train at the same site."""
    club = with_coaches(a_club(teams=2, players=8), 1, 2, 3, first_aid_until=None)
    assert breaches(RULE, club, held(club), held(club, start=start, number=1)) == bare
    apart = club.model_copy(update={"sites": TWO_SITES, "pitches": TWO_GROUNDS})
    assert breaches(RULE, apart, held(apart), held(apart, start=start, number=1, pitch="Mill")) == [75]
    if bare == [15]:
        assert spoken(RULE, club, held(club), held(club, start=start, number=1)) == [
            "no first aider at Marsh Lane on Mon 7 Sep for 15 minutes from 18:15"
        ]


@pytest.mark.parametrize(("start", "bare"), [(SIX + 15, []), (SIX + 30, [15])])
def test_first_aiders_may_hand_over_at_a_minute_but_not_later(start: int, bare: list[int]) -> None:
    """The Herons' aider leaves at 18:15, the Larks' comes at `start`; the Kites, who have none, train until 18:30."""
    club = with_coaches(a_club(teams=3, players=4), 2, 3, first_aid_until=None)
    week = (held(club), held(club, start=FIVE + 15, number=1), held(club, start=start, number=2))
    assert breaches(RULE, club, *week) == bare
    model = build_booking(club, (RULE,), switchable=True, free=True, wishes=False)
    assert allows(model, week_of(club, *week)) == (not bare)


@pytest.mark.parametrize(("start", "late"), [(FIVE + 75 + 19, True), (FIVE + 75 + 20, False)])
def test_an_adult_needs_the_minutes_between_two_sites(start: int, late: bool) -> None:
    """Twenty minutes from site to site; the booking's own look at a plan and the audit draw the same line."""
    club = a_club(teams=2, players=4).model_copy(update={"sites": TWO_SITES, "pitches": TWO_GROUNDS})
    both = tuple(coach.id for coach in club.coaches)
    week = (held(club, coaches=both), held(club, start=start, number=1, pitch="Mill", coaches=both))
    assert bool(list(twice_at_once(club, week_of(club, *week)))) == late
    assert bool(breaches(RULE, club, *week)) == late
