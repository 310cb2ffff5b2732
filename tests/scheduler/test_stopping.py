"""Ctrl-C at every stretch of a command: one plain sentence and a lawful exit code, or the plan that is in hand."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from random import Random
from typing import Any

import pytest
from click.testing import CliRunner, Result

from cli import main
from constraints import RULES
from scheduler import federation
from scheduler.rotation import rotate as rotation
from scheduler.solver import Solver, cp_model
from scheduler.stopping import heard, unheard
from tests.club_files import save_json, village
from tests.clubs import a_club
from tests.plans import a_plan
from tests.test_federation import club_file, errands_of

ROOT = Path(__file__).resolve().parent.parent.parent
NOTHING = "Stopped before it was done; nothing was written."


def press() -> None:
    os.kill(os.getpid(), signal.SIGINT)


def pressed_in(monkeypatch: pytest.MonkeyPatch, place: Any, name: str) -> None:
    """Ctrl-C at the beginning of the first call of a function."""
    real: Callable[..., Any] = getattr(place, name)
    calls: list[int] = []

    def pressing(*about: Any, **more: Any) -> Any:
        calls.append(1)
        if len(calls) == 1:
            press()
        return real(*about, **more)

    monkeypatch.setattr(place, name, pressing)


def run(*arguments: str) -> Result:
    """A command, after which Ctrl-C must be heard as before."""
    done = CliRunner().invoke(main, list(arguments))
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    return done


def contents(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture
def club(tmp_path: Path) -> Path:
    return save_json(tmp_path, village())


def module(name: str) -> Any:
    __import__(name)
    return sys.modules[name]


BEFORE_A_PLAN = [
    ("scheduler.workbook.read", "read_club"),
    ("scheduler.workbook.read", "_build"),
    ("scheduler.booking.climb", "build_booking"),
    ("scheduler.booking.model", "Children"),
    ("scheduler.booking.climb", "order_twins"),
    ("scheduler.booking.stages", "make_solver"),
]


@pytest.mark.parametrize("where", BEFORE_A_PLAN)
def test_before_there_is_a_plan_nothing_is_written(
    club: Path, where: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """While reading, while models are built, and before the first solve; an old folder stays as it is."""
    week = club.parent / "week-2026-12-07"
    week.mkdir()
    (week / "plan.json").write_text("{}")
    before = contents(club.parent)
    pressed_in(monkeypatch, module(where[0]), where[1])
    done = run("plan", str(club), "--replace")
    assert (done.exit_code, done.stdout) == (5, ""), done.output
    assert done.stderr.splitlines()[-1] == NOTHING
    assert "Aborted" not in done.stderr
    assert contents(club.parent) == before
    assert sorted(path.name for path in club.parent.iterdir()) == ["club.json", week.name]


WITH_A_BOOKING = [
    ("scheduler.booking.tidy", "slot_of"),
    ("scheduler.rotation.rotate", "rotate_quickly"),
    ("scheduler.rotation.quick", "Mixer"),
]


@pytest.mark.parametrize("where", WITH_A_BOOKING)
def test_from_the_first_booking_on_a_plan_is_kept(
    club: Path, where: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    pressed_in(monkeypatch, module(where[0]), where[1])
    done = run("plan", str(club))
    assert done.exit_code == 0, done.output
    assert "Stopped early; this is the best lawful plan found so far." in done.stdout
    assert run("audit", str(club), str(club.parent / "week-2026-12-07")).exit_code == 0


def test_while_files_are_written_nobody_listens(club: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pressed_in(monkeypatch, module("scheduler.folder.write"), "_timetable")
    done = run("plan", str(club))
    assert done.exit_code == 0, done.output
    folder = club.parent / "week-2026-12-07"
    assert {path.name for path in folder.iterdir()} >= {"timetable.xlsx", "plan.json", "cards.html", "calendar"}
    assert sorted(path.name for path in club.parent.iterdir()) == ["club.json", folder.name]


@pytest.mark.parametrize(
    ("command", "where"),
    [
        (["check", "CLUB"], ("scheduler.workbook.read", "read_club")),
        (["why", "CLUB"], ("scheduler.booking.model", "Children")),
        (["audit", "CLUB", "WEEK"], ("scheduler.folder.find", "read_plan")),
        (["replan", "CLUB", "WEEK", "--absent", "Noor Haddad", "--on", "2026-12-08"],
         ("scheduler.replan.command", "replan")),
    ],
)  # fmt: skip
def test_every_command_says_so_in_one_sentence(
    club: Path, command: Sequence[str], where: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    week = str(club.parent / "week-2026-12-07")
    assert run("plan", str(club)).exit_code == 0
    before = contents(club.parent)
    for more in ([], ["--json"]):
        pressed_in(monkeypatch, module(where[0]), where[1])
        done = run(*({"CLUB": str(club), "WEEK": week}.get(word, word) for word in command), *more)
        monkeypatch.undo()
        assert done.exit_code == 5, done.output
        assert NOTHING in (done.stdout if more else done.stderr)
    assert contents(club.parent) == before


def test_a_conflict_is_still_told_where_its_reasons_are_not_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    club = save_json(tmp_path, village(coaches=[{"coach": "Ana"}, {"coach": "Ben", "available": "Sun 10:00-11:00"}]))
    pressed_in(monkeypatch, module("scheduler.reasons.why"), "impossible")
    done = run("plan", str(club))
    assert done.exit_code == 4, done.output
    assert "No lawful plan for this week" in done.stdout


def hard_to_prove() -> cp_model.CpModel:
    """Five sums of fifty numbers near to five targets: any answer will do, the best is not shown within an hour."""
    random = Random(1)
    model = cp_model.CpModel()
    chosen = [model.new_bool_var(f"{i}") for i in range(50)]
    off = []
    for row in range(5):
        numbers = [random.randrange(100_000) for _ in chosen]
        off.append(model.new_int_var(0, 10**7, f"off {row}"))
        total = sum(number * one for number, one in zip(numbers, chosen, strict=True))
        model.add(off[-1] >= total - sum(numbers) // 2)
        model.add(off[-1] >= sum(numbers) // 2 - total)
    model.minimize(sum(off))
    return model


def solver() -> Solver:
    one = Solver()
    one.parameters.num_workers = 1
    one.parameters.max_deterministic_time = 300.0
    return one


def pressed_soon() -> None:
    threading.Timer(0.5, press).start()


def test_a_solve_under_way_ends_and_its_answer_is_kept() -> None:
    one = solver()
    one.keeps_best = True
    pressed_soon()
    assert one.status_name(one.solve(hard_to_prove())) == "FEASIBLE"
    assert one.stopped
    assert one.objective_value > one.best_objective_bound
    assert one.response_proto.deterministic_time < 200
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_a_solve_under_way_ends_and_the_program_is_told() -> None:
    one = solver()
    pressed_soon()
    with pytest.raises(KeyboardInterrupt):
        one.solve(hard_to_prove())
    assert one.response_proto.deterministic_time < 200


def test_a_solve_that_is_not_interrupted_says_so() -> None:
    model = cp_model.CpModel()
    model.maximize(model.new_int_var(0, 5, "one"))
    one = solver()
    assert one.status_name(one.solve(model)) == "OPTIMAL"
    assert not one.stopped


def test_rings_that_wait_are_filled_soon_and_those_under_way_are_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first ring is at work when Ctrl-C comes to the first process alone; the second has not been begun."""
    began, go_on = threading.Event(), threading.Event()

    def at_work(task: rotation.Task) -> rotation.Solved:
        began.set()
        go_on.wait(10)
        return rotation.Solved()

    def soon(task: rotation.Task) -> rotation.Solved:
        go_on.set()
        return rotation.Solved(stopped=True)

    monkeypatch.setattr(rotation, "solve_or_stop", at_work)
    monkeypatch.setattr(rotation, "solve_soon", soon)
    club = a_club(teams=2, sessions=2)
    rings = rotation.settings(club, a_plan(club))
    assert len(rings) == 2
    with ThreadPoolExecutor(1) as pool:
        threading.Thread(target=lambda: (began.wait(10), time.sleep(0.3), press())).start()
        tasks = [rotation.Task(rotation.Packed(club), a_plan(club), RULES, 1.0)] * 2
        done = rotation._side_by_side(tasks, rings, pool)  # noqa: SLF001
    assert sorted(one.stopped for one in done) == [False, True]


def test_after_ctrl_c_no_further_club_is_begun(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    paths = [club_file(tmp_path, number) for number in range(3)]
    calls: list[int] = []
    real = module("scheduler.week").plan_week

    def pressing(*about: Any, **more: Any) -> Any:
        calls.append(1)
        if len(calls) == 2:
            press()
        return real(*about, **more)

    monkeypatch.setattr(module("scheduler.week"), "plan_week", pressing)
    done = run("plan", *map(str, paths), "-o", str(tmp_path / "out"), "--workers", "1")
    assert done.exit_code == 5, done.output
    assert "1 of 3 clubs have a week folder" in done.stdout
    assert "stopped before there was a lawful plan" in done.stdout
    assert "stopped before it was begun" in done.stdout
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["club-000"]


def test_clubs_not_begun_are_cancelled_and_those_under_way_are_waited_for(tmp_path: Path) -> None:
    paths = [club_file(tmp_path, number) for number in range(2)]
    errands = errands_of(paths, tmp_path / "out")

    class Two:
        """The first club under way, the second waiting."""

        def __init__(self) -> None:
            self.futures: list[Future[federation.Result]] = []

        def submit(self, work: Callable[..., Any], errand: federation.Errand) -> Future[federation.Result]:
            self.futures.append(Future())
            if len(self.futures) == 1:
                self.futures[0].set_running_or_notify_cancel()
                threading.Timer(0.2, press).start()
                done = federation.Result(errand.club_file, 0, "planned, but stopped early", stopped=True)
                threading.Timer(0.6, self.futures[0].set_result, [done]).start()
            return self.futures[-1]

    results = list(federation.run_errands(errands, Two()))  # type: ignore[arg-type]
    assert [result.words for result in results] == ["stopped before it was begun", "planned, but stopped early"]


AT_AN_IMPORT = """
import os, signal, sys
class Pressing:
    def find_spec(self, name, *about):
        if name == "NAME":
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, Pressing())
from cli import main
main(["check", "no such club"])
"""


@pytest.mark.parametrize("name", ["click", "click.core", "scheduler.errors", "scheduler.workbook.read"])
def test_before_the_command_itself_is_read_it_says_the_same(name: str, tmp_path: Path) -> None:
    seeing = os.environ | {"PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", AT_AN_IMPORT.replace("NAME", name)]
    done = subprocess.run(command, env=seeing, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (5, "", f"{NOTHING}\n")


TOLD = """
import sys
from cli import main
if __name__ == "__main__":
    print("ready", flush=True)
    main()
"""


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="presses Ctrl-C for a whole group of processes")
@pytest.mark.parametrize("wait", [0.1, 0.5, 2.0])
def test_pressed_at_a_terminal_every_process_ends_in_good_order(tmp_path: Path, wait: float) -> None:
    """As at a terminal every process of the run gets it; whenever it comes there is a whole folder or none."""
    script = tmp_path / "command.py"
    script.write_text(TOLD)
    clubs = [str(club_file(tmp_path, number)) for number in range(6)]
    seeing = os.environ | {"PYTHONPATH": str(ROOT)}
    command = [sys.executable, str(script), "plan", *clubs, "-o", str(tmp_path / "out"), "--workers", "2"]
    first = subprocess.Popen(
        command, env=seeing, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    assert first.stdout is not None
    assert first.stdout.readline() == "ready\n"
    time.sleep(wait)
    os.killpg(first.pid, signal.SIGINT)
    said, told = first.communicate(timeout=60)
    assert "Traceback" not in told
    assert "Aborted" not in told
    whole = list((tmp_path / "out").rglob("timetable.xlsx"))
    assert NOTHING in told or f"{len(whole)} of 6 clubs have a week folder" in said, told
    assert first.returncode == (0 if len(whole) == 6 else 5)
    assert list((tmp_path / "out").rglob(".*")) == []


def traces() -> tuple[int, int, int]:
    """Threads, open files and where signals wake somebody."""
    wakes = signal.set_wakeup_fd(-1)
    signal.set_wakeup_fd(wakes)
    return threading.active_count(), len(os.listdir("/proc/self/fd")), wakes


@pytest.mark.skipif(sys.platform != "linux", reason="counts open files")
@pytest.mark.parametrize("pressed", [False, True])
def test_a_solve_leaves_nothing_behind(pressed: bool) -> None:
    one = solver()
    before = traces()
    if pressed:
        pressed_soon()
        with pytest.raises(KeyboardInterrupt):
            one.solve(hard_to_prove())
    else:
        one.solve(cp_model.CpModel())
    assert traces() == before


@pytest.mark.parametrize("moment", ["socketpair", "Thread", "set_wakeup_fd"])
def test_pressed_while_a_solve_is_about_to_begin_it_is_heard(moment: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """As long as nobody waits for it yet it is noted, and the solve ends as soon as it has begun."""
    places = {"socketpair": "socket", "Thread": "threading", "set_wakeup_fd": "signal"}
    one = solver()
    threads = threading.active_count()
    pressed_in(monkeypatch, module(places[moment]), moment)
    with pytest.raises(KeyboardInterrupt):
        one.solve(hard_to_prove())
    assert one.response_proto.deterministic_time < 200
    assert threading.active_count() == threads
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_stretches() -> None:
    before = signal.getsignal(signal.SIGINT)
    with unheard():
        press()
        with heard(), pytest.raises(KeyboardInterrupt):
            press()
    assert signal.getsignal(signal.SIGINT) is before
