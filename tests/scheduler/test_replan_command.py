"""The commands `replan` and `why` from the outside: files, exit codes, and what the next run and the audit know."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from openpyxl import load_workbook

from cli import main
from tests.club_files import village


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


@pytest.fixture
def week(tmp_path: Path) -> tuple[str, str]:
    """A village club and its planned week folder."""
    club = tmp_path / "club.json"
    club.write_text(json.dumps(village()))
    planned = run("plan", str(club), "--seconds", "10")
    assert planned.exit_code == 0, planned.output
    return str(club), str(tmp_path / "week-2026-12-07")


def plan_in(folder: str) -> dict[str, object]:
    found: dict[str, object] = json.loads((Path(folder) / "plan.json").read_text())
    return found


def test_absent_then_audited_then_here_after_all(week: tuple[str, str]) -> None:
    """The news stays with the plan: the audit and the next run know it without being told again."""
    club, folder = week
    session = plan_in(folder)["sessions"][0]
    who = session["players"][3]
    done = run("replan", club, folder, "--absent", who, "--on", session["date"], "--json")
    assert done.exit_code == 0, done.output
    document = json.loads(done.stdout)
    assert document["revision"] == 2
    assert not document["sessions"]
    assert who not in plan_in(folder)["sessions"][0]["players"]
    assert (Path(folder).with_name("week-2026-12-07.before") / "plan.json").is_file()
    assert run("audit", club, folder).exit_code == 0
    again = run("replan", club, folder)
    assert again.exit_code == 0
    assert "Nothing changes: plan 2" in again.stdout
    back = run("replan", club, folder, "--here", who, "--on", session["date"])
    assert back.exit_code == 0, back.output
    assert who in plan_in(folder)["sessions"][0]["players"]
    assert run("audit", club, folder).exit_code == 0


def test_unknown_names_are_wrong_usage_and_change_nothing(week: tuple[str, str]) -> None:
    club, folder = week
    before = (Path(folder) / "plan.json").read_bytes()
    done = run("replan", club, folder, "--absent", "Ivo Kan", "--on", "2026-12-08")
    assert done.exit_code == 2
    assert "did you mean" in done.stderr
    assert (Path(folder) / "plan.json").read_bytes() == before


def test_edits_by_hand_are_kept(week: tuple[str, str]) -> None:
    """The timetable as written, given as a file, changes nothing."""
    club, folder = week
    done = run("replan", club, str(Path(folder) / "timetable.xlsx"))
    assert done.exit_code == 0, done.output
    assert "Nothing changes" in done.stdout


def test_an_edit_that_breaks_a_rule_is_undone_and_that_is_said(week: tuple[str, str]) -> None:
    """Two of different bibs change places in the first rep of a practice: nobody may change bibs."""
    club, folder = week
    file = Path(folder) / "timetable.xlsx"
    book = load_workbook(file)
    sheet = book[book.sheetnames[2]]
    row = next(cell.row for cell in sheet["B"] if str(cell.value).startswith("1: "))
    ours, theirs = (str(sheet.cell(row, column).value).split(", ") for column in (3, 4))
    sheet.cell(row, 3, ", ".join([theirs[0], *ours[1:]]))
    sheet.cell(row, 4, ", ".join([ours[0], *theirs[1:]]))
    book.save(file)
    assert run("audit", club, str(file)).exit_code == 6
    done = run("replan", club, str(file))
    assert done.exit_code == 0, done.output
    assert "nothing changes for those who hold the plan before" in done.stdout
    assert "Edited by hand and not kept as edited: 2 places" in done.stdout
    assert run("audit", club, str(file)).exit_code == 0


def test_a_plan_of_another_week_or_club_is_refused_in_words(week: tuple[str, str], tmp_path: Path) -> None:
    club, folder = week
    before = (Path(folder) / "plan.json").read_bytes()
    later = run("replan", club, folder, "--week", "2026-12-14")
    assert later.exit_code == 3
    assert "the plan of the week of 2026-12-07" in later.stderr
    teams = [{"team": "Robins", "age_group": "U11", "coaches": "Ana; Ben"}]
    players = [{**player, "team": "Robins"} for player in village()["players"]]
    other = tmp_path / "other.json"
    other.write_text(json.dumps(village(teams=teams, players=players)))
    done = run("replan", str(other), folder)
    assert done.exit_code == 3, done.output
    assert "it holds Wrens 1 and 1 more, which the club does not ask for" in done.stderr
    assert (Path(folder) / "plan.json").read_bytes() == before


def test_why_says_that_a_plan_exists(week: tuple[str, str]) -> None:
    club, _ = week
    done = run("why", club, "--seconds", "10")
    assert done.exit_code == 0
    assert "a lawful plan exists" in done.stdout


def test_why_and_plan_name_the_same_conflict(tmp_path: Path) -> None:
    """One adult: no session can be held, by both commands, with exit code 4."""
    club = tmp_path / "club.json"
    teams = [{"team": "Wrens", "age_group": "U11", "coaches": "Ana"}]
    club.write_text(json.dumps(village(coaches=[{"coach": "Ana"}], teams=teams)))
    asked, planned = run("why", str(club)), run("plan", str(club))
    assert asked.exit_code == planned.exit_code == 4
    assert "fewer than two adults" in asked.stdout
    assert asked.stdout == planned.stdout
    assert not (tmp_path / "week-2026-12-07").exists()
