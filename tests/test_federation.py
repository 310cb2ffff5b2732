"""Many clubs in one go: own folders, own outcomes, nothing lost or done twice; by processes and by a cluster."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from cli import main
from constraints import RULES
from scheduler.club.club import Club
from scheduler.contract import Basis, Rule, Source, Violation
from scheduler.errors import UsageFault
from scheduler.federation import Errand, Result, errands_for, run_errands, table_lines, workers
from scheduler.plan.plan import WeekPlan
from tests.club_files import village

ROOT = Path(__file__).resolve().parent.parent


def club_file(folder: Path, number: int, **changes: object) -> Path:
    """One small club: eight children, one session."""
    rows = village(**changes)
    rows["club"] = {**rows["club"], "name": f"Club {number}"}
    rows["players"] = rows["players"][:8]
    rows.setdefault("sessions", [{"session": "Evening", "teams": "Wrens", "plan": rows_plan(), "minutes": 30}])
    rows["plans"] = [{"plan": rows_plan(), "block": 1, "practice": "Run round", "minutes": 20}]
    rows["practices"] = [{"practice": "Run round", "kind": "together", "rpe": 3}]
    path = folder / f"club-{number:03d}.json"
    path.write_text(json.dumps(rows))
    return path


def rows_plan() -> str:
    return "Half an hour"


def errands_of(
    paths: list[Path], output: Path | None, rules: tuple[Rule, ...] = RULES, **changes: object
) -> list[Errand]:
    return errands_for(paths, output, replace(Errand(paths[0], rules), **changes))


class BringsTheProcessDown:
    """Not a rule anybody would want: it ends the process of whoever plans Club 2."""

    name, words, source, firm = "brings down", "", Source("made up", basis=Basis.OURS), False

    def off(self, club: Club) -> str | None:
        if club.name == "Club 2":
            os._exit(9)
        return "off"

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        yield from ()


class Fails(BringsTheProcessDown):
    """A defect: an error without a name, for Club 2 alone."""

    def off(self, club: Club) -> str | None:
        if club.name == "Club 2":
            raise ZeroDivisionError
        return "off"


def folders(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.glob("*/week-2026-12-07/plan.json") for path in [path.parent.parent])


def test_a_failed_club_never_stops_the_others(tmp_path: Path) -> None:
    good = [club_file(tmp_path, number) for number in (1, 3)]
    broken = tmp_path / "club-002.json"
    broken.write_text("{")
    hopeless = club_file(tmp_path, 4, coaches=[{"coach": "Ana"}], teams=[{"team": "Wrens", "age_group": "U11",
                                                                         "coaches": "Ana"}])  # fmt: skip
    errands = errands_of([good[0], broken, good[1], hopeless], tmp_path / "out")
    results = list(run_errands(errands))
    assert [result.code for result in results] == [0, 3, 0, 4]
    assert folders(tmp_path / "out") == ["club-001", "club-003"]
    assert table_lines(results)[-1] == "2 of 4 clubs have a week folder"


def test_a_second_run_does_only_what_is_missing(tmp_path: Path) -> None:
    paths = [club_file(tmp_path, number) for number in (1, 2)]
    errands = errands_of(paths, tmp_path / "out")
    first = list(run_errands(errands[:1]))
    stamp = (tmp_path / "out" / "club-001" / "week-2026-12-07" / "plan.json").stat().st_mtime_ns
    second = list(run_errands(errands))
    assert [result.words for result in first + second] == ["planned", "already there", "planned"]
    assert (tmp_path / "out" / "club-001" / "week-2026-12-07" / "plan.json").stat().st_mtime_ns == stamp


def test_processes_give_the_same_bytes_as_one_after_another(tmp_path: Path) -> None:
    paths = [club_file(tmp_path, number) for number in range(4)]
    alone = list(run_errands(errands_of(paths, tmp_path / "alone")))
    with workers(2) as pool:
        together = list(run_errands(errands_of(paths, tmp_path / "pool"), pool))
    assert {result.code for result in alone + together} == {0}
    for result in alone:
        assert result.folder is not None
        twin = tmp_path / "pool" / result.folder.relative_to(tmp_path / "alone")
        assert (twin / "plan.json").read_bytes() == (result.folder / "plan.json").read_bytes()


def test_a_process_that_dies_takes_no_other_club_with_it(tmp_path: Path) -> None:
    paths = [club_file(tmp_path, number) for number in range(5)]
    with workers(2) as pool:
        results = list(run_errands(errands_of(paths, tmp_path / "out", (*RULES, BringsTheProcessDown())), pool))
    codes = {result.club_file.stem: result.code for result in results}
    assert codes == {f"club-{number:03d}": int(number == 2) for number in range(5)}
    assert folders(tmp_path / "out") == [f"club-{number:03d}" for number in (0, 1, 3, 4)]


def test_an_error_without_a_name_stops_no_other_club(tmp_path: Path) -> None:
    paths = [club_file(tmp_path, number) for number in (1, 2, 3)]
    results = list(run_errands(errands_of(paths, tmp_path / "out", (*RULES, Fails()))))
    assert [result.code for result in results] == [0, 1, 0]


def test_each_club_has_a_folder_of_its_own(tmp_path: Path) -> None:
    """Files of one name, files beside each other, one file named twice: never one folder for two clubs."""
    one, two, alone = tmp_path / "a" / "club.json", tmp_path / "b" / "club.json", tmp_path / "c" / "club.json"
    beside = tmp_path / "a" / "other.json"

    def places(files: list[Path], output: Path | None) -> list[Path | None]:
        return [errand.into for errand in errands_of(files, output)]

    out = tmp_path / "out"
    assert places([one, two], out) == [out / "a" / "club", out / "b" / "club"]
    assert places([one, beside], out) == [out / "club", out / "other"]
    assert places([one, one], out) == [out / "club"]
    assert places([one, beside, alone], None) == [tmp_path / "a" / "club", tmp_path / "a" / "other", None]
    with pytest.raises(UsageFault, match=r"club.json and club.xlsx would share a folder"):
        places([one, one.with_suffix(".xlsx")], out)


def test_replace_keeps_the_old_week_aside_though_a_club_is_handed_out_twice(tmp_path: Path) -> None:
    """A worker that is lost after its work is done: the club is handed out again and must be left as it is."""
    path = club_file(tmp_path, 1)
    list(run_errands(errands_of([path], tmp_path / "out")))
    week = tmp_path / "out" / "club-001" / "week-2026-12-07"
    (week / "cards.html").write_text("the old cards")
    again = errands_of([path], tmp_path / "out", replace=True)
    os.utime(week / "plan.json", (again[0].began - 60, again[0].began - 60))
    assert [result.words for result in run_errands(again * 2)] == ["planned", "planned"]
    assert (week.with_name(week.name + ".before") / "cards.html").read_text() == "the old cards"


def test_the_command_says_what_became_of_each_club(tmp_path: Path) -> None:
    """Two good clubs and a broken one: a table, the gravest exit code; the second run finds two there already."""
    paths = [club_file(tmp_path, 1), tmp_path / "club-002.json", club_file(tmp_path, 3)]
    paths[1].write_text("{")
    command = ["plan", *map(str, paths), "-o", str(tmp_path / "out"), "--workers", "1"]
    first = CliRunner().invoke(main, command)
    assert first.exit_code == 3
    assert first.stdout.splitlines()[-1] == "2 of 3 clubs have a week folder"
    again = json.loads(CliRunner().invoke(main, [*command, "--json"]).stdout)["clubs"]
    assert [(club["code"], club["words"]) for club in again if club["code"] == 0] == [(0, "already there")] * 2


def test_no_cluster_at_the_address() -> None:
    with pytest.raises(UsageFault, match="no cluster answers"), workers(cluster=f"tcp://127.0.0.1:{free_port()}"):
        pass


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """A real scheduler and two workers on loopback, each a process of its own."""
    address = f"tcp://127.0.0.1:{free_port()}"
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "ignore"}

    def start(*arguments: str) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", "distributed.cli." + arguments[0], *arguments[1:]]
        return subprocess.Popen(command, cwd=tmp_path, env=environment, stdout=subprocess.DEVNULL,
                                stderr=subprocess.DEVNULL)  # fmt: skip

    head = start("dask_scheduler", "--host", address, "--no-dashboard", "--no-show")
    hands = [
        start("dask_worker", address, "--nthreads", "1", "--no-dashboard", "--no-nanny", "--name", f"hand {i}")
        for i in (1, 2)
    ]
    yield address, hands
    for process in (*hands, head):
        process.kill()
        process.wait()


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")
def test_200_clubs_on_a_cluster_that_loses_a_worker_half_way(
    tmp_path: Path, cluster: tuple[str, list[subprocess.Popen[bytes]]]
) -> None:
    """Nothing is lost and nothing is done twice into a folder, though one of two workers is killed half way."""
    address, hands = cluster
    paths = [club_file(tmp_path, number) for number in range(200)]
    errands = errands_of(paths, tmp_path / "out")
    results: list[Result] = []
    with workers(cluster=address) as executor:
        for result in run_errands(errands, executor):
            results.append(result)
            if len(results) == 100:
                hands[0].send_signal(signal.SIGKILL)
                assert hands[0].wait(10) == -signal.SIGKILL
    assert len(results) == 200
    assert [result for result in results if result.code != 0] == []
    assert folders(tmp_path / "out") == [f"club-{number:03d}" for number in range(200)]
    leftovers = [
        path for path in (tmp_path / "out").rglob("*") if path.name.startswith((".", "week-")) and path.is_dir()
    ]
    assert len(leftovers) == 200
    command = ["plan", *map(str, paths[:3]), "-o", str(tmp_path / "out"), "--cluster", address]
    assert CliRunner().invoke(main, command).stdout.count("already there") == 3
