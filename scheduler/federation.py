"""Many clubs in one go: each its own folder and its own outcome; a club that fails never stops the others.

The work goes through whatever `concurrent.futures.Executor` is handed in: processes here, or a cluster's own.
"""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, Future, as_completed
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from scheduler.contract import Rule, Severity
from scheduler.errors import EvenweekError, FolderExists, UsageFault
from scheduler.outcome import Booked, Conflict

DONE, FAULTY, NO_PLAN, NO_TIME = 0, 3, 4, 5


@dataclass(frozen=True)
class Errand:
    """One club to plan: its file, where the week folder goes (a folder name is chosen from the week where None)."""

    club_file: Path
    rules: tuple[Rule, ...]
    week: dt.date | None = None
    into: Path | None = None
    seconds: float = 60.0
    replace: bool = False


@dataclass(frozen=True)
class Result:
    """What became of one club; `code` is the exit code a run of its own would have had."""

    club_file: Path
    code: int
    words: str
    folder: Path | None = None
    sessions: int = 0
    cautions: int = 0


def run_errand(errand: Errand) -> Result:
    """Read, plan and write one club. Every named error becomes a result; nothing is done twice into a folder."""
    try:
        return _plan(errand)
    except EvenweekError as error:
        return Result(errand.club_file, error.exit_code, str(error))


def _plan(errand: Errand) -> Result:
    from scheduler.folder.find import default_folder
    from scheduler.folder.write import write_folder
    from scheduler.week import plan_week
    from scheduler.workbook.read import read_club

    club = read_club(errand.club_file, errand.week)
    folder = default_folder(errand.club_file, club.week)
    if errand.into is not None:
        folder = errand.into / errand.club_file.stem / folder.name
    if folder.exists() and not errand.replace:
        return Result(errand.club_file, DONE, "already there", folder)
    outcome = plan_week(club, errand.rules, limit=errand.seconds)
    if isinstance(outcome, Conflict):
        demands = [demand.text for clash in outcome.clashes for demand in clash.demands]
        return Result(errand.club_file, NO_PLAN, "no lawful plan: " + "; ".join(demands[:4]))
    if not isinstance(outcome, Booked):
        return Result(errand.club_file, NO_TIME, "out of time with no plan")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        write_folder(club, outcome.plan, outcome.findings, folder, rules=errand.rules, replace=errand.replace)
    except FolderExists:  # another worker was handed the same club after this one was thought lost, and came first
        return Result(errand.club_file, DONE, "already there", folder)
    cautions = sum(found.severity is Severity.CAUTION for found in outcome.findings)
    return Result(errand.club_file, DONE, "planned", folder, len(outcome.plan.sessions), cautions)


def run_errands(errands: Sequence[Errand], executor: Executor | None = None) -> Iterator[Result]:
    """Results as they come in; without an executor one after another, in order."""
    if executor is None:
        yield from map(run_errand, errands)
        return
    waiting: dict[Future[Result], Errand] = {executor.submit(run_errand, errand): errand for errand in errands}
    for future in as_completed(waiting):
        error = future.exception()
        if error is None:
            yield future.result()
        else:
            yield Result(waiting[future].club_file, 1, f"the work was lost: {type(error).__name__}: {error}")


@contextmanager
def workers(count: int | None = None, cluster: str | None = None) -> Iterator[Executor | None]:
    """Processes on this machine, or the executor of a running Dask cluster at `tcp://host:port`.

    Raises UsageFault where the cluster's library is missing or nobody answers at the address.
    """
    if cluster is not None:
        try:
            from distributed import Client
        except ImportError:
            raise UsageFault("--cluster needs the cluster extra: pip install 'evenweek[cluster]'") from None
        try:
            client = Client(cluster, timeout=10)
        except (OSError, ValueError) as error:
            raise UsageFault(f"no cluster answers at {cluster}: {error}") from None
        with client:
            yield client.get_executor(retries=3)
        return
    if count == 1:
        yield None
        return
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    with ProcessPoolExecutor(count or os.cpu_count() or 1, mp_context=multiprocessing.get_context("spawn")) as pool:
        yield pool


def result_json(result: Result) -> dict[str, object]:
    """One club's result as the JSON document holds it."""
    return {
        "club": str(result.club_file),
        "code": result.code,
        "words": result.words,
        "folder": None if result.folder is None else str(result.folder),
        "sessions": result.sessions,
        "cautions": result.cautions,
    }


def table_lines(results: Sequence[Result]) -> list[str]:
    """One line a club in order of file name, and a closing line."""
    ordered = sorted(results, key=lambda result: str(result.club_file))
    width = max((len(str(result.club_file)) for result in ordered), default=0)
    lines = [
        f"  {str(result.club_file).ljust(width)}  {result.words.splitlines()[0] if result.words else ''}"
        + (f", {result.sessions} sessions" if result.sessions else "")
        + (f", {result.cautions} caution{'s' * (result.cautions != 1)}" if result.cautions else "")
        for result in ordered
    ]
    done = sum(result.code == DONE for result in ordered)
    return [*lines, f"{done} of {len(ordered)} clubs have a week folder"]
