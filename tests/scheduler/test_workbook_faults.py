"""Faults name the cell, say what is wrong and what would be right, all at once, and never quote confidential cells."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.club_files import faults_of, full, put, save_json, save_xlsx, village

# (sheet, row, cells to change, where the fault stands, what it must say)
CASES: list[tuple[str, int, dict[str, Any], str, str]] = [
    ("sites", 0, {"latitude": 153}, "Sites!1 latitude", "write a number from -90 to 90"),
    ("pitches", 0, {"site": "Shoar"}, "Pitches!1 site", "did you mean Shore?"),
    ("pitches", 0, {"zones": 7}, "Pitches!1 zones", "from 1 to 6"),
    ("pitches", 0, {"zones": 2.5}, "Pitches!1 zones", "without decimals"),
    ("pitches", 0, {"lit": "maybe"}, "Pitches!1 lit", "yes, no or a time"),
    ("pitches", 0, {"to": "16:00"}, "Pitches!1 to", "not after From"),
    ("pitches", 0, {"from": "25:00"}, "Pitches!1 from", "between 00:00 and 24:00"),
    ("pitches", 0, {"days": "Mondey"}, "Pitches!1 days", "Mon; Wed-Fri"),
    ("pitches", 3, {"length_m": None}, "Pitches!4 length_m", "empty here and filled in other rows"),
    ("pitches", 1, {"zones": 3}, "Pitches!2 zones", "differs from Pitches!1 zones"),
    ("pitches", 2, {"lies_on": "Cross"}, "Pitches!3 lies_on", "cannot lie on itself"),
    ("booked", 0, {"zones": "4; 5"}, "Booked!1 zones", "North has zones 1 to 4"),
    ("booked", 0, {"days": None}, "Booked!1 date", "fill in one of them"),
    ("booked", 1, {"date": None}, "Booked!2 date", "Every 2 needs both Date"),
    ("booked", 1, {"until": "2026-01-01"}, "Booked!2 until", "before Date"),
    ("ages", 0, {"to_age": 8}, "Ages!1 to_age", "below From age"),
    ("ages", 0, {"to_age": 9}, "Ages: no row holds age 10", "12 children"),
    ("ages", 0, {"ball": "ball size 5"}, "Ages!1 ball", "did you mean ball size 4?"),
    ("ages", 0, {"source": None}, "Ages!1 source", "Source is empty"),
    ("ages", 0, {"after_a_match": "sleep"}, "Ages!1 after_a_match", "rest or no contact or any"),
    ("teams", 0, {"age_group": "U30"}, "Teams!1 age_group", "U4 to U21"),
    ("teams", 0, {"coaches": "Ana, Ben"}, "Teams!1 coaches", "separate several with ; such as Ana; Ben"),
    ("teams", 0, {"coaches": "Ben; Ana"}, "Teams!1 coaches", "helper only"),
    ("matches", 0, {"team": "Wrenz"}, "Matches!1 team", "did you mean Wrens?"),
    ("matches", 0, {"rpe": 12}, "Matches!1 rpe", "from 0 to 10"),
    ("matches", 0, {"kick_off": "23:30"}, "Matches!1 minutes", "after midnight"),
    ("matches", 0, {"zones_to": "09:00"}, "Matches!1 zones_to", "not after Zones from"),
    ("matches", 0, {"pitch": None}, "Matches!1 pitch", "name the pitch"),
    ("sessions", 0, {"plan": "Evenin"}, "Sessions!1 plan", "did you mean Evening?"),
    ("sessions", 0, {"teams": "Wrens; Robins"}, "Sessions!1 teams", "no team 'Robins'"),
    ("sessions", 0, {"minutes": 40}, "Sessions!1 minutes", "takes 45 minutes, write at least 45"),
    (
        "sessions",
        0,
        {"minutes": 90},
        "Sessions!1 minutes",
        "too long for every child of this session, write at most 75",
    ),
    ("sessions", 0, {"latest": "18:00"}, "Sessions!1 latest", "do not fit between Earliest and Latest"),
    ("sessions", 0, {"held_at": "Tue 18:00 Nord"}, "Sessions!1 held_at", "Wed 18:00 North 1; 2"),
    ("sessions", 0, {"held_at": "North 4; 5", "zones": 2}, "Sessions!1 held_at", "zones 1 to 4"),
    ("sessions", 0, {"held_at": "North 1; 3", "zones": 2}, "Sessions!1 held_at", "not neighbours"),
    ("sessions", 0, {"held_at": "North 1", "zones": 2}, "Sessions!1 held_at", "write the same number"),
    ("sessions", 0, {"needs": "referee"}, "Sessions!1 needs", "keeper coach"),
    ("players", 0, {"team": "Ternz"}, "Players!1 team", "did you mean Terns?"),
    ("players", 0, {"called": "Pasha"}, "Players!12 called", "Called 'Pasha' stands in Players!1 called too"),
    ("coaches", 0, {"first_aid_until": "31/05/2027"}, "Coaches!1 first_aid_until", "year-month-day"),
    ("coaches", 0, {"available": "Mon 20:00-18:00"}, "Coaches!1 available", "end before they begin"),
    ("kit", 0, {"site": None}, "Kit!1 site", "Shore or Yard"),
    ("kit", 0, {"count": -1}, "Kit!1 count", "from 0 to"),
    ("practices", 1, {"attackers": None}, "Practices!2 attackers", "a part needs it"),
    ("practices", 1, {"attackers": "5 (6 to 7)"}, "Practices!2 attackers", "4 (3 to 5)"),
    ("practices", 1, {"rep": None}, "Practices!2 rep", "a part needs it"),
    ("practices", 1, {"kind": "game"}, "Practices!2 defenders", "leave Defenders blank"),
    ("practices", 1, {"kit_per_area": "ball"}, "Practices!2 kit_per_area", "without a count"),
    ("practices", 1, {"kit_per_player": "bib gren 1"}, "Practices!2 kit_per_player", "did you mean bib green?"),
    ("practices", 1, {"rpe": 15}, "Practices!2 rpe", "from 0 to 10"),
    ("practices", 0, {"rpe": None}, "Practices!1 rpe", "empty here and filled in other rows"),
    ("practices", 1, {"m2_a_player_most": 20}, "Practices!2 m2_a_player_most", "below the least"),
    ("plans", 1, {"practice": "Endz"}, "Plans!2 practice", "did you mean Ends?"),
    # seven reps of 4 with 1 between need 7 x 4 + 6 = 34 minutes; (30 + 1) // 5 = 6 fit
    ("plans", 1, {"reps": 7}, "Plans!2 reps", "write at most 6"),
    ("plans", 1, {"minutes": 3, "reps": None}, "Plans!2 minutes", "no rep of Ends fits"),
    ("absences", 0, {"to": "00:00"}, "Absences!1 to", "write a later time"),
    ("absences", 0, {"who": "P77"}, "Absences!1 who", "no player or coach or team 'P77'"),
    ("weather", 0, {"wbgt": 31}, "Weather!1 wbgt", "31 C or 88 F"),
    ("weather", 0, {"wbgt": "hot"}, "Weather!1 wbgt", "with its unit"),
]


@pytest.mark.parametrize(("sheet", "index", "cells", "where", "says"), CASES)
def test_one_fault(tmp_path: Path, sheet: str, index: int, cells: dict[str, Any], where: str, says: str) -> None:
    faults = faults_of(save_json(tmp_path, put(full(), sheet, index, **cells)))
    assert len(faults) == 1, faults
    assert faults[0].startswith(where)
    assert says in faults[0]


@pytest.mark.parametrize(
    ("sheet", "index", "cells", "fault"),
    [
        ("teams", 1, {"team": "wrens"}, "Teams!2 team: team 'wrens' stands in Teams!1 team too, give each its own"),
        ("players", 1, {"player": "P1"},
         "Players!2 player: player 'P1' stands in Players!1 player too, give each its own"),
        ("coaches", 2, {"coach": "P3"}, "Coaches!3 coach: 'P3' is a player's id too, give one of the two another"),
    ],
)  # fmt: skip
def test_an_id_given_twice(tmp_path: Path, sheet: str, index: int, cells: dict[str, Any], fault: str) -> None:
    # the old id is gone with the change, so what referred to it is a fault as well
    assert fault in faults_of(save_json(tmp_path, put(full(), sheet, index, **cells)))


CONFIDENTIAL = [
    ("players", 0, {"born": "31/02/2013"}, "31/02"),
    ("players", 0, {"born": "2031-01-02"}, "2031"),
    ("players", 0, {"born": "1984-06-01"}, "1984"),
    ("players", 0, {"limits": "asthma"}, "asthma"),
    ("players", 0, {"apart_from": "Bully"}, "Bully"),
    ("players", 0, {"apart_from": "P1"}, "P1 "),
    ("players", 0, {"even_up": "hopeless"}, "hopeless"),
    ("players", 0, {"keeper": "never"}, "never"),
    ("absences", 0, {"why": 3.5}, "3.5"),
    ("elsewhere", 0, {"player": "Somebody"}, "Somebody"),
    ("elsewhere", 0, {"rpe": 99}, "99"),
    ("elsewhere", 0, {"minutes": "lots"}, "lots"),
    ("carried", 0, {"attack_due": "plenty"}, "plenty"),
    ("returns", 0, {"injured": "recent"}, "recent"),
    ("returns", 0, {"player": "Somebody"}, "Somebody"),
    ("returns", 0, {"symptoms_ended": "2026-11-01"}, "2026"),
]


@pytest.mark.parametrize(("sheet", "index", "cells", "secret"), CONFIDENTIAL)
def test_confidential_values_are_not_quoted(
    tmp_path: Path, sheet: str, index: int, cells: dict[str, Any], secret: str
) -> None:
    faults = faults_of(save_json(tmp_path, put(full(), sheet, index, **cells)))
    assert len(faults) == 1, faults
    (column,) = cells
    place, _, words = faults[0].partition(": ")
    assert place == f"{sheet.capitalize()}!{index + 1} {column}"
    assert secret not in words


def test_a_workbook_fault_names_the_cell(tmp_path: Path) -> None:
    # Players of the village: Name in A, Born in B, Team in C; the third child stands in row 4
    faults = faults_of(save_xlsx(tmp_path, put(village(), "players", 2, team="Wren")))
    assert faults == ["Players!C4: Team: there is no team 'Wren' in Teams, did you mean Wrens?"]


def test_every_fault_at_once_in_reading_order(tmp_path: Path) -> None:
    rows = put(put(village(), "players", 3, team="Nobody"), "players", 1, born="x")
    rows = put(put(rows, "teams", 0, coaches="Dan"), "pitches", 0, lit="x")
    places = [fault.partition(":")[0] for fault in faults_of(save_json(tmp_path, rows))]
    assert places == ["Pitches!1 lit", "Teams!1 coaches", "Players!2 born", "Players!4 team"]


def test_empty_club_says_the_least_to_fill_in(tmp_path: Path) -> None:
    faults = faults_of(save_json(tmp_path, {}))
    assert [fault.partition(":")[0] for fault in faults] == [
        "Club!A1", "Club!A1", "Pitches", "Teams", "Players", "Coaches",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("club", "says"),
    [
        ({"week": "2026-12-08"}, "not a Monday, write 2026-12-07"),
        ({"week": "2026-02-30"}, "not a day of the calendar"),
        ({"week": None}, "Week is empty"),
        ({"time_zone": "Europe/Dublyn"}, "did you mean Europe/Dublin?"),
        ({"time_zone": "../../etc"}, "is not known"),
        ({"rpe_scale": "1-5"}, "0-10 or 6-20"),
        (
            {"rule_set": "NSPCC; NATA 2091"},
            "Club!rule_set: Rule set: NATA 2091 is no rule set known here; did you mean",
        ),
        ({"rule_set": "nothing of the kind"}, "one of NATA 2019, AAP 2024"),
        ({"heat_category": 4}, "from 1 to 3"),
        ({"wake": "7 o'clock"}, "between 00:00 and 24:00"),
        ({"wind_down": 500}, "from 0 to 240"),
    ],
)
def test_club_fields(tmp_path: Path, club: dict[str, Any], says: str) -> None:
    faults = faults_of(save_json(tmp_path, village(club={"name": "Brae", "week": "2026-12-07", **club})))
    assert len(faults) == 1
    assert says in faults[0]


def test_an_unlit_pitch_needs_its_place_and_time_zone(tmp_path: Path) -> None:
    faults = faults_of(save_json(tmp_path, put(village(), "pitches", 0, lit=False)))
    assert len(faults) == 3
    for word in ("Latitude", "Longitude", "Time zone"):
        assert sum(f"{word} is empty and Green is not lit" in fault for fault in faults) == 1


def test_partly_filled_birth_dates(tmp_path: Path) -> None:
    assert faults_of(save_json(tmp_path, put(village(), "players", 4, born=None))) == [
        "Players!5 born: Born is empty here and filled in other rows; fill it in here too, or leave the whole column "
        "blank and the rules that need it are off"
    ]


def test_same_name_without_ids(tmp_path: Path) -> None:
    faults = faults_of(save_json(tmp_path, put(village(), "players", 1, name="Ivo Kane")))
    assert any("Players!2 name" in f and "an id of their own in Player" in f for f in faults)


def test_stations_side_by_side_are_equal_across_a_plan(tmp_path: Path) -> None:
    rows = full()
    rows["practices"] = [*rows["practices"], {**rows["practices"][1], "practice": "Ends two"}]
    side_by_side = [
        {"plan": "Evening", "block": block, "practice": practice, "minutes": minutes}
        for block, practice, minutes in (
            (1, "Ends", 15), (1, "Ends two", 15), (1, "Warm", 15), (2, "Ends", 14), (2, "Ends two", 15),
            (3, "Warm", 10),
        )
    ]  # fmt: skip
    faults = faults_of(save_json(tmp_path, {**rows, "plans": side_by_side}))
    assert len(faults) == 2
    assert "Plans!5 block: block 2 has 2 stations and another block of this plan 3" in faults[0]
    assert "Plans!5 minutes: stations side by side last equally long, write 14" in faults[1]


def test_age_rows_must_not_overlap(tmp_path: Path) -> None:
    rows = full()
    rows["ages"] = [*rows["ages"], {**rows["ages"][0], "phase": "eleven", "from_age": 11, "to_age": 12}]
    assert "are partly in Ages!1 from_age too" in faults_of(save_json(tmp_path, rows))[0]


def test_unknown_sheets_and_columns_are_noted(tmp_path: Path) -> None:
    from scheduler.workbook.read import read_club

    rows = put(village(playrs=[]), "players", 0, shoe_size=35, keper="no")
    notes = read_club(save_json(tmp_path, rows)).notes
    assert any("'playrs'" in note and "did you mean Players?" in note for note in notes)
    assert any("'shoe_size'" in note for note in notes)
    assert any("'keper'" in note and "did you mean Keeper?" in note for note in notes)
