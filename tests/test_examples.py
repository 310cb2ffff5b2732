"""The example clubs: both forms of each hold the same club, and planning gives what is committed beside them."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest
from click.testing import CliRunner

from cli import main
from scheduler.club.club import Club
from scheduler.workbook.read import read_club

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
CLUBS = tuple(sorted(path.parent.name for path in EXAMPLES.glob("*/club.json")))


def the_maker() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_examples", EXAMPLES / "make.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def read(name: str, form: str) -> Club:
    return read_club(EXAMPLES / name / f"club.{form}")


def test_every_example_is_listed() -> None:
    """The list of examples in the README beside them names every folder."""
    text = (EXAMPLES / "README.md").read_text(encoding="utf-8")
    assert CLUBS == ("hockey", "pooled", "town", "village")
    for name in CLUBS:
        assert f"`{name}/`" in text
        assert (EXAMPLES / name / "README.md").is_file()


@pytest.mark.parametrize("name", CLUBS)
def test_both_forms_hold_the_same_club(name: str, tmp_path: Path) -> None:
    """Workbook, JSON, and a workbook made afresh from the JSON read as one and the same club."""
    fresh = tmp_path / "club.xlsx"
    the_maker().make_workbook(EXAMPLES / name / "club.json", fresh)
    assert read(name, "xlsx") == read(name, "json") == read_club(fresh)


@pytest.mark.parametrize("name", CLUBS)
def test_check_finds_no_fault(name: str) -> None:
    result = CliRunner().invoke(main, ["check", str(EXAMPLES / name / "club.xlsx")])
    assert result.exit_code == 0, result.output
    assert result.stdout.splitlines()[-1].endswith(": no fault found")


@pytest.mark.slow
@pytest.mark.parametrize("name", CLUBS)
def test_planning_prints_and_gives_what_is_committed(name: str, tmp_path: Path) -> None:
    """`python examples/make.py --plans` writes both anew."""
    printed, plan = the_maker().run_plan(name, tmp_path)
    assert printed == (EXAMPLES / name / "output.txt").read_text(encoding="utf-8")
    assert plan == (EXAMPLES / name / "plan.json").read_bytes()


def test_village_without_light_in_the_yard_is_told_so_by_check(tmp_path: Path) -> None:
    """Only Saturday is left then, and each of the three teams wants two sessions, one a day at most."""
    dark = (EXAMPLES / "village" / "club.json").read_text(encoding="utf-8").replace('"lit": "yes"', '"lit": "no"')
    (tmp_path / "club.json").write_text(dark, encoding="utf-8")
    result = CliRunner().invoke(main, ["check", str(tmp_path / "club.json")])
    assert result.exit_code == 4
    found = [line for line in result.stdout.splitlines() if "only Sat 12 Dec can hold any of them" in line]
    assert [line.split(":")[0] for line in found] == ["Teams, U9", "Teams, U11", "Teams, U13"]
