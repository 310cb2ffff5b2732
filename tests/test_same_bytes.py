"""The same input gives the same week folder, byte for byte: from process to process, hash seed to hash seed, and on
any number of processes. `EVENWEEK_TWENTY_FOLDERS=1` writes twenty of every example club instead of three of one."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
EXAMPLES = ROOT / "examples"
MANY = bool(os.environ.get("EVENWEEK_TWENTY_FOLDERS"))
CLUBS = tuple(sorted(path.parent.name for path in EXAMPLES.glob("*/club.xlsx"))) if MANY else ("village",)


def planned(name: str, run: int, where: Path) -> dict[str, str]:
    """Plan a club in a process of its own; every file of the folder by its digest. Odd runs have two processes."""
    folder = where / f"run {run}" / "week"
    folder.parent.mkdir()
    command = [sys.executable, "-c", "import cli; cli.main()", "plan", str(EXAMPLES / name / "club.xlsx"),
               "-o", str(folder), "--workers", str(1 + run % 2)]  # fmt: skip
    seeded = os.environ | {"PYTHONHASHSEED": str(run * 7919), "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, cwd=folder.parent, env=seeded, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


@pytest.mark.slow
@pytest.mark.parametrize("name", CLUBS)
def test_every_run_writes_the_same_bytes(name: str, tmp_path: Path) -> None:
    first = planned(name, 0, tmp_path)
    assert {"plan.json", "timetable.xlsx", "cards.html", "noticeboard.html"} <= set(first)
    for run in range(1, 20 if MANY else 3):
        assert planned(name, run, tmp_path) == first, f"run {run}"
