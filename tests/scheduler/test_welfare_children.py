"""Every child against every limit, on plans made by counting off."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from constraints.age_phase_load import AgePhaseLoad
from scheduler.club.club import Club
from scheduler.club.people import Absence, Elsewhere, Limits, Match, Team
from scheduler.club.programme import PlanRow, SessionAsk
from scheduler.club.when import Occurs, Span
from scheduler.contract import Severity
from scheduler.plan.plan import StoodDown, WeekPlan
from scheduler.welfare.children import NOTHING_BEFORE, ChildReport, children
from scheduler.welfare.childweek import child_week
from scheduler.welfare.sleep import Evening, asleep_by, end_by
from scheduler.welfare.words import Word
from tests.clubs import BOTH_ENDS, MONDAY, WARM_UP, a_club, an_age_row, some_players
from tests.plans import counted_off

IVO = "Herons Ivo"
SIDE_BY_SIDE = (
    PlanRow(plan="Evening", block="1", practice=WARM_UP.id, minutes=30),
    PlanRow(plan="Evening", block="1", practice=BOTH_ENDS.id, minutes=30, reps=6),
)


def day(offset: int) -> dt.date:
    return MONDAY + dt.timedelta(days=offset)


def report(club: Club, plan: WeekPlan, player: str = IVO) -> ChildReport:
    return next(one for one in children(club, plan) if one.player == player)


def with_player(club: Club, **changes: Any) -> Club:
    return club.model_copy(update={"players": (club.players[0].model_copy(update=changes), *club.players[1:])})


def test_minutes_load_and_monotony_of_two_evenings() -> None:
    """A session: 15 x 3 + 30 x 6 + 28 x 7 = 421, the last two minutes have no block; 75 minutes of presence each.

    Two equal days of seven: monotony sqrt(2 / 5), strain 842 times that.
    """
    club = a_club(sessions=2)
    of = report(club, counted_off(club, (0, 1080), (2, 1080)))
    assert of.line("week minutes").planned == 150
    assert of.line("week load").planned == 842
    assert of.monotony == pytest.approx((2 / 5) ** 0.5)
    assert of.strain == pytest.approx(842 * (2 / 5) ** 0.5)
    assert of.week.loads_by_day() == (421, 0, 421, 0, 0, 0, 0)


def test_late_and_stood_down_minutes_do_not_count() -> None:
    """There from 18:10: 65 minutes. Stood down 18:15-18:45: 35 minutes, load 5 x 3 + 28 x 7 = 211."""
    late = Absence(who=(IVO,), occurs=Occurs(date=MONDAY), span=Span(0, 1090))
    club = a_club(absences=(late,))
    assert report(club, counted_off(club, (0, 1080))).line("session minutes, longest").planned == 65
    down = StoodDown(player=IVO, why="own limit", start=1095, end=1125)
    of = report(club, counted_off(club, (0, 1080), stood_down=(("Herons 1", down),)))
    assert of.line("session minutes, longest").planned == 35
    assert of.line("week load").planned == 211
    assert of.stood_down_minutes == 30


def test_matches_and_sport_elsewhere_fill_the_week() -> None:
    """75 + 50 (the whole team) + 60 + nothing from a match that names somebody else = 185 minutes, 3 days, 4 free."""
    named = Match(team="Herons", date=day(6), kick_off=600, minutes=40, rpe=7, players=("Herons Noor",))
    all_of_them = Match(team="Herons", date=day(5), kick_off=600, minutes=50, rpe=7)
    club = a_club(matches=(named, all_of_them), elsewhere=(Elsewhere(player=IVO, date=day(2), minutes=60, rpe=4),))
    of = report(club, counted_off(club, (0, 1080)))
    assert of.line("week minutes").planned == 185
    assert of.line("rest days").planned == 4
    assert of.line("week load").planned == 421 + 350 + 240
    assert report(club, counted_off(club, (0, 1080)), "Herons Noor").line("week minutes").planned == 165


def test_absent_from_a_match_throughout() -> None:
    away = Absence(who=(IVO,), occurs=Occurs(date=day(5)))
    match = Match(team="Herons", date=day(5), kick_off=600, minutes=50, rpe=7)
    club = a_club(matches=(match,), absences=(away,))
    assert report(club, counted_off(club, (0, 1080))).line("week minutes").planned == 75


def test_a_missing_rpe_makes_the_load_a_least_figure() -> None:
    """421 known; with a cap of 500 nobody can say, with 400 it is over whatever the rest is."""
    rows = (Elsewhere(player=IVO, date=day(2), minutes=60),)
    club = a_club(elsewhere=rows, ages=(an_age_row(week_load=500),))
    line = report(club, counted_off(club, (0, 1080))).line("week load")
    assert (line.word, line.note) == (Word.NOT_KNOWN, "at least so much: 1 without an RPE")
    club = a_club(elsewhere=rows, ages=(an_age_row(week_load=400),))
    assert report(club, counted_off(club, (0, 1080))).line("week load").word is Word.OVER


@pytest.mark.parametrize(
    ("cap", "word"), [(74, Word.OVER), (75, Word.CLOSE), (83, Word.CLOSE), (84, Word.ROOM), (None, Word.NO_NUMBER)]
)
def test_close_starts_at_90_per_cent(cap: int | None, word: Word) -> None:
    """75 of 83 is 90.4 %, 75 of 84 is 89.3 %."""
    club = a_club(ages=(an_age_row(session_minutes=cap),))
    assert report(club, counted_off(club, (0, 1080))).line("session minutes, longest").word is word


@pytest.mark.parametrize(
    ("latest", "word"), [(1154, Word.OVER), (1155, Word.CLOSE), (1169, Word.CLOSE), (1170, Word.ROOM)]
)
def test_finish_by(latest: int, word: Word) -> None:
    """18:00 and 75 minutes is 19:15 = 1155; close with less than 15 minutes to spare."""
    club = a_club(ages=(an_age_row(finish_by=latest),))
    assert report(club, counted_off(club, (0, 1080))).line("finish by").word is word


def test_days_in_a_row_reach_back_over_the_monday() -> None:
    """Saturday and Sunday elsewhere, then Monday: 3 in a row; without the Sunday 1. Rest days count the week alone."""
    before = tuple(Elsewhere(player=IVO, date=day(back), minutes=30, rpe=3) for back in (-2, -1))
    club = a_club(elsewhere=before)
    line = report(club, counted_off(club, (0, 1080))).line("days in a row")
    assert (line.planned, line.note) == (3, "")
    club = a_club(elsewhere=before[:1])
    of = report(club, counted_off(club, (0, 1080)))
    assert of.line("days in a row").planned == 1
    assert of.line("rest days").planned == 6
    assert of.line("week minutes").planned == 75


def test_where_nothing_is_known_before_monday_it_says_so() -> None:
    club = a_club()
    assert report(club, counted_off(club, (0, 1080))).line("days in a row").note == NOTHING_BEFORE
    old = (Elsewhere(player=IVO, date=day(-8), minutes=30, rpe=3),)
    club = a_club(elsewhere=old)
    assert report(club, counted_off(club, (0, 1080))).line("days in a row").note == NOTHING_BEFORE


def test_the_days_around_the_week_end_seven_before_and_one_after() -> None:
    """A row of the Monday before is known, one of the Sunday before that is not; the Monday after lengthens a run."""
    for back, known in ((-7, True), (-8, False)):
        club = a_club(elsewhere=(Elsewhere(player=IVO, date=day(back), minutes=30, rpe=3),))
        assert report(club, counted_off(club, (0, 1080))).week.known_before is known
    for ahead, run in ((7, 2), (8, 1)):
        club = a_club(elsewhere=(Elsewhere(player=IVO, date=day(ahead), minutes=30, rpe=3),))
        of = report(club, counted_off(club, (6, 1080)))
        assert of.line("days in a row").planned == run
        assert of.line("rest days").planned == 6


def test_a_run_wholly_before_the_week_is_not_this_weeks() -> None:
    """Five days of last week up to Saturday, then Monday: the run of this week is 1."""
    rows = tuple(Elsewhere(player=IVO, date=day(back), minutes=30, rpe=3) for back in range(-6, -1))
    club = a_club(elsewhere=rows)
    assert report(club, counted_off(club, (0, 1080))).line("days in a row").planned == 1


def test_a_birthday_inside_the_week_waits_for_the_next() -> None:
    """Born 9 September 2014, week of Monday 7 September 2026: 11, not yet 12; a week later 12."""
    rows = (an_age_row(phase="under 12", to_age=11, week_minutes=100), an_age_row(phase="12 up", from_age=12))
    club = with_player(a_club(ages=rows), born=dt.date(2014, 9, 9))
    of = report(club, counted_off(club, (0, 1080)))
    assert (of.age, of.phase, of.line("week minutes").cap) == (11, "under 12", 100)
    later = club.model_copy(update={"week": day(7)})
    of = report(later, counted_off(later, (0, 1080)))
    assert (of.age, of.phase, of.line("week minutes").cap) == (12, "12 up", 600)


@pytest.mark.parametrize(("monday", "age"), [("2027-02-22", 14), ("2027-03-01", 15), ("2028-02-28", 15)])
def test_born_on_29_february(monday: str, age: int) -> None:
    """Born 29 February 2012: 15 on 1 March 2027; in 2028 16 on 29 February, so 15 on Monday 28 February."""
    club = with_player(a_club(), born=dt.date(2012, 2, 29)).model_copy(update={"week": dt.date.fromisoformat(monday)})
    assert report(club, counted_off(club, (0, 1080))).age == age


def test_no_age_row_gives_no_number() -> None:
    club = with_player(a_club(ages=(an_age_row(to_age=11),)))
    of = report(club, counted_off(club, (0, 1080)))
    assert of.line("week minutes").word is Word.NO_NUMBER
    assert of.line("week minutes").source == "no age row holds 12 years"
    assert of.phase == "none"


def test_a_child_in_two_teams_has_one_week() -> None:
    """Herons on Monday and Kites on Tuesday: 150 minutes and two days in a row; one report under Herons."""
    club = with_player(a_club(teams=2, players=8), also_plays_for=("Kites",))
    plan = counted_off(club, (0, 1080), (1, 1080))
    of = report(club, plan)
    assert (of.team, of.line("week minutes").planned, of.line("days in a row").planned) == ("Herons", 150, 2)
    assert len(children(club, plan)) == 16
    assert of.line("sessions a day").word is Word.ROOM
    same_day = report(club, counted_off(club, (0, 1050), (0, 1140)))
    assert (same_day.line("sessions a day").planned, same_day.line("sessions a day").word) == (2, Word.OVER)


def test_the_week_of_a_clock_change_counts_wall_clock_minutes() -> None:
    """Dublin, Sunday 25 October 2026, clocks go back: a session from 10:00 is still 75 minutes of one day."""
    club = a_club(week=dt.date(2026, 10, 19))
    of = report(club, counted_off(club, (6, 600)))
    assert of.line("week minutes").planned == 75
    assert of.line("rest days").planned == 6
    assert of.line("finish by").planned == 675


def test_own_limits_have_lines_of_their_own() -> None:
    """max 40 under 75 planned minutes: over. The game has contact: one block where none is allowed."""
    limits = Limits(no_contact=True, no_heading=True, max_minutes=40)
    club = with_player(a_club(), limits=limits)
    of = report(club, counted_off(club, (0, 1080)))
    assert of.line("own limit, session minutes").word is Word.OVER
    assert (of.line("own limit, no contact").planned, of.line("own limit, no contact").word) == (1, Word.OVER)
    assert of.line("own limit, no heading").word is Word.ROOM
    with pytest.raises(KeyError):
        report(club, counted_off(club, (0, 1080)), "Herons Noor").line("own limit, no contact")


def test_headers_count_for_every_rep() -> None:
    """Six reps of 4 minutes with 3 headers each: 18 of 20, close; heading practice 24 minutes of the 30 a week."""
    heading = BOTH_ENDS.model_copy(update={"headers_a_rep": 3})
    base = a_club()
    club = base.model_copy(update={"practices": (base.practices[0], heading, base.practices[2])})
    plan = counted_off(club, (0, 1080))
    of = report(club, plan)
    assert (of.line("headers a week").planned, of.line("headers a week").word) == (18, Word.CLOSE)
    assert child_week(club, plan, IVO).sessions[0].heading_minutes == 24


def test_a_bare_booking_is_counted_the_same() -> None:
    """Before the rotation is made the session plan gives the blocks: same minutes, load and headers."""
    club = a_club()
    plan = counted_off(club, (0, 1080))
    bare = plan.model_copy(update={"sessions": tuple(s.model_copy(update={"blocks": ()}) for s in plan.sessions)})
    full, booked = report(club, plan), report(club, bare)
    assert [line.planned for line in full.lines] == [line.planned for line in booked.lines]


def test_stations_side_by_side_load_the_child_who_is_there() -> None:
    """Group 1 warms up for 30 minutes (30 x 3 = 90), group 2 plays both ends (30 x 6 = 180)."""
    club = a_club(plans=SIDE_BY_SIDE)
    plan = counted_off(club, (0, 1080))
    assert report(club, plan).line("week load").planned == 90
    assert report(club, plan, "Herons Noor").line("week load").planned == 180
    bare = plan.model_copy(update={"sessions": tuple(s.model_copy(update={"blocks": ()}) for s in plan.sessions)})
    assert report(club, bare).line("week load").planned == 180  # group not known yet: the harder station


@pytest.mark.parametrize("bare", [False, True])
@pytest.mark.parametrize("without", [(), (WARM_UP.id,), (BOTH_ENDS.id,), ("match",)])
@pytest.mark.parametrize("cap", [85, 120, 200, 400, 1000])
def test_the_audit_and_the_page_agree_on_the_load(cap: int, without: tuple[str, ...], bare: bool) -> None:
    """Stations side by side and missing RPEs: whoever is over on the page is a breach of the audit, by as much.

    Whoever is not known there is counted in the audit's one caution. Ivo warms up (90), Noor plays both ends (180), a
    match of 30 minutes adds 7 x 30 = 210; of what has no RPE nothing is added.
    """
    base = a_club(plans=SIDE_BY_SIDE, ages=(an_age_row(week_load=cap),))
    practices = tuple(p.model_copy(update={"rpe": None}) if p.id in without else p for p in base.practices)
    match = Match(team="Herons", date=day(4), kick_off=600, minutes=30, rpe=None if "match" in without else 7)
    club = base.model_copy(update={"practices": practices, "matches": (match,)})
    plan = counted_off(club, (0, 1080))
    if bare:
        plan = plan.model_copy(update={"sessions": tuple(s.model_copy(update={"blocks": ()}) for s in plan.sessions)})
    lines = {one.player: one.line("week load") for one in children(club, plan)}
    ivo, noor = (lines[player].planned for player in (IVO, "Herons Noor"))
    if not bare:
        assert ivo == 90 * (WARM_UP.id not in without) + 210 * ("match" not in without)
        assert noor == 180 * (BOTH_ENDS.id not in without) + 210 * ("match" not in without)
    found = [one for one in AgePhaseLoad().audit(club, plan) if one.unit in ("load", "children")]
    over = {p: (line.planned or 0) - cap for p, line in lines.items() if line.word is Word.OVER}
    assert {one.about[0]: one.by for one in found if one.severity is Severity.BREACH} == over
    unknown = sum(1 for line in lines.values() if line.word is Word.NOT_KNOWN)
    assert [one.by for one in found if one.severity is Severity.CAUTION] == [unknown] * (unknown > 0)


def test_a_pooled_session_of_two_age_groups() -> None:
    """The younger team's child keeps the younger team's heading answer (U11: none) in a session with U13."""
    teams = (
        Team(id="Herons", age_group=11, coaches=("coach Herons 1",), keepers="everyone"),
        Team(id="Kites", age_group=13, coaches=("coach Kites 1",), keepers="everyone"),
    )
    ask = SessionAsk(id="Pool", teams=("Herons", "Kites"), plan="Evening", minutes=75, zones=None)
    players = (*some_players("Herons", 4, first=0), *some_players("Kites", 4, first=4))
    club = a_club(teams=2).model_copy(update={"teams": teams, "sessions": (ask,), "players": players})
    plan = counted_off(club, (0, 1080))
    caps = {p: next(j.cap for j in report(club, plan, p).judgements if j.rule_set == "U.S. Soccer")
            for p in (IVO, "Kites Mia")}  # fmt: skip
    assert caps == {IVO: 0, "Kites Mia": 20}


def test_sleep_and_the_end_of_a_session() -> None:
    """Academy of Sleep Medicine 2016: at 10 and 12 nine hours, at 13 eight: 07:00 less 9 h is 22:00, less 8 h 23:00.

    Less 60 minutes to wind down and 30 on the way: 20:30 at 10. The 13th birthday moves it by exactly an hour.
    """
    assert [asleep_by(age, 420) for age in (10, 12, 13)] == [22 * 60, 22 * 60, 23 * 60]
    assert asleep_by(14, 390) == 22 * 60 + 30
    assert end_by(10) == 20 * 60 + 30
    assert (end_by(13) or 0) - (end_by(12) or 0) == 60
    assert end_by(19) is None
    assert end_by(10, Evening(wake=450, way_home=10, wind_down=60)) == 1280


def test_the_end_of_the_day_against_sleep() -> None:
    """Twelve years: by 20:30. From 19:30 the session ends 20:45: over for sleep, inside the row's 21:00."""
    club = a_club()
    of = report(club, counted_off(club, (0, 1170)))
    assert of.line("finish by, for sleep").word is Word.OVER
    assert of.line("finish by").word is Word.ROOM
    later = a_club(wake=450, way_home=10, wind_down=60)  # 07:30 less 9 h, 60 and 10 minutes: 21:20
    assert report(later, counted_off(later, (0, 1170))).line("finish by, for sleep").cap == 1280
    assert of.worst is Word.ROOM  # of the limits entered; the figure for sleep stands beside them
