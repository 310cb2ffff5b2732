"""Many clubs in one go: own folders, own outcomes, nothing lost or done twice; by processes and by a cluster."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from constraints import RULES
from scheduler.errors import UsageFault
from scheduler.federation import Errand, Result, run_errands, table_lines, workers
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


def folders(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.glob("*/week-2026-12-07/plan.json") for path in [path.parent.parent])


def test_a_failed_club_never_stops_the_others(tmp_path: Path) -> None:
    good = [club_file(tmp_path, number) for number in (1, 3)]
    broken = tmp_path / "club-002.json"
    broken.write_text("{")
    hopeless = club_file(tmp_path, 4, coaches=[{"coach": "Ana"}], teams=[{"team": "Wrens", "age_group": "U11",
                                                                         "coaches": "Ana"}])  # fmt: skip
    errands = [Errand(path, RULES, into=tmp_path / "out") for path in (good[0], broken, good[1], hopeless)]
    results = list(run_errands(errands))
    assert [result.code for result in results] == [0, 3, 0, 4]
    assert folders(tmp_path / "out") == ["club-001", "club-003"]
    assert table_lines(results)[-1] == "2 of 4 clubs have a week folder"


def test_a_second_run_does_only_what_is_missing(tmp_path: Path) -> None:
    paths = [club_file(tmp_path, number) for number in (1, 2)]
    errands = [Errand(path, RULES, into=tmp_path / "out") for path in paths]
    first = list(run_errands(errands[:1]))
    stamp = (tmp_path / "out" / "club-001" / "week-2026-12-07" / "plan.json").stat().st_mtime_ns
    second = list(run_errands(errands))
    assert [result.words for result in first + second] == ["planned", "already there", "planned"]
    assert (tmp_path / "out" / "club-001" / "week-2026-12-07" / "plan.json").stat().st_mtime_ns == stamp


def test_processes_give_the_same_bytes_as_one_after_another(tmp_path: Path) -> None:
    paths = [club_file(tmp_path, number) for number in range(4)]
    alone = list(run_errands([Errand(path, RULES, into=tmp_path / "alone") for path in paths]))
    with workers(2) as pool:
        together = list(run_errands([Errand(path, RULES, into=tmp_path / "pool") for path in paths], pool))
    assert {result.code for result in alone + together} == {0}
    for result in alone:
        assert result.folder is not None
        twin = tmp_path / "pool" / result.folder.relative_to(tmp_path / "alone")
        assert (twin / "plan.json").read_bytes() == (result.folder / "plan.json").read_bytes()


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
    errands = [Errand(path, RULES, into=tmp_path / "out") for path in paths]
    results: list[Result] = []
    with workers(cluster=address) as executor:
        for result in run_errands(errands, executor):
            results.append(result)
            if len(results) == 100:
                hands[0].send_signal(signal.SIGKILL)
                time.sleep(0.1)
    assert len(results) == 200
    assert [result for result in results if result.code != 0] == []
    assert folders(tmp_path / "out") == [f"club-{number:03d}" for number in range(200)]
    leftovers = [
        path for path in (tmp_path / "out").rglob("*") if path.name.startswith((".", "week-")) and path.is_dir()
    ]
    assert len(leftovers) == 200
