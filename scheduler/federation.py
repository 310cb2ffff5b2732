"""Many clubs in one go: each its own folder and its own outcome; a club that fails never stops the others.

The work goes through whatever `concurrent.futures.Executor` is handed in: processes here, or a cluster's own.
"""

from __future__ import annotations

import datetime as dt
import math
import os
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future, as_completed
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from scheduler.contract import Rule, Severity
from scheduler.errors import EvenweekError, FolderExists, UsageFault
from scheduler.folder.swap import PLAN_FILE
from scheduler.outcome import Booked, Conflict
from scheduler.processes import ended_with, follow_the_first, submit
from scheduler.stopping import heard

DONE, FAULTY, NO_PLAN, NO_TIME = 0, 3, 4, 5


@dataclass(frozen=True)
class Errand:
    """One club to plan: its file and where its week folder goes (beside the file where `into` is None).

    `began`: seconds since the epoch. What `replace` finds in its place from later than that was made by this very run.
    """

    club_file: Path
    rules: tuple[Rule, ...]
    week: dt.date | None = None
    into: Path | None = None
    seconds: float = 60.0
    replace: bool = False
    began: float = math.inf


def errands_for(club_files: Sequence[Path], output: Path | None, errand: Errand) -> list[Errand]:
    """One errand a club, each with a week folder of its own; a file named twice is planned once.

    Like `errand` but for the file and its place: below `output` a folder named after the file; without `output` beside
    the file, where several of the files stand in one folder each in a folder named after it.
    """
    files = list(dict.fromkeys(file.resolve() for file in club_files))
    if output is not None:
        once = len({file.stem for file in files}) == len(files)
        root = Path(os.path.commonpath([file.parent for file in files]))
        below = [file.stem if once else file.relative_to(root).with_suffix("") for file in files]
        places: list[Path | None] = [output.resolve() / name for name in below]
    else:
        crowded = {file.parent for at, file in enumerate(files) if file.parent in {f.parent for f in files[:at]}}
        places = [file.with_suffix("") if file.parent in crowded else None for file in files]
    shared = [file for file, place in zip(files, places, strict=True) if place is not None and places.count(place) > 1]
    if shared:
        raise UsageFault(
            f"{shared[0].name} and {shared[1].name} would share a folder; rename one, or plan it by itself"
        )
    now = time.time()
    return [replace(errand, club_file=f, into=place, began=now) for f, place in zip(files, places, strict=True)]


@dataclass(frozen=True)
class Result:
    """What became of one club; `code` is the exit code a run of its own would have had. `stopped`: by Ctrl-C."""

    club_file: Path
    code: int
    words: str
    folder: Path | None = None
    sessions: int = 0
    cautions: int = 0
    stopped: bool = False


def run_errand(errand: Errand) -> Result:
    """Read, plan and write one club. Every named error becomes a result; nothing is done twice into a folder."""
    try:
        return _plan(errand)
    except EvenweekError as error:
        return Result(errand.club_file, error.exit_code, str(error))
    except KeyboardInterrupt:
        return Result(errand.club_file, NO_TIME, "stopped before there was a lawful plan", stopped=True)


def _hearing(errand: Errand) -> Result:
    with heard():
        return run_errand(errand)


def _plan(errand: Errand) -> Result:
    from scheduler.folder.find import default_folder
    from scheduler.folder.write import write_folder
    from scheduler.reasons.why import why
    from scheduler.week import plan_week
    from scheduler.workbook.read import read_club

    club = read_club(errand.club_file, errand.week)
    folder = default_folder(errand.club_file, club.week)
    if errand.into is not None:
        folder = errand.into / folder.name
    if errand.replace and _made_since(folder, errand.began):
        return Result(errand.club_file, DONE, "planned", folder)
    if folder.exists() and not errand.replace:
        return Result(errand.club_file, DONE, "already there", folder)
    outcome = plan_week(club, errand.rules, limit=errand.seconds, explain=False)
    if isinstance(outcome, Conflict):
        outcome = why(club, errand.rules, errand.seconds) or outcome
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
    count, stopped = len(outcome.plan.sessions), outcome.stopped
    words = "planned, but stopped early" if stopped else "planned"
    return Result(errand.club_file, DONE, words, folder, count, cautions, stopped)


def _made_since(folder: Path, began: float) -> bool:
    """Whether a lost worker had finished this folder in this run: the copy kept aside must stay the old one."""
    made = folder / PLAN_FILE
    return made.is_file() and made.stat().st_mtime >= began


def run_errands(errands: Sequence[Errand], executor: Executor | None = None) -> Iterator[Result]:
    """Results as they come in; without an executor one after another, in order. No club's failure stops another's.

    A worker that dies takes down a whole pool of processes; its clubs are then planned in a process of their own each,
    so that only the club that brings its process down is lost. After Ctrl-C no further club is begun, and those under
    way keep the best they have.
    """
    if executor is None:
        yield from _one_by_one(errands)
        return
    broken: list[Errand] = []
    waiting: dict[Future[Result], Errand] = {}
    for errand in errands:
        try:
            waiting[submit(executor, _hearing, errand)] = errand
        except BrokenExecutor:
            broken.append(errand)
    stopped = False
    for future in _as_they_come(list(waiting)):
        errand = waiting[future]
        stopped = stopped or future.cancelled()
        fault = None if future.cancelled() else future.exception()
        if isinstance(fault, BrokenExecutor):
            broken.append(errand)
        elif fault is not None:
            yield _lost(errand, fault)
        else:
            yield _not_begun(errand) if future.cancelled() else future.result()
    for errand in broken:
        yield _not_begun(errand) if stopped else _by_itself(errand)


def _one_by_one(errands: Sequence[Errand]) -> Iterator[Result]:
    stopped = False
    for errand in errands:
        try:
            result = _not_begun(errand) if stopped else run_errand(errand)
        except Exception as error:
            result = _lost(errand, error)
        stopped = stopped or result.stopped
        yield result


def _as_they_come(futures: Sequence[Future[Result]]) -> Iterator[Future[Result]]:
    """Each when it is done; after Ctrl-C those not begun are cancelled, and the processes at work hear it too."""
    came: list[Future[Result]] = []
    try:
        for future in as_completed(futures):
            came.append(future)
            yield future
    except KeyboardInterrupt:
        left = [future for future in futures if future not in came]
        off = [future for future in left if future.cancel()]
        yield from off
        yield from as_completed([future for future in left if future not in off])


def _not_begun(errand: Errand) -> Result:
    return Result(errand.club_file, NO_TIME, "stopped before it was begun", stopped=True)


def _lost(errand: Errand, error: BaseException) -> Result:
    return Result(errand.club_file, 1, f"the work was lost: {type(error).__name__}: {error}")


def _by_itself(errand: Errand) -> Result:
    pool = _processes(1)
    with ended_with(pool):
        try:
            return submit(pool, _hearing, errand).result()
        except Exception as error:
            return _lost(errand, error)


def _processes(count: int) -> Executor:
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    return ProcessPoolExecutor(count, multiprocessing.get_context("spawn"), initializer=follow_the_first)


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
    pool = _processes(count or os.cpu_count() or 1)
    with ended_with(pool):
        yield pool


def run_all(
    errands: Sequence[Errand], count: int | None, cluster: str | None, tell: Callable[[str], None]
) -> list[Result]:
    """Every errand's result, each told in a line as it comes in; Ctrl-C pressed again leaves the rest."""
    results: list[Result] = []
    try:
        with workers(count, cluster) as executor:
            for result in run_errands(errands, executor):
                results.append(result)
                tell(f"{len(results)} of {len(errands)}: {result.club_file.name}: {result.words}")
    except KeyboardInterrupt:
        known = {result.club_file for result in results}
        left = [errand for errand in errands if errand.club_file not in known]
        results += [Result(errand.club_file, NO_TIME, "stopped before it was done", stopped=True) for errand in left]
    return results


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
