"""Make the workbooks of the example clubs from their JSON, and with `--plans` what planning them prints and gives.

`python examples/make.py` writes every `club.xlsx`; `python examples/make.py --plans` also writes every `plan.json` and
`output.txt`. Both can be run again at any time and write the same bytes. Names of folders may follow: `village town`.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from pathlib import Path
from shutil import copyfile

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

HERE = Path(__file__).resolve().parent
CLUBS = tuple(sorted(path.parent.name for path in HERE.glob("*/club.json")))


def make_workbook(source: Path, workbook: Path) -> None:
    """The club of a JSON file as a workbook, row for row."""
    from scheduler.workbook.write import write_rows

    write_rows(workbook, json.loads(source.read_text(encoding="utf-8")))


def run_plan(name: str, folder: Path) -> tuple[str, bytes]:
    """Plan an example from its workbook, standing in an empty folder: what is printed, and `plan.json`."""
    from click.testing import CliRunner

    from cli import main

    copyfile(HERE / name / "club.xlsx", folder / "club.xlsx")
    stood = Path.cwd()
    os.chdir(folder)
    try:
        done = CliRunner().invoke(main, ["plan", "club.xlsx", "-o", "week"], catch_exceptions=False)
    finally:
        os.chdir(stood)
    if done.exit_code != 0:
        raise SystemExit(f"{name}: exit code {done.exit_code}\n{done.output}")
    return done.stdout, (folder / "week" / "plan.json").read_bytes()


def _make(name: str, plans: bool) -> None:
    make_workbook(HERE / name / "club.json", HERE / name / "club.xlsx")
    print(f"{name}/club.xlsx")
    if not plans:
        return
    with tempfile.TemporaryDirectory() as folder:
        printed, plan = run_plan(name, Path(folder))
    (HERE / name / "output.txt").write_text(printed, encoding="utf-8", newline="\n")
    (HERE / name / "plan.json").write_bytes(plan)
    print(f"{name}/output.txt, {name}/plan.json")


if __name__ == "__main__":
    asked = [argument for argument in sys.argv[1:] if argument != "--plans"]
    for club in asked or CLUBS:
        _make(club, "--plans" in sys.argv)
