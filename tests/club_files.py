"""Club files for tests: rows of a small invented club, written as JSON or as a workbook, and what reading them says."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from scheduler.errors import InputFaults
from scheduler.workbook.read import read_club
from scheduler.workbook.write import write_rows

Rows = dict[str, Any]

BOYS_AND_GIRLS = (
    "Ivo Kane", "Noor Haddad", "Tara Quinn", "Sami Lund", "Mia Okoye", "Kofi Mensah", "Lena Vogel", "Juan Prado",
    "Aiko Mori", "Omar Said", "Ines Costa", "Pavel Novak",
)  # fmt: skip


def village(**changes: Any) -> Rows:
    """Only what a village has to type: one lit pitch, one U11 team of twelve, three adults."""
    rows: Rows = {
        "club": {"name": "Brae", "week": "2026-12-07"},
        "pitches": [{"pitch": "Green", "lit": True, "from": "17:00", "to": "21:00"}],
        "teams": [{"team": "Wrens", "age_group": "U11", "coaches": "Ana; Ben"}],
        "players": [{"name": name, "born": "2016-03-05", "team": "Wrens"} for name in BOYS_AND_GIRLS],
        "coaches": [{"coach": "Ana"}, {"coach": "Ben"}, {"coach": "Cho"}],
    }
    return {**rows, **changes}


def full(**changes: Any) -> Rows:
    """A club with every sheet filled."""
    rows = village(
        club={"name": "Brae", "week": "2026-12-07", "time_zone": "Europe/Dublin", "step": 15, "gap": 5, "set_up": 5,
              "pack_up": 5, "rpe_scale": "0-10", "rule_set": "NATA 2019; NSPCC", "heat_category": 2, "wake": "06:45",
              "way_home": 20, "wind_down": 45},
        sites=[{"site": "Shore", "latitude": 53.1, "longitude": -6.1, "minutes_between": 20,
                "help_address": "Shore Road, east gate", "defibrillator": "porch"},
               {"site": "Yard", "latitude": 53.2, "longitude": -6.2}],
        pitches=[
            {"pitch": "North", "site": "Shore", "zones": 4, "length_m": 90, "width_m": 55.5, "surface": "grass",
             "lit": "21:00", "from": "17:00", "to": "24:00", "days": "Mon-Fri", "quality": 4, "goals_at": "both ends"},
            {"pitch": "North", "lit": False, "from": "09:00", "to": "16:00", "days": "Sat; Sun"},
            {"pitch": "Cross", "site": "Shore", "zones": 2, "length_m": 55, "width_m": 45, "lit": True,
             "from": "17:00", "to": "21:00", "lies_on": "North"},
            {"pitch": "Hall", "site": "Yard", "zones": 1, "length_m": 40, "width_m": 20, "lit": "yes",
             "from": "17:00", "to": "21:00"},
        ],
        booked=[{"pitch": "North", "zones": "1; 2", "days": "Wed", "from": "19:00", "to": "21:00", "by": "choir"},
                {"pitch": "Hall", "date": "2026-12-08", "days": "Tue", "every": 2, "until": "2027-03-01",
                 "from": "17:00", "to": "18:00"}],
        ages=[{"phase": "ten", "from_age": 9, "to_age": 11, "session_minutes": 75, "sessions_a_week": 3,
               "week_minutes": 540, "rest_days": 2, "days_in_a_row": 3, "finish_by": "20:30", "week_load": 3000,
               "headers_a_week": 0, "ball": "ball size 4", "goal": "small goal", "players_per_adult": 8,
               "after_a_match": "no contact", "source": "common practice, no source"}],
        teams=[{"team": "Wrens", "age_group": "U11", "coaches": "Ana; Ben", "keepers": "everyone",
                "keeper_stays": "session"},
               {"team": "Terns", "age_group": 12, "coaches": ["Cho"]}],
        matches=[{"team": "Wrens", "date": "2026-12-05", "kick_off": "10:00", "minutes": 50, "pitch": "North",
                  "zones": "3-4", "rpe": 7, "players": "P1; P2", "zones_from": "09:30", "zones_to": "11:15"}],
        sessions=[{"session": "Wrens 1", "teams": "Wrens", "plan": "Evening", "minutes": 60, "zones": "whole",
                   "days": "Mon-Thu", "wished_days": "Tue", "earliest": "17:15", "latest": "20:00",
                   "coaches_needed": 3, "sites": "Shore", "pitches": "North; Cross",
                   "held_at": "Tue 18:00 North", "weeks": ["2026-12-07", "2026-12-21"], "with": "P12",
                   "without": "P3", "needs": "keeper coach", "bibs_stay": "block"}],
        players=[
            {"player": f"P{i}", "name": name, "born": "2016-03-05", "team": "Terns" if i == 12 else "Wrens",
             "also_plays_for": "Terns" if i == 1 else None, "keeper": "regular" if i < 3 else None,
             "even_up": "ahead" if i == 2 else None, "family": "Kane" if i in (1, 12) else None,
             "apart_from": "P5; Ben" if i == 4 else None, "limits": "no contact; max 40" if i == 6 else None,
             "called": "Pasha" if i == 12 else None, "months_off": i % 5,
             "second_team_agreed": "yes" if i == 1 else None}
            for i, name in enumerate(BOYS_AND_GIRLS, 1)
        ],
        coaches=[{"coach": "Ana", "name": "Ana Silva", "keeper_coach": True, "first_aid_until": "2027-05-31",
                  "checked_until": "2027-05-31", "available": "Mon-Thu 17:00-20:30; Sat 09:00-12:00",
                  "family": "Kane"},
                 {"coach": "Ben", "helper_only": "yes"}, {"coach": "Cho"}],
        kit=[{"item": "ball size 4", "site": "Shore", "count": 20}, {"item": "small goal", "site": "Shore", "count": 4},
             {"item": "bib green", "site": "Shore", "count": 12}],
        practices=[
            {"practice": "Warm", "kind": "together", "kit_per_player": "ball 1", "rpe": 3},
            {"practice": "Ends", "kind": "part", "areas": 2, "attackers": "3 (2 to 4)", "defenders": "2-2-3",
             "keepers": 1, "rep": 4, "changeover": 1, "zones_per_area": 1, "kit_per_area": "ball 4; goal 1",
             "kit_per_player": "bib green 1", "contact": "yes", "headers_a_rep": 1, "rpe": 6,
             "m2_a_player_least": 30, "m2_a_player_most": 120.5},
        ],
        plans=[{"plan": "Evening", "block": 1, "practice": "Warm", "minutes": 15},
               {"plan": "Evening", "block": 2, "practice": "Ends", "minutes": 30, "reps": 6, "coaches": "move"}],
        absences=[{"who": "P7", "date": "2026-12-08", "to": "18:15", "why": "dentist"},
                  {"who": "Kane", "days": "Thu"}, {"who": "Terns; Ana", "date": "2026-12-09", "until": "2026-12-10"}],
        elsewhere=[{"player": "P8", "date": "2026-12-01", "minutes": 60, "rpe": 5, "what": "swimming"},
                   {"player": "P8", "date": "2026-12-08", "minutes": 90, "rpe": 4, "organised": "no"}],
        carried=[{"player": "P9", "attack_due": 4, "defend_due": -8, "keep_due": 0, "rest_due": 2}],
        returns=[{"player": "P10", "injured": "2026-11-20", "symptoms_ended": "2026-11-25", "cleared": "no"}],
        weather=[{"date": "2026-12-08", "site": "Shore", "wbgt": "31 C", "wind_chill": "28 F",
                  "thunder_last_heard": "18:20"}],
    )  # fmt: skip
    return {**rows, **changes}


def save_json(folder: Path, rows: Rows) -> Path:
    path = folder / "club.json"
    path.write_text(json.dumps(rows, ensure_ascii=False), encoding="utf-8")
    return path


def save_xlsx(folder: Path, rows: Rows) -> Path:
    path = folder / "club.xlsx"
    write_rows(path, rows)
    return path


def faults_of(path: Path) -> list[str]:
    """Every fault of a file as a user reads it."""
    with pytest.raises(InputFaults) as caught:
        read_club(path)
    assert caught.value.exit_code == 3
    return [str(fault) for fault in caught.value.faults]


def put(rows: Rows, sheet: str, index: int, **cells: Any) -> Rows:
    """The rows with some cells of one row changed."""
    changed = [dict(row) for row in rows[sheet]]
    changed[index].update(cells)
    return {**rows, sheet: changed}
