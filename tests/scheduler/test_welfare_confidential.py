"""What is confidential stays in the confidential folder: searched for, and shown not to matter to any shared byte."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from cli import main
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.club.people import Absence, Carried, Elsewhere, KeeperWish, Limits, Player, Return
from scheduler.club.when import Occurs, Span
from scheduler.folder.write import write_folder
from scheduler.plan.plan import WeekPlan
from scheduler.welfare.returns import stand_down_spans
from scheduler.workbook.read import read_club
from tests.club_files import save_json, village
from tests.clubs import MONDAY, a_club
from tests.confidential import confidential_values, find_in_file
from tests.plans import counted_off

STARTS = ((0, 1080), (2, 1080), (1, 1080), (3, 1080))
SURNAMES = ("Quillfeather", "Okwuosa", "Brandvold", "Sarmiento")


def day(offset: int) -> dt.date:
    return MONDAY + dt.timedelta(days=offset)


def a_secret(player: Player, number: int) -> Player:
    """The child with a family name, a birth date of its own, a family and an answer about even sides."""
    return player.model_copy(
        update={
            "name": f"{player.called} {SURNAMES[number % 4]}{number}",
            "born": dt.date(2014, 1 + number % 12, 1 + number % 27),
            "family": f"household {number // 2}",
            "even_up": number % 3 - 1,
            "months_off": number % 5,
            "second_team_agreed": True,
        }
    )


def a_secretive_club() -> Club:
    club = a_club(teams=2, players=14, sessions=2)
    players = [a_secret(player, number) for number, player in enumerate(club.players)]
    players[5] = players[5].model_copy(
        update={"limits": Limits(no_contact=True, no_heading=True, max_minutes=37), "apart_from": (players[8].id,)}
    )
    players[6] = players[6].model_copy(update={"keeper": KeeperWish.NO, "apart_from": ("coach Herons 2",)})
    who, gym = players[7].id, "trampolining at the priory"
    changes: dict[str, Any] = {
        "players": tuple(players),
        "coaches": tuple(coach.model_copy(update={"family": "household 3"}) for coach in club.coaches),
        "absences": (
            Absence(who=(who,), occurs=Occurs(date=MONDAY), span=Span(0, 1090), why="orthodontist appointment"),
        ),
        "elsewhere": (Elsewhere(player=players[9].id, date=day(4), minutes=45, rpe=5, what=gym),),
        "free_play": (Elsewhere(player=players[9].id, date=day(4), minutes=45, what="skating at the old quay"),),
        "carried": (Carried(player=players[10].id, attack=3),),
        "returns": (Return(player=players[11].id, injured=day(-12), symptoms_ended=day(-8)),),
    }
    return club.model_copy(update=changes)


def without_secrets(club: Club) -> Club:
    """The same club as far as its plan and its cards go, with the confidential values blank or others."""
    players = tuple(
        player.model_copy(
            update={
                "name": f"{player.called} Nobody",
                "born": dt.date(2013, 12, 31),
                "family": "",
                "even_up": 0,
                "months_off": None,
                "second_team_agreed": False,
                "limits": Limits(),
                "apart_from": (),
                "keeper": KeeperWish.NOT_ASKED if player.keeper is KeeperWish.NO else player.keeper,
            }
        )
        for player in club.players
    )
    coaches = tuple(coach.model_copy(update={"family": ""}) for coach in club.coaches)
    absences = tuple(row.model_copy(update={"why": ""}) for row in club.absences)
    none: dict[str, Any] = {"elsewhere": (), "free_play": (), "returns": (), "carried": ()}
    return club.model_copy(update={**none, "players": players, "coaches": coaches, "absences": absences})


def a_plan(club: Club) -> WeekPlan:
    plan = counted_off(club, *STARTS)
    downs = tuple((planned.session, down) for planned in plan.sessions for down in stand_down_spans(club, planned))
    return counted_off(club, *STARTS, stood_down=downs)


def written(club: Club, plan: WeekPlan, folder: Path) -> dict[str, Path]:
    """The shared files of a week folder by name; the audit's findings go to the welfare file."""
    from constraints import RULES

    write_folder(club, plan, audit(club, plan, RULES).findings, folder, rules=RULES)
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {str(p.relative_to(folder)): p for p in files if "confidential" not in p.relative_to(folder).parts}


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    club = a_secretive_club()
    return written(club, a_plan(club), tmp_path_factory.mktemp("secret") / "week")


def test_the_shared_files_are_all_there(shared: dict[str, Path]) -> None:
    assert {"cards.html", "noticeboard.html", "plan.json", "timetable.xlsx"} <= set(shared)
    assert sum(1 for name in shared if name.endswith(".ics")) >= 2


def test_no_confidential_value_in_any_shared_file(shared: dict[str, Path]) -> None:
    values = confidential_values(a_secretive_club())
    assert {"max 37", "orthodontist appointment", "trampolining at the priory", "skating at the old quay"} <= set(
        values
    )
    assert [found for path in shared.values() for found in find_in_file(path, values)] == []


def test_the_same_values_are_found_where_they_belong(shared: dict[str, Path]) -> None:
    """The search is not blind: names, limits and the injury's date stand in the welfare file of the same folder."""
    welfare = shared["plan.json"].parent / "confidential" / "welfare.xlsx"
    found = "\n".join(find_in_file(welfare, confidential_values(a_secretive_club())))
    for needed in ("Quillfeather", "max 37", day(-12).isoformat()):
        assert needed in found


def test_nothing_confidential_changes_a_shared_byte(shared: dict[str, Path], tmp_path: Path) -> None:
    """The same plan for a club whose confidential values are blank or others gives the same shared files.

    This holds for values too short to be searched for: a child's `no` to keeping goal (among volunteers), newer or
    ahead.
    """
    club = a_secretive_club()
    blank = written(without_secrets(club), a_plan(club), tmp_path / "week")
    assert set(blank) == set(shared)
    assert [name for name in shared if shared[name].read_bytes() != blank[name].read_bytes()] == []


def test_the_noticeboard_and_the_calendars_name_no_child(shared: dict[str, Path]) -> None:
    club = a_secretive_club()
    names = [text for player in club.players for text in (player.called, player.id)]
    public = [path for name, path in shared.items() if name == "noticeboard.html" or name.endswith(".ics")]
    assert [found for path in public for found in find_in_file(path, names)] == []
    assert find_in_file(shared["cards.html"], names) != []


def test_nothing_confidential_is_printed_or_shared_as_a_user_runs_it(tmp_path: Path) -> None:
    """From the club file to the week folder and the terminal, with children who are stood down for every reason.

    Ivo's symptoms last, Noor is not cleared, Tara has limits, Sami is to be kept apart from an adult, Kofi has sport
    elsewhere on five days, Lena said no to the goal. The reasons in plan.json are neutral.
    """
    rows = village(
        absences=[{"who": "Juan Prado", "date": "2026-12-08", "to": "17:30", "why": "orthodontist appointment"}],
        elsewhere=[{"player": "Kofi Mensah", "date": f"2026-12-{day:02d}", "minutes": 91, "rpe": 7,
                    "what": "trampolining at the priory"} for day in (7, 8, 9, 10, 11)],
        returns=[{"player": "Ivo Kane", "injured": "2026-12-05"},
                 {"player": "Noor Haddad", "injured": "2026-11-01", "symptoms_ended": "2026-11-04", "cleared": "no"}],
    )  # fmt: skip
    own: dict[str, dict[str, Any]] = {
        "Tara Quinn": {"limits": "no contact; no heading; max 37"}, "Sami Lund": {"apart_from": "Ana"},
        "Lena Vogel": {"keeper": "no"},
    }  # fmt: skip
    rows["players"] = [
        {**row, "player": f"P{number}", "family": f"household {number // 2}", **own.get(row["name"], {})}
        for number, row in enumerate(rows["players"])
    ]
    ids = {row["name"]: row["player"] for row in rows["players"]}
    for sheet, key in (("absences", "who"), ("elsewhere", "player"), ("returns", "player")):
        rows[sheet] = [{**row, key: ids[row[key]]} for row in rows[sheet]]
    file, week = save_json(tmp_path, rows), tmp_path / "week"
    club = read_club(file)
    printed = tmp_path / "printed.txt"
    words = []
    for command in (["check", str(file)], ["plan", str(file), "-o", str(week)], ["audit", str(file), str(week)],
                    ["audit", str(file), str(week), "--json"], ["why", str(file)]):  # fmt: skip
        done = CliRunner().invoke(main, command)
        assert done.exit_code == 0, done.output
        words.append(done.stdout)
    printed.write_text("\n".join(words), encoding="utf-8")
    shared = [path for path in week.rglob("*") if path.is_file() and "confidential" not in path.parts]
    values = [*confidential_values(club), "91 minutes", "head injury", "symptoms"]
    assert {"2026-12-05", "orthodontist appointment", "max 37", "household 2", "Ivo Kane"} <= set(values)
    assert [found for path in [printed, *shared] for found in find_in_file(path, values)] == []
    plan = WeekPlan.from_json((week / "plan.json").read_bytes())
    downs = {down.player: down.why for planned in plan.sessions for down in planned.stood_down}
    assert {"P0", "P1", "P2"} <= set(downs)
    assert set(downs.values()) <= {"own limit", "week limit", "age limit", "rest"}
