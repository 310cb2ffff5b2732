"""The audit stands alone: the command and every rule's audit run with the solver and the writers missing."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from constraints import RULES

ROOT = Path(__file__).resolve().parent.parent
TOWN = ROOT / "examples" / "town"
MISSING = ("ortools", "pandas", "numpy", "scipy", "xlsxwriter", "jinja2", "icalendar")

WITHOUT = f"""
import sys


class Missing:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {MISSING!r}:
            raise ModuleNotFoundError(name)


sys.meta_path.insert(0, Missing())
"""
COMMAND = """
import cli
sys.argv = ["evenweek", "audit", *{arguments!r}]
cli.main()
"""
EVERY_RULE = """
import json
from pathlib import Path
from constraints import RULES
from scheduler.folder.find import read_plan
from scheduler.workbook.read import read_club

club = read_club(Path({club!r}), None)
plan = read_plan(Path({plan!r}), club)
print(json.dumps({{rule.name: [found.text for found in rule.audit(club, plan) if found.severity == "breach"]
                  for rule in RULES}}))
"""


def run(code: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", WITHOUT + code], cwd=ROOT, capture_output=True, text=True, check=False, timeout=120
    )


def audited(*arguments: str) -> tuple[int, Any]:
    done = run(COMMAND.format(arguments=[*arguments, "--json"]))
    assert "Traceback" not in done.stderr, done.stderr
    return done.returncode, json.loads(done.stdout)


def earlier(value: Any, hours: int) -> Any:
    """Every start and end so many hours earlier."""
    if isinstance(value, list):
        return [earlier(one, hours) for one in value]
    if not isinstance(value, dict):
        return value
    times = {key: f"{int(value[key][:2]) - hours:02d}{value[key][2:]}" for key in ("start", "end") if key in value}
    return {key: times.get(key, earlier(one, hours)) for key, one in value.items()}


def broken(document: dict[str, Any]) -> dict[str, Any]:
    """The first session is held at four in the morning by one adult; the second and third need one ground at once."""
    first, second, third, *others = ({**one, "stood_down": []} for one in document["sessions"])
    first = {**earlier(first, int(first["start"][:2]) - 4), "coaches": first["coaches"][:1]}
    third = {**third, **{key: second[key] for key in ("date", "start", "end", "pitch", "zones")}}
    return {**document, "sessions": [first, second, third, *others]}


@pytest.fixture
def bad(tmp_path: Path) -> Path:
    """A week folder with a plan.json that breaks several rules."""
    folder = tmp_path / "week"
    folder.mkdir()
    document = broken(json.loads((TOWN / "plan.json").read_text()))
    (folder / "plan.json").write_text(json.dumps(document))
    return folder


def test_what_is_missing_is_missing() -> None:
    """Else the other tests here would prove nothing."""
    tries = "".join(f"try:\n    import {name}\nexcept ModuleNotFoundError:\n    print({name!r})\n" for name in MISSING)
    assert tuple(run(tries).stdout.split()) == MISSING


def test_a_lawful_plan_passes_without_the_solver() -> None:
    code, document = audited(str(TOWN / "club.json"), str(TOWN / "plan.json"))
    assert code == 0
    assert not [one for one in document["findings"] if one["severity"] == "breach"]


@pytest.mark.parametrize("club", ["club.json", "club.xlsx"])
@pytest.mark.parametrize("whole_folder", [True, False], ids=["folder", "plan.json"])
def test_planted_breaches_are_found_and_exit_is_6(bad: Path, club: str, whole_folder: bool) -> None:
    code, document = audited(str(TOWN / club), str(bad if whole_folder else bad / "plan.json"))
    assert code == 6
    spoken = {one["rule"] for one in document["findings"] if one["severity"] == "breach"}
    assert {"pitch bookings", "coach cover", "limits", "plan as asked"} <= spoken
    assert all(one["text"] for one in document["findings"])


def test_every_rule_audits_to_its_end(bad: Path) -> None:
    done = run(EVERY_RULE.format(club=str(TOWN / "club.json"), plan=str(bad)))
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert set(found) == {rule.name for rule in RULES}
    assert found["pitch bookings"]
