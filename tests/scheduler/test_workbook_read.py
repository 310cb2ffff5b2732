"""A club file made into a Club: every column, both forms, blanks, weeks."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.club.people import AfterMatch, KeeperPolicy, KeeperStays, KeeperWish
from scheduler.club.programme import Contact, HeldAt, KitNeed, Sizes
from scheduler.club.when import Span
from scheduler.workbook.read import read_club
from scheduler.workbook.write import write_rows
from tests.club_files import faults_of, full, put, save_json, save_xlsx, village

MONDAY = dt.date(2026, 12, 7)


def test_both_forms_give_the_same_club(tmp_path: Path) -> None:
    from_json = read_club(save_json(tmp_path, full()))
    assert from_json == read_club(save_xlsx(tmp_path, full()))
    assert len(from_json.notes) == 2  # one team without a keeper policy, one plan shorter than its session


def test_every_column_of_places(tmp_path: Path) -> None:
    club = read_club(save_json(tmp_path, full()))
    assert (club.name, club.week, club.timezone, club.step) == ("Brae", MONDAY, "Europe/Dublin", 15)
    assert (club.gap, club.set_up, club.pack_up, club.rule_set) == (5, 5, 5, "NATA 2019; NSPCC")
    assert (club.heat_category, club.wake, club.way_home, club.wind_down) == (2, 6 * 60 + 45, 20, 45)
    shore = club.site("Shore")
    assert (shore.latitude, shore.longitude, shore.minutes_between) == (53.1, -6.1, 20)
    assert (shore.help_address, shore.defibrillator) == ("Shore Road, east gate", "porch")
    north = club.pitch("North")
    assert (north.zones, north.length, north.width, north.quality, north.goals_at) == (4, 90, 55.5, 4, "both ends")
    week_day, weekend = north.openings
    assert (week_day.span, week_day.lit, week_day.lights_out) == (Span(17 * 60, 24 * 60), True, 21 * 60)
    assert (weekend.days, weekend.lit, weekend.lights_out) == (frozenset({5, 6}), False, None)
    assert club.pitch("Cross").lies_on == "North"
    choir, fortnightly = club.booked
    assert (choir.zones, choir.occurs.days, choir.by) == ((1, 2), frozenset({2}), "choir")
    assert fortnightly.occurs.every == 2
    assert [(k.item, k.count) for k in club.kit] == [("ball size 4", 20), ("small goal", 4), ("bib green", 12)]
    weather = club.weather[0]
    # 31 C is 31 x 9 / 5 + 32 = 87.8 F
    assert (weather.wbgt_f, weather.wind_chill_f, weather.thunder_last) == (87.8, 28, 18 * 60 + 20)


def test_every_column_of_people(tmp_path: Path) -> None:
    club = read_club(save_json(tmp_path, full()))
    age = club.ages[0]
    assert (age.finish_by, age.week_load, age.ball, age.goal) == (20 * 60 + 30, 3000, "ball size 4", "small goal")
    assert (age.after_match, age.players_per_adult) == (AfterMatch.NO_CONTACT, 8)
    wrens, terns = club.teams
    assert (wrens.age_group, wrens.coaches, wrens.keepers) == (11, ("Ana", "Ben"), KeeperPolicy.EVERYONE)
    assert (wrens.keeper_stays, terns.keepers) == (KeeperStays.SESSION, KeeperPolicy.VOLUNTEERS)
    one, two, four, six = (club.player(f"P{i}") for i in (1, 2, 4, 6))
    assert (one.called, one.also_plays_for, one.family, one.keeper) == ("Ivo", ("Terns",), "Kane", KeeperWish.REGULAR)
    assert (two.even_up, four.apart_from) == (1, ("P5", "Ben"))
    assert (six.limits.no_contact, six.limits.no_heading, six.limits.max_minutes) == (True, False, 40)
    assert club.player("P12").called == "Pasha"
    assert (two.months_off, six.months_off) == (2, 1)
    assert (one.second_team_agreed, two.second_team_agreed) == (True, False)
    ana, ben, cho = club.coaches
    assert (ana.name, ana.keeper_coach, ana.first_aid_until) == ("Ana Silva", True, dt.date(2027, 5, 31))
    assert ana.available == (
        (frozenset(range(4)), Span(17 * 60, 20 * 60 + 30)),
        (frozenset({5}), Span(9 * 60, 12 * 60)),
    )
    assert (ben.helper_only, ben.name, cho.available) == (True, "Ben", None)


def test_every_column_of_the_programme(tmp_path: Path) -> None:
    club = read_club(save_json(tmp_path, full()))
    ends = club.practice("Ends")
    assert (ends.attackers, ends.defenders, ends.keepers) == (Sizes(2, 3, 4), Sizes(2, 2, 3), 1)
    assert (ends.areas, ends.rep, ends.changeover, ends.zones_per_area) == (2, 4, 1, 1)
    assert ends.kit_per_area == (KitNeed("ball", 4), KitNeed("goal", 1))
    assert ends.kit_per_player == (KitNeed("bib green", 1),)
    assert (ends.contact, ends.headers_a_rep, ends.rpe) == (Contact.SOME, 1, 6)
    assert (ends.m2_least, ends.m2_most) == (30, 120.5)
    assert [(row.block, row.minutes, row.reps, row.coaches_stay) for row in club.plans] == [
        ("1", 15, None, True),
        ("2", 30, 6, False),
    ]
    ask = club.sessions[0]
    assert (ask.zones, ask.days, ask.wished_days) == (None, frozenset(range(4)), frozenset({1}))
    assert (ask.earliest, ask.latest, ask.coaches_needed) == (17 * 60 + 15, 20 * 60, 3)
    assert (ask.sites, ask.pitches) == (("Shore",), ("North", "Cross"))
    assert ask.held_at == HeldAt(1, 18 * 60, "North", ())
    assert ask.weeks == {MONDAY, dt.date(2026, 12, 21)}
    assert (ask.with_players, ask.without_players) == (("P12",), ("P3",))
    assert (ask.needs_keeper_coach, ask.bibs_stay) == (True, "block")


def test_every_column_of_the_diary(tmp_path: Path) -> None:
    club = read_club(save_json(tmp_path, full()))
    match = club.matches[0]
    assert (match.zones, match.players, match.rpe) == ((3, 4), ("P1", "P2"), 7)
    assert match.zones_span == Span(9 * 60 + 30, 11 * 60 + 15)
    late, family, team = club.absences
    assert (late.who, late.span, late.why) == (("P7",), Span(0, 18 * 60 + 15), "dentist")
    assert family.who == ("P1", "P12", "Ana")  # the family's children, then its adult
    assert team.who == ("P12", "Ana")  # the Terns' only own player and a coach by name
    assert [team.occurs.on(MONDAY + dt.timedelta(days=d)) for d in range(5)] == [False, False, True, True, False]
    assert [row.what for row in club.elsewhere] == ["swimming"]
    assert [(row.player, row.minutes) for row in club.free_play] == [("P8", 90)]
    assert (club.carried[0].attack, club.carried[0].defend, club.carried[0].rest) == (4, -8, 2)
    back = club.returns[0]
    assert (back.player, back.symptoms_ended, back.cleared) == ("P10", dt.date(2026, 11, 25), False)


def test_least_typing_of_a_village(tmp_path: Path) -> None:
    club = read_club(save_json(tmp_path, village()))
    assert [site.id for site in club.sites] == ["Brae"]
    assert (club.pitch("Green").site, club.pitch("Green").zones) == ("Brae", 3)
    assert [(p.id, p.called) for p in club.players][:2] == [("Ivo Kane", "Ivo"), ("Noor Haddad", "Noor")]
    assert club.coach("Ana").available is None
    assert [(a.id, a.zones, a.minutes, a.coaches_needed) for a in club.sessions] == [
        ("Wrens 1", 1, 75, 2),
        ("Wrens 2", 1, 75, 2),
    ]
    # U11 are volunteers and nobody has been asked, so the packaged plan without keepers is taken
    assert club.team("Wrens").keepers == KeeperPolicy.VOLUNTEERS
    assert {ask.plan for ask in club.sessions} == {"U11 and U12, 75 minutes, no keepers"}
    said = " ".join(club.notes)
    for word in ("Ages", "Plans", "Practices", "Sessions", "Keepers", "Time zone"):
        assert f"{word} is blank" in said
    assert {"Kit", "Absences", "Coaches.First aid until", "Players.Limits"} <= club.blank
    assert not {"Players", "Sessions", "Players.Born", "Ages", "Practices.RPE"} & club.blank


@pytest.mark.parametrize(
    ("group", "born", "policy", "minutes"),
    [("U7", 2020, "everyone", 45), ("U10", 2017, "everyone", 60), ("U12", 2015, "volunteers", 75),
     ("U15", 2012, "volunteers", 90)],
)  # fmt: skip
def test_defaults_by_age(tmp_path: Path, group: str, born: int, policy: str, minutes: int) -> None:
    rows = village(teams=[{"team": "Wrens", "age_group": group, "coaches": "Ana; Ben"}])
    rows["players"] = [{**row, "born": born, "keeper": "willing"} for row in rows["players"]]
    club = read_club(save_json(tmp_path, rows))
    assert club.teams[0].keepers == policy
    assert {ask.minutes for ask in club.sessions} == {minutes}
    if group == "U7":
        games = [club.practice(row.practice) for row in club.plans if row.plan == club.sessions[0].plan]
        assert all(practice.keepers in (0, None) for practice in games)
    else:
        assert "no keepers" not in club.sessions[0].plan


def test_a_young_team_in_an_old_group_gets_a_shorter_plan(tmp_path: Path) -> None:
    # all are 8 on the Monday: at most 60 minutes, so not the 75 of U11
    rows = village()
    rows["players"] = [{**row, "born": "2018-03-05"} for row in rows["players"]]
    assert {ask.minutes for ask in read_club(save_json(tmp_path, rows)).sessions} == {60}


@pytest.mark.parametrize("born", [2014, "2014", "2014-05"])
def test_born_in_part_is_read_as_youngest(tmp_path: Path, born: object) -> None:
    rows = put(village(), "players", 0, born=born)
    last = dt.date(2014, 5, 31) if born == "2014-05" else dt.date(2014, 12, 31)
    assert read_club(save_json(tmp_path, rows)).players[0].born == last


def test_week_given_overrides_and_other_weeks_are_left_out(tmp_path: Path) -> None:
    rows = full()
    rows["matches"] = [
        {"team": "Wrens", "date": day, "kick_off": "10:00", "minutes": 50, "rpe": 7}
        for day in ("2026-12-06", "2026-12-07", "2026-12-21", "2026-12-22")
    ]
    rows["sessions"] = [{"session": "Wrens 1", "teams": "Wrens", "plan": "Evening"}]
    club = read_club(save_json(tmp_path, rows), week=dt.date(2026, 12, 16))
    assert club.week == dt.date(2026, 12, 14)
    # kept: from seven days before (7 Dec) to one day after (21 Dec)
    assert [match.date.day for match in club.matches] == [7, 21]
    assert club.weather == ()
    assert [absence.who for absence in club.absences] == [("P1", "P12", "Ana")]


def test_sessions_of_other_weeks_are_left_out(tmp_path: Path) -> None:
    rows = put(full(), "sessions", 0, weeks="2026-12-14")
    assert read_club(save_json(tmp_path, rows)).sessions == ()


def test_old_rows_do_not_disturb(tmp_path: Path) -> None:
    rows = full(matches=[{"team": "gone", "date": "2025-01-04", "kick_off": "x", "minutes": 50}])
    assert read_club(save_json(tmp_path, rows)).matches == ()


def test_rpe_of_packaged_practices_is_not_converted(tmp_path: Path) -> None:
    # 0-10 and 6-20 are different scales; no published conversion is used
    rows = village(club={"name": "Brae", "week": "2026-12-07", "rpe_scale": "6-20"})
    club = read_club(save_json(tmp_path, rows))
    assert all(practice.rpe is None for practice in club.practices)
    assert "Practices.RPE" in club.blank


def test_packaged_rows_fit_the_clubs_kit(tmp_path: Path) -> None:
    rows = village(kit=[{"item": "ball size 4", "count": 20}, {"item": "bib", "count": 10}])
    club = read_club(save_json(tmp_path, rows))
    needs = {need.item for p in club.practices for need in (*p.kit_per_area, *p.kit_per_player)}
    assert needs == {"ball", "bib"}
    assert any("'goal'" in note for note in club.notes)


def test_kit_of_ages_that_nobody_has_is_not_asked_for(tmp_path: Path) -> None:
    rows = full()
    rows["ages"] = [
        *rows["ages"],
        {**rows["ages"][0], "phase": "u6", "from_age": 4, "to_age": 5, "ball": "ball size 2"},
    ]
    assert read_club(save_json(tmp_path, rows)).ages[0].ball == "ball size 2"


def test_a_ball_size_the_packaged_ages_need(tmp_path: Path) -> None:
    # ten-year-olds play with size 4 in the packaged rows, and the club has size 5 only
    faults = faults_of(save_json(tmp_path, village(kit=[{"item": "ball size 5", "count": 20}])))
    assert faults == ["Kit: there is no 'ball size 4' in Kit, did you mean ball size 5? (ages 9 to 10 play with it)"]


def test_text_is_put_in_one_form(tmp_path: Path) -> None:
    rows = put(village(), "teams", 0, team="Wre\u200bns\u00a0")
    assert read_club(save_json(tmp_path, rows)).teams[0].id == "Wrens"


def test_names_in_any_case_are_found(tmp_path: Path) -> None:
    rows = put(village(), "players", 0, team="WRENS")
    assert read_club(save_json(tmp_path, rows)).players[0].team == "Wrens"


def test_called_is_settled_by_added_letters(tmp_path: Path) -> None:
    names = ("Ivo Kane", "Ivo Kovacs", "Ivo Lund", "Ivo", "Mia Roe", "Mia-Lou Roe")
    rows = village(players=[{"name": name, "born": 2016, "team": "Wrens"} for name in names])
    called = [player.called for player in read_club(save_json(tmp_path, rows)).players]
    assert called == ["Ivo Ka", "Ivo Ko", "Ivo L", "Ivo", "Mia", "Mia-Lou"]


_WORD = st.text(st.characters(min_codepoint=65, max_codepoint=0x24F, categories=("Lu", "Ll")), min_size=2, max_size=9)
_CLOCK = st.integers(0, 95).map(lambda q: f"{q // 4:02d}:{q % 4 * 15:02d}")


@st.composite
def clubs(draw: Any) -> dict[str, Any]:
    names = draw(st.lists(st.tuples(_WORD, _WORD), min_size=1, max_size=6, unique_by=lambda n: " ".join(n).casefold()))
    start = draw(st.integers(0, 80))
    rows = village()
    rows["pitches"] = [
        {"pitch": draw(_WORD), "zones": draw(st.integers(1, 6)), "lit": True,
         "from": f"{start // 4:02d}:{start % 4 * 15:02d}", "to": draw(st.sampled_from(["22:15", "23:59", "24:00"])),
         "days": draw(st.sampled_from([None, "Mon; Wed-Fri", "Sat-Mon"]))}
    ]  # fmt: skip
    rows["players"] = [
        {"player": f"c{i}", "name": " ".join(name), "called": f"c{i}", "team": "Wrens",
         "born": draw(st.dates(dt.date(2008, 1, 1), dt.date(2019, 1, 1))).isoformat(),
         "limits": draw(st.sampled_from([None, "no contact", "no heading; max 45"])),
         "keeper": draw(st.sampled_from([None, "regular", "willing", "no"]))}
        for i, name in enumerate(names)
    ]  # fmt: skip
    rows["sessions"] = [
        {"session": draw(_WORD), "teams": "Wrens", "zones": draw(st.sampled_from([1, 2, "whole"])),
         "earliest": draw(_CLOCK) if draw(st.booleans()) else None}
    ]  # fmt: skip
    rows["sessions"][0]["latest"] = None
    if rows["sessions"][0]["earliest"] and rows["sessions"][0]["earliest"] > "22:00":
        rows["sessions"][0]["earliest"] = "17:00"
    return rows


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=clubs())
def test_a_written_club_reads_back(tmp_path: Path, rows: dict[str, Any]) -> None:
    assert read_club(save_xlsx(tmp_path, rows)) == read_club(save_json(tmp_path, rows))


def test_the_same_rows_give_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a.xlsx", "b.xlsx"):
        write_rows(tmp_path / name, full())
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()


def test_reading_json_needs_no_spreadsheet_library(tmp_path: Path) -> None:
    path = save_json(tmp_path, village())
    code = (
        "import sys; from pathlib import Path; from scheduler.workbook.read import read_club; "
        f"read_club(Path({str(path)!r})); "
        "print(sorted({'openpyxl', 'pandas', 'xlsxwriter', 'ortools', 'astral'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
