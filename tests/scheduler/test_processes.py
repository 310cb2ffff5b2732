"""Work side by side: sent once, given back in order, written whole or not at all, and no process left behind."""

from __future__ import annotations

import os
import pickle
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from constraints import RULES
from scheduler.folder import write
from scheduler.processes import side_by_side
from scheduler.rotation.packed import Packed
from tests.clubs import a_club
from tests.plans import a_plan

ROOT = Path(__file__).resolve().parent.parent.parent


def contents(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_files_written_side_by_side_are_the_same(tmp_path: Path) -> None:
    club = a_club(teams=2, sessions=2)
    plan = a_plan(club)
    write.write_folder(club, plan, (), tmp_path / "one", rules=RULES)
    with side_by_side(club, RULES, 2) as pool:
        assert pool is not None
        write.write_folder(club, plan, (), tmp_path / "two", rules=RULES, executor=pool)
    assert contents(tmp_path / "one") == contents(tmp_path / "two")


def test_where_one_file_fails_nothing_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also while another is still being written: it is waited for, and its file goes too."""

    def slowly(club: object, plan: object, earlier: object, new: Path) -> None:
        time.sleep(0.2)
        (new / "timetable.xlsx").write_bytes(b"late")

    def broken(*about: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(write, "_timetable", slowly)
    monkeypatch.setattr(write, "_other_files", broken)
    club = a_club()
    with ThreadPoolExecutor(2) as pool, pytest.raises(OSError, match="disk full"):
        write.write_folder(club, a_plan(club), (), tmp_path / "week", executor=pool)
    assert list(tmp_path.iterdir()) == []


def test_what_goes_with_many_tasks_is_packed_and_unpacked_once() -> None:
    club = a_club()
    packed = Packed(club)
    one, two = (pickle.loads(pickle.dumps(("task", number, packed))) for number in (1, 2))
    assert one[2].thing is two[2].thing
    assert one[2].thing == club
    other = pickle.loads(pickle.dumps(Packed(a_club(players=9))))
    assert len(other.thing.players) == 9


GIVES_BACK = """
import os, signal, time
from scheduler.solver import cp_model
from scheduler.solving import make_solver
model = cp_model.CpModel()
model.maximize(model.new_int_var(0, 5, "one"))
make_solver(1.0).solve(model)
try:
    os.kill(os.getpid(), signal.SIGINT)
    time.sleep(5)
except KeyboardInterrupt:
    print("told")
"""


def test_ctrl_c_after_a_solve_is_told_to_the_program() -> None:
    """The solver by itself leaves the system's default behind, which ends the process without a word."""
    done = subprocess.run([sys.executable, "-c", GIVES_BACK], cwd=ROOT, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout) == (0, "told\n"), done.stderr


LEFT_BEHIND = """
import os, time
from constraints import RULES
from scheduler.processes import side_by_side
from tests.clubs import a_club
if __name__ == "__main__":
    with side_by_side(a_club(), RULES, 2) as pool:
        others = {pool.submit(os.getpid).result() for _ in range(20)}
        print(*others, flush=True)
        time.sleep(60)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="reads the list of processes")
def test_no_process_outlives_the_first(tmp_path: Path) -> None:
    """Killed outright, the first process cannot tell the others: they see for themselves."""
    script = tmp_path / "first.py"
    script.write_text(LEFT_BEHIND)
    seeing = os.environ | {"PYTHONPATH": str(ROOT)}
    first = subprocess.Popen([sys.executable, str(script)], cwd=ROOT, env=seeing, stdout=subprocess.PIPE, text=True)
    assert first.stdout is not None
    others = [int(word) for word in first.stdout.readline().split()]
    assert others
    first.send_signal(signal.SIGKILL)
    first.wait()
    first.stdout.close()
    for _ in range(300):
        if not any(alive(number) for number in others):
            break
        time.sleep(0.1)
    assert [number for number in others if alive(number)] == []


def alive(number: int) -> bool:
    try:
        return Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
