"""Who may import whom, and what a cold start may load."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import grimp
import pytest

ROOT = Path(__file__).resolve().parent.parent


def run(code: str) -> str:
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def imported(path: Path) -> set[str]:
    """Top-level package names of every import in a file, nested ones too."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            names.add((node.module or "").split(".")[0])
    return names


def test_import_contracts_hold() -> None:
    """cli -> constraints -> scheduler, no rule imports a rule, club and plan know no solver: see pyproject.toml."""
    done = subprocess.run(
        [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"], cwd=ROOT, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_no_two_rooms_of_the_scheduler_import_each_other() -> None:
    """Rooms are the packages and lone modules right below `scheduler`; imports for types alone count too."""
    graph = grimp.build_graph("scheduler", cache_dir=None)
    arrows = {
        (importer.split(".")[1], imported.split(".")[1])
        for importer in graph.modules - {"scheduler"}
        for imported in graph.find_modules_directly_imported_by(importer) - {"scheduler"}
    }
    assert len(arrows) > 50
    assert [pair for pair in sorted(arrows) if pair[0] < pair[1] and pair[::-1] in arrows] == []


def test_cli_is_thin() -> None:
    """The commands know click, the rules, the scheduler and a little of the standard library."""
    allowed = {"__future__", "datetime", "json", "sys", "collections", "functools", "pathlib", "typing", "contextlib"}
    assert imported(ROOT / "cli.py") <= allowed | {"click", "constraints", "scheduler"}
    assert len((ROOT / "cli.py").read_text().splitlines()) <= 300


def test_nothing_in_the_scheduler_imports_upward() -> None:
    for path in sorted((ROOT / "scheduler").rglob("*.py")):
        assert not imported(path) & {"constraints", "cli", "tests"}, path


def test_init_files_of_the_scheduler_are_empty() -> None:
    for path in sorted((ROOT / "scheduler").rglob("__init__.py")):
        assert path.read_text() == "", path


def test_the_packages_are_those_of_this_checkout() -> None:
    """`scheduler` is a common name; a namesake installed beside it must not answer in its place."""
    import scheduler

    assert scheduler.__file__ is not None
    assert Path(scheduler.__file__).resolve().parent == ROOT / "scheduler"


def test_the_solver_comes_without_pandas_until_a_series_is_asked_for() -> None:
    """More than half of the solver's import is pandas; whoever uses its functions on series gets the real one."""
    said = run(
        "import sys\n"
        "from scheduler.week import plan_week\n"
        "from scheduler.booking.book import book\n"
        "from scheduler.rotation.exact import rotate_exactly\n"
        "from scheduler.solver import cp_model\n"
        "print('pandas' in sys.modules)\n"
        "model, solver = cp_model.CpModel(), cp_model.CpSolver()\n"
        "model.add(model.new_int_var(2, 3, 'one') >= 3)\n"
        "solver.solve(model)\n"
        "print('pandas' in sys.modules)\n"
        "import pandas\n"
        "both = model.new_bool_var_series('both', pandas.Index([1, 2]))\n"
        "model.add(both.sum() >= 2)\n"
        "solver.solve(model)\n"
        "print(list(solver.boolean_values(both)), cp_model.pd.Series is pandas.Series)\n"
    )
    assert said.splitlines() == ["False", "False", "[True, True] True"]


def test_a_small_club_is_planned_without_the_solver_of_large_ones() -> None:
    """HiGHS is imported where the linear relaxation of a large club is asked, and nowhere else."""
    said = run(
        "import sys\n"
        "from constraints import RULES\n"
        "from scheduler.booking import first\n"
        "from scheduler.week import plan_week\n"
        "from tests.clubs import a_club\n"
        "club = a_club()\n"
        "print(plan_week(club, RULES).plan.proofs != (), 'highspy' in sys.modules)\n"
        "first.LARGE = first.MIDDLE = 0\n"
        "plan_week(club, RULES)\n"
        "print('highspy' in sys.modules)\n"
    )
    assert said.splitlines() == ["True False", "True"]


@pytest.mark.parametrize("command", ["--help", "rules", "check"])
def test_light_commands_load_no_solver_no_pandas_no_writers(command: str, tmp_path: Path) -> None:
    """A cold start counts: help, rules and check answer without the solver, pandas or any writer."""
    arguments = [command] if command != "check" else [command, str(ROOT / "examples" / "village" / "club.json")]
    heavy = run(
        "import sys\n"
        f"sys.argv = ['evenweek', *{arguments!r}]\n"
        "import cli\n"
        "try:\n    cli.main()\nexcept SystemExit as stop:\n    assert stop.code in (0, None, 4), stop.code\n"
        "print('HEAVY', sorted({m.split('.')[0] for m in sys.modules} "
        "& {'ortools', 'highspy', 'pandas', 'numpy', 'xlsxwriter', 'jinja2', 'icalendar'}))\n"
    ).splitlines()[-1]
    assert heavy == "HEAVY []"


@pytest.mark.parametrize(
    ("arguments", "most"),
    [(["--help"], 110), (["rules"], 300), (["check", "examples/village/club.json"], 290),
     (["check", "examples/town/club.xlsx"], 490)],
)  # fmt: skip
def test_light_commands_stay_within_their_import_budget(arguments: list[str], most: int) -> None:
    """Modules beside those a bare Python loads, counted: about a tenth above what they were when this was written.

    Most of them: click and the standard library for `--help`, pydantic for the others, openpyxl for a workbook.
    """
    said = run(
        "import sys\n"
        "bare = set(sys.modules)\n"
        f"sys.argv = ['evenweek', *{arguments!r}]\n"
        "import cli\n"
        "try:\n    cli.main()\nexcept SystemExit as stop:\n    assert stop.code in (0, None), stop.code\n"
        "print('LOADED', len(set(sys.modules) - bare))\n"
    ).splitlines()[-1]
    assert int(said.removeprefix("LOADED ")) <= most
