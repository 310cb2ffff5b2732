"""The processes of one run, for rotations and files side by side, where they pay."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from importlib import import_module
from typing import TypeVar

from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.stopping import unheard

Answer = TypeVar("Answer")
MANY_SESSIONS = 12  # starting a process costs as much as four small rotations
NEEDED = ("scheduler.rotation.rotate", "scheduler.folder.timetable", "scheduler.folder.pages",
          "scheduler.folder.calendars", "scheduler.welfare.sheet", "xlsxwriter", "jinja2", "icalendar")  # fmt: skip


@contextmanager
def side_by_side(club: Club, rules: Sequence[Rule], wanted: int | None = None) -> Iterator[Executor | None]:
    """So many processes, or as many as serve a club of this size; None where one does as well."""
    count = wanted or (min(os.cpu_count() or 1, 4) if len(club.sessions) >= MANY_SESSIONS else 1)
    if count < 2:
        yield None
        return
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    spawn = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(count, spawn, initializer=_make_ready, initargs=(tuple(rules),))
    with ended_with(pool):
        submit(pool, abs, 0)  # starts one, so that it imports while the booking is still being solved
        yield pool


def submit(executor: Executor, work: Callable[..., Answer], *about: object) -> Future[Answer]:
    """Hand work to an executor. A process that is started for it is deaf to Ctrl-C from its first moment."""
    with unheard():
        return executor.submit(work, *about)


@contextmanager
def ended_with(pool: Executor) -> Iterator[None]:
    """Close a pool of processes at the end; where that is Ctrl-C or a fault, end what its processes are doing."""
    from multiprocessing import active_children

    before = {process.pid for process in active_children()}
    try:
        yield
    except BaseException:
        with unheard():
            mine = [process for process in active_children() if process.pid not in before]
            pool.shutdown(wait=False, cancel_futures=True)
            for process in mine:
                process.terminate()
        raise
    with unheard():
        pool.shutdown()


def _make_ready(rules: tuple[Rule, ...]) -> None:
    """In a new process: import what it will need (`rules` brings theirs)."""
    follow_the_first()
    for name in NEEDED:
        import_module(name)


def follow_the_first() -> None:
    """In a new process: leave Ctrl-C to the first one, but in stretches of work that say otherwise.

    It must not outlive the first process, however that one is ended.
    """
    import signal
    import threading

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with_the_first, daemon=True).start()


def _leave_with_the_first() -> None:
    from multiprocessing import parent_process
    from multiprocessing.connection import wait

    first = parent_process()
    if first is not None:
        wait([first.sentinel])
        os._exit(1)
