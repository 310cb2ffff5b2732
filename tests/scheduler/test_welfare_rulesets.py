"""Published sets of limits: each judged by itself, and a set without a number says so."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from scheduler.club.club import Club
from scheduler.club.people import Elsewhere, Match
from scheduler.plan.plan import WeekPlan
from scheduler.welfare.heading import HEADING_SETS, heading_limit, stricter, word_for
from scheduler.welfare.judged import Judgement, judge_week
from scheduler.welfare.returns import protocol_of
from scheduler.welfare.rulesets import (
    LOAD_SETS,
    NATA,
    Chosen,
    chosen,
    hours_limit,
    rest_days,
    set_names,
    unknown_names,
)
from scheduler.welfare.supervision import NSPCC, SUPERVISION_SETS, adults_needed, supervise
from scheduler.welfare.words import Word
from tests.clubs import MONDAY, a_club, some_players
from tests.plans import counted_off

HEADING = {one.id: one for one in HEADING_SETS}
RATIOS = {one.id: one for one in SUPERVISION_SETS}
ALL_LOADS = Chosen(LOAD_SETS, (), NSPCC)


def a_week(club: Club) -> WeekPlan:
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=())


def sport(*rows: tuple[int, int]) -> tuple[Elsewhere, ...]:
    """(day offset, minutes) of sport elsewhere for the first child."""
    return tuple(
        Elsewhere(player="Herons Ivo", date=MONDAY + dt.timedelta(days=day), minutes=minutes, rpe=5)
        for day, minutes in rows
    )


def judged(club: Club, rule_set: str, limit: str) -> Judgement:
    lines = judge_week(club, a_week(club), "Herons Ivo", ALL_LOADS)
    return next(line for line in lines if line.rule_set == rule_set and line.limit == limit)


@pytest.mark.parametrize(
    ("minutes", "word"), [(720, Word.CLOSE), (735, Word.OVER), (640, Word.ROOM), (648, Word.CLOSE)]
)
def test_hours_a_week_not_more_than_years_of_age(minutes: int, word: Word) -> None:
    """NATA 2019, its own example: 12 years, 12 hours. 12.0 h holds, 12.25 h fails; 648 is 90 % of 720 minutes."""
    club = a_club(elsewhere=sport((0, minutes - 300), (2, 300)))
    assert judged(club, "NATA 2019", "hours a week against age").word is word


def test_nine_years_old_in_two_clubs() -> None:
    """Four times 90 minutes and a match of 50: 410 minutes, 6 h 50 of 9 h, holds; sport on 6 days leaves 1 of 2."""
    nine = some_players("Herons", 2, born=dt.date(2017, 5, 1))
    match = Match(team="Herons", date=MONDAY + dt.timedelta(days=5), kick_off=600, minutes=50)
    four = sport((0, 90), (1, 90), (2, 90), (3, 90))
    club = a_club(players=2, matches=(match,)).model_copy(update={"players": nine, "elsewhere": four})
    hours = judged(club, "NATA 2019", "hours a week against age")
    assert (hours.planned, hours.cap, hours.word) == (410, 540, Word.ROOM)
    assert judged(club, "NATA 2019", "rest days").planned == 2
    more = club.model_copy(update={"elsewhere": (*four, *sport((6, 10)))})
    assert judged(more, "NATA 2019", "rest days").word is Word.OVER


def test_the_set_that_failed_is_named() -> None:
    """Sport on six days: one day off, which is the least AAP asks for and less than NATA's two."""
    club = a_club(elsewhere=sport(*((day, 60) for day in range(6))))
    rows = judge_week(club, a_week(club), "Herons Ivo", ALL_LOADS)
    assert {row.rule_set for row in rows if row.limit == "rest days" and row.failed} == {"NATA 2019"}
    assert judged(club, "AAP 2024", "rest days").word is Word.CLOSE


def test_five_days_of_one_sport_and_another_on_the_sixth() -> None:
    """AAP's older wording: at most 5 days of a sport (5 here), and a day off from everything (the seventh)."""
    matches = tuple(
        Match(team="Herons", date=MONDAY + dt.timedelta(days=day), kick_off=600, minutes=20) for day in range(5)
    )
    club = a_club(matches=matches, elsewhere=sport((5, 60)))
    assert judged(club, "AAP older", "days of one sport").planned == 5
    assert not judged(club, "AAP older", "days of one sport").failed
    assert not judged(club, "AAP older", "rest days").failed
    full = a_club(matches=matches, elsewhere=sport((5, 60), (6, 60)))
    assert judged(full, "AAP older", "rest days").failed
    six = (*matches, matches[0].model_copy(update={"date": MONDAY + dt.timedelta(days=5)}))
    assert judged(a_club(matches=six), "AAP older", "days of one sport").failed


def test_a_second_team_fails_the_sets_that_ask_for_one() -> None:
    club = a_club(teams=2)
    double = club.players[0].model_copy(update={"also_plays_for": ("Kites",)})
    club = club.model_copy(update={"players": (double, *club.players[1:])})
    rows = judge_week(club, a_week(club), "Herons Ivo", ALL_LOADS)
    assert [row.rule_set for row in rows if row.failed] == ["NATA 2019", "AMSSM 2014", "IRFU"]


def with_first(club: Club, **changes: Any) -> Club:
    return club.model_copy(update={"players": (club.players[0].model_copy(update=changes), *club.players[1:])})


def test_a_second_team_with_the_parents_written_yes() -> None:
    """IRFU club guidance: not without prior written consent; the others ask for one team whatever the parents say."""
    for agreed, failed in ((False, ["NATA 2019", "AMSSM 2014", "IRFU"]), (True, ["NATA 2019", "AMSSM 2014"])):
        club = with_first(a_club(teams=2), also_plays_for=("Kites",), second_team_agreed=agreed)
        rows = judge_week(club, a_week(club), "Herons Ivo", ALL_LOADS)
        assert [row.rule_set for row in rows if row.failed] == failed


@pytest.mark.parametrize(
    ("off", "failed", "near"),
    [
        (4, [], ["NATA 2019"]),  # exactly at a least number is close
        (3, ["NATA 2019"], ["AAP 2016"]),  # January, July, August
        (2, ["NATA 2019", "AAP 2016"], ["AAP 2024", "AMSSM 2014"]),  # July and August
        (1, ["NATA 2019", "AAP 2024", "AAP 2016", "AMSSM 2014"], []),
    ],
)
def test_months_off_a_year(off: int, failed: list[str], near: list[str]) -> None:
    """AAP 2016: at least 3, one at a time if need be; AAP 2024, AMSSM 2014: 2 to 3; NATA 2019: 8 months on at most."""
    club = with_first(a_club(), months_off=off)
    rows = [row for row in judge_week(club, a_week(club), "Herons Ivo", ALL_LOADS) if row.limit == "months off a year"]
    assert [row.rule_set for row in rows if row.failed] == failed
    assert [row.rule_set for row in rows if row.word is Word.CLOSE] == near
    blank = judge_week(a_club(), a_week(a_club()), "Herons Ivo", ALL_LOADS)
    assert not any(row.limit == "months off a year" for row in blank)


@pytest.mark.parametrize(
    ("free", "failed"), [(300, False), (240, False), (239, True), (210, True), (0, True), (None, False)]
)
def test_organised_sport_and_free_play(free: int | None, failed: bool) -> None:
    """Jayanthi 2015: more than 2 to 1. 8 h organised: with 5 h free 1.6, with 4 h exactly 2.0, with 3.5 h 2.286.

    With none at all there is no ratio, and it is named; where nobody's free play is entered the set gives no number.
    """
    rows = [("Herons Ivo", free)] if free else []
    rows += [("Herons Noor", 60)] if free is not None else []
    play = tuple(Elsewhere(player=who, date=MONDAY, minutes=minutes) for who, minutes in rows)
    club = a_club(elsewhere=sport((0, 300), (2, 180)), free_play=play)
    line = judged(club, "Jayanthi 2015", "organised to free play")
    assert (line.failed, line.planned) == (failed, 480)
    assert (line.word is Word.NO_NUMBER) is (free is None)
    assert judged(club, "NATA 2019", "hours a week against age").planned == 480  # free play is under no limit


def test_of_several_ratios_and_ways_back_the_first_named_holds() -> None:
    for names, first in (("IRFU; NSPCC", "IRFU"), ("NSPCC; IRFU", "NSPCC")):
        assert chosen(a_club(rule_set=names)).supervision.id == first
    for names, first in (
        ("Berlin 2017; UK grassroots", "Berlin 2017"),
        ("UK grassroots; Berlin 2017", "UK grassroots"),
    ):
        assert protocol_of(a_club(rule_set=names)).id == first


def test_a_set_without_hours_says_so() -> None:
    """American Academy of Pediatrics gives no hours: neither 0 nor unlimited; hours by age are NATA's alone."""
    assert [one.id for one in LOAD_SETS if hours_limit(12, one) is not None] == ["NATA 2019"]
    line = judged(a_club(elsewhere=sport((0, 900))), "AAP 2024", "hours a week")
    assert (line.cap, line.word, line.failed) == (None, Word.NO_NUMBER, False)
    assert rest_days(NATA) == 2
    assert rest_days(LOAD_SETS[4]) is None


@pytest.mark.parametrize(
    ("age", "group", "minutes", "headers"),
    [
        (9, 10, 0, 0),
        (10, 11, 0, 0),
        (10, 12, 0, 0),
        (11, 12, 30, 20),
        (12, 13, 30, 20),
        (12, 14, 30, 20),
        (13, 14, None, None),
    ],
)
def test_us_soccer_heading_by_age_and_team(age: int, group: int, minutes: int | None, headers: int | None) -> None:
    """U.S. Soccer, Recognize to Recover, 2015 and 2016: the team's label is not the player's age."""
    says = heading_limit(age, group)
    assert (says.minutes, says.headers) == (minutes, headers)


@pytest.mark.parametrize(
    ("minutes", "headers", "word"),
    [
        ([15, 15], [5, 5], Word.CLOSE),  # 30 of 30 minutes
        ([15, 15, 15], [1, 1, 1], Word.OVER),
        ([10], [12, 9], Word.OVER),  # 21 of 20
        ([10], [12, 8], Word.CLOSE),
        ([10], [14], Word.ROOM),
        ([10], [15], Word.CLOSE),  # the published range is 15 to 20: close from 15
    ],
)
def test_us_soccer_heading_split_over_sessions(minutes: list[int], headers: list[int], word: Word) -> None:
    assert word_for(heading_limit(12, 13), minutes, headers) is word


def test_the_same_nine_year_old_under_every_body() -> None:
    """U.S. 0; Flanders 0 in an under-9 team, else nothing said; KNVB 10 a session at most; DFB and UEFA no number."""
    nine = {name: heading_limit(9, 10, rules).headers for name, rules in HEADING.items()}
    assert nine == {
        "U.S. Soccer": 0, "UEFA": None, "Scottish FA": 0, "Canada Soccer": None, "Voetbal Vlaanderen": None,
        "KNVB": 10, "DFB": None,
    }  # fmt: skip
    assert heading_limit(9, 9, HEADING["Voetbal Vlaanderen"]).headers == 0


@pytest.mark.parametrize("name", ["UEFA", "DFB", "Canada Soccer"])
def test_advice_stays_advice(name: str) -> None:
    for age in range(5, 19):
        says = heading_limit(age, age + 1, HEADING[name])
        assert not says.gives_a_number
        assert len(says.text) > 30
        assert word_for(says, [600], [900]) is Word.NO_NUMBER


def test_scottish_twelves_count_by_session() -> None:
    """12s: at most 5 headers in a session; 5 and 5 in two sessions are 5, not 10."""
    says = heading_limit(12, 13, HEADING["Scottish FA"])
    assert word_for(says, [], [5, 5]) is Word.CLOSE
    assert word_for(says, [], [6]) is Word.OVER
    assert heading_limit(11, 12, HEADING["Scottish FA"]).headers == 0


def test_a_child_in_two_teams_gets_the_stricter_answer() -> None:
    none, some = heading_limit(13, 14), heading_limit(13, 13)
    assert stricter(none, some) == stricter(some, none) == some


@pytest.mark.parametrize(
    ("count", "young", "middle", "old"),
    [
        (1, 2, 2, 2), (6, 2, 2, 2), (8, 2, 2, 2), (10, 2, 2, 2), (12, 2, 2, 2), (16, 3, 2, 2), (17, 3, 3, 2),
        (20, 4, 3, 2), (21, 4, 3, 3), (24, 4, 3, 3), (30, 5, 4, 3),
    ],
)  # fmt: skip
def test_nspcc_ratios(count: int, young: int, middle: int, old: int) -> None:
    """NSPCC: 4 to 8 years 1:6, 9 to 12 1:8, 13 to 18 1:10, at least two adults always; max(2, ceil(n / ratio))."""
    assert [adults_needed([age] * count) for age in (6, 10, 15)] == [young, middle, old]


def test_mixed_ages_go_by_the_youngest() -> None:
    """8 aged 8, 10 aged 10, 5 aged 13 at the ratio of the youngest: ceil(23 / 6) = 4 (sum of the bands: 5)."""
    assert adults_needed([8] * 8 + [10] * 10 + [13] * 5) == 4


@pytest.mark.parametrize(("name", "needed"), [("NSPCC", 3), ("Gaelic games", 3), ("IRFU", 2)])
def test_twenty_eleven_year_olds(name: str, needed: int) -> None:
    """1:8 gives ceil(2.5) = 3, 1:10 gives 2."""
    assert adults_needed([11] * 20, RATIOS[name]) == needed


def test_twelve_itself_is_on_the_cautious_side() -> None:
    """Gaelic games: under 12 1:8, over 12 1:10; 12 itself is in neither, so 1:8: 17 children need 3."""
    assert adults_needed([12] * 17, RATIOS["Gaelic games"]) == 3
    assert adults_needed([13] * 17, RATIOS["Gaelic games"]) == 2


def test_no_ratio_is_no_number() -> None:
    assert adults_needed([9] * 4, RATIOS["IRFU"]) is None
    assert adults_needed([]) == 0


def test_sets_are_chosen_by_name_and_a_wrong_one_is_named() -> None:
    assert [one.id for one in chosen(a_club()).loads] == ["NATA 2019", "AAP 2024"]
    of = chosen(a_club(rule_set=" aap 2016 ; KNVB; Gaelic games; NATA 2091"))
    assert [one.id for one in of.loads] == ["AAP 2016"]
    assert [one.id for one in of.heading] == ["KNVB"]
    assert of.supervision.id == "Gaelic games"
    assert of.unknown == ("NATA 2091 is no rule set known here; did you mean NATA 2019?",)
    assert unknown_names(None) == ()
    assert unknown_names("UK grassroots; IRFU; DFB") == ()
    assert "U.S. Soccer" in set_names()


def test_a_set_in_words() -> None:
    assert NATA.words.startswith(
        "hours a week at most the age in years; at least 2 days a week off; one team at a time; "
    )
    assert LOAD_SETS[1].words == "at least 1 to 2 days a week off; at least 2 to 3 months a year off the sport"


@pytest.mark.parametrize("rules", [*LOAD_SETS, *HEADING_SETS, *SUPERVISION_SETS], ids=lambda rules: rules.id)
def test_every_set_names_its_source(rules: Any) -> None:
    assert len(str(rules.source)) > 15


def test_who_looks_after_whom() -> None:
    """14 children of 12 years at 1:8 need ceil(14 / 8) = 2; 17 need 3, one more than there are."""
    club = a_club(players=14)
    plan = counted_off(club, (0, 1080))
    row = supervise(club, plan, plan.sessions[0])
    assert (row.children, row.youngest, row.row_needs, row.set_needs, row.short) == (14, 12, 2, 2, 0)
    assert row.first_aider == "Coach Herons 1"
    club = a_club(players=17)
    plan = counted_off(club, (0, 1080))
    assert supervise(club, plan, plan.sessions[0]).short == 1


def test_lapsed_checks_do_not_count_and_first_aid_is_missed() -> None:
    club = a_club(players=14)
    old = club.coaches[0].model_copy(update={"checked_until": MONDAY - dt.timedelta(days=1), "first_aid_until": None})
    other = club.coaches[1].model_copy(update={"checked_until": MONDAY, "first_aid_until": None})
    club = club.model_copy(update={"coaches": (old, other)})
    plan = counted_off(club, (0, 1080))
    row = supervise(club, plan, plan.sessions[0])
    assert row.adults == ("Coach Herons 2",)
    assert row.not_counted == ("Coach Herons 1",)
    assert row.short == 1
    assert "no first aider for the whole time" in row.remarks
