"""From a cold start to the printed answer of `replan`, as multiples of a bare import of the solver in the same run.

`python -m tests.speed.replans [--times 3] [--teams 30] [--uncompiled]`. The program is byte-compiled beforehand, as the
solver is and as an install leaves both; with `--uncompiled` it is left as it lies there. The club of twelve teams is
examples/town as it stands in its workbook. The town of thirty is an invented one whose timetable is known and whose
rotations are made once; its process starts with the club in memory, so that reading a workbook is not in its figure.
CPU seconds of the whole process, read when the first line of the answer arrives, and at its end, when the folder is
written.
"""

from __future__ import annotations

import argparse
import compileall
import os
import pickle
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from scheduler.plan.plan import WeekPlan

ROOT = Path(__file__).resolve().parent.parent.parent
TOWN = ROOT / "examples" / "town"
DAY, NEXT = "2026-09-14", "2026-09-15"
CASES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("one of 16 missing", ("--absent", "Rune", "--on", DAY)),
    ("two missing", ("--absent", "Rune", "--absent", "Rafa", "--on", NEXT)),
    ("three missing", ("--absent", "Rune", "--absent", "Rafa", "--absent", "Felix", "--on", DAY)),
    ("a regular keeper missing", ("--absent", "Thabo", "--on", DAY)),
    ("too few keepers left", ("--absent", "Thabo", "--absent", "Kenji", "--on", DAY)),
    ("a child leaves early", ("--absent", "Rune", "--on", DAY, "--from", "18:30")),
    ("an adult missing", ("--absent", "Ayumi Hoshino", "--on", DAY)),
    ("one zone closed", ("--closed", "School Turf:2", "--on", NEXT)),
)
AFTER_ALL = ("the one missing comes after all", ("--here", "Rune", "--on", DAY))
TOWNS = {"with room": (0.6, 3, 4), "nearly full": (0.75, 4, 1)}  # share of ground asked for, zones a pitch, seed


@dataclass(frozen=True)
class Took:
    """CPU seconds of one process: until its first line, and in all; its first line."""

    answer: float
    whole: float
    line: str


def took(command: Sequence[str]) -> Took:
    """Run one process; its own clock ticks are read from the system while it still runs."""
    process = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert process.stdout is not None
    line = process.stdout.readline()
    fields = Path(f"/proc/{process.pid}/stat").read_text().rpartition(")")[2].split()
    answer = (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
    process.stdout.read()
    _, _, usage = os.wait4(process.pid, 0)
    process.returncode = 0
    return Took(answer, usage.ru_utime + usage.ru_stime, line.strip())


def bare_import() -> float:
    """CPU seconds of a process that only imports the solver."""
    return took([sys.executable, "-c", "from ortools.sat.python import cp_model; print(1)"]).whole


def write_week(folder: Path) -> None:
    """The week folder of the town, from its committed plan."""
    from constraints import RULES
    from scheduler.audit import audit
    from scheduler.folder.write import write_folder
    from scheduler.workbook.read import read_club

    club = read_club(TOWN / "club.xlsx")
    plan = WeekPlan.from_json((TOWN / "plan.json").read_text())
    write_folder(club, plan, audit(club, plan, RULES).findings, folder, rules=RULES)


def replan_of(week: Path, into: Path) -> list[str]:
    """The command that replans a week folder of the town."""
    return [sys.executable, "cli.py", "replan", str(TOWN / "club.xlsx"), str(week), "-o", str(into)]


def large_town(teams: int, file: Path, kind: str) -> None:
    """An invented club of so many teams and its planned week, pickled; two thirds of its ground in use, or more."""
    from constraints import RULES
    from scheduler.outcome import Booked
    from scheduler.rotation.rotate import rotate
    from tests.speed.clubs import a_town, known_week

    use, zones, seed = TOWNS[kind]
    town = a_town(teams, use, zones, seed)
    done = rotate(town.club, known_week(town), RULES)
    assert isinstance(done, Booked)
    file.write_bytes(pickle.dumps((town.club, done.plan)))


def answer_from_memory(file: Path) -> None:
    """In a process of its own: the first pitch is closed on Tuesday from the start of the evening on."""
    from constraints import RULES
    from scheduler.outcome import Booked
    from scheduler.replan.differences import differences
    from scheduler.replan.events import Options, as_reported, read_news
    from scheduler.replan.replan import replan

    club, plan = pickle.loads(file.read_bytes())
    tuesday = club.dates[1]
    options = Options(closed=[club.pitches[0].id], on=tuesday.isoformat())
    known = plan.model_copy(update={"news": read_news(club, plan, options)})
    outcome = replan(as_reported(club, known), known, RULES, limit=10.0)
    assert isinstance(outcome, Booked), outcome
    changes = differences(club, plan, outcome.plan)
    hit = sum(1 for one in plan.sessions if (one.date, one.pitch) == (tuesday, club.pitches[0].id))
    print(f"{changes.moved} sessions moved of {hit} displaced, {len(changes.places)} places, proven {outcome.proven}")


def main() -> None:
    """Measure and print a table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--times", type=int, default=3)
    parser.add_argument("--teams", type=int, default=0, help="also a pitch closed on Tuesday in a town of so many")
    parser.add_argument("--from-memory", type=Path)
    parser.add_argument("--uncompiled", action="store_true", help="do not byte-compile the program beforehand")
    asked = parser.parse_args()
    if asked.from_memory:
        answer_from_memory(asked.from_memory)
        return
    for part in () if asked.uncompiled else ("scheduler", "constraints", "tests"):
        compileall.compile_dir(ROOT / part, quiet=1)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "week"
        write_week(folder)
        bare = [bare_import() for _ in range(asked.times)]
        rows = []
        without = Path(name) / "without"
        took([*replan_of(folder, without), *CASES[0][1]])
        cases = [(folder, case) for case in CASES] + [(without, AFTER_ALL)]
        for of, (what, options) in cases:
            command = replan_of(of, Path(name) / "new")
            rows.append((what, [took([*command, *options]) for _ in range(asked.times)]))
        for kind in TOWNS if asked.teams else ():
            file = Path(name) / "town.pickle"
            large_town(asked.teams, file, kind)
            command = [sys.executable, "-m", "tests.speed.replans", "--from-memory", str(file)]
            rows.append((f"a pitch closed, {asked.teams} teams, {kind}", [took(command) for _ in range(asked.times)]))
        bare += [bare_import() for _ in range(asked.times)]
        one = median(bare)
        print(f"a bare import of the solver: {one:.2f} s CPU (median of {len(bare)})")
        print("| what happened | to the answer | x import | to the end | x import | answer |")
        print("| --- | --- | --- | --- | --- | --- |")
        for what, runs in rows:
            answer, whole = median(run.answer for run in runs), median(run.whole for run in runs)
            figures = f"{answer:.2f} s | {answer / one:.1f}x | {whole:.2f} s | {whole / one:.1f}x"
            print(f"| {what} | {figures} | {runs[0].line} |")


if __name__ == "__main__":
    main()
