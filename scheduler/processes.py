"""The processes of one run, for rotations and files side by side, where they pay."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from contextlib import contextmanager
from importlib import import_module

from scheduler.club.club import Club
from scheduler.contract import Rule

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
    with ProcessPoolExecutor(count, spawn, initializer=_make_ready, initargs=(tuple(rules),)) as pool:
        pool.submit(abs, 0)  # starts them all, so that they import while the booking is still being solved
        yield pool


def _make_ready(rules: tuple[Rule, ...]) -> None:
    """In a new process: import what it will need (`rules` brings theirs), and leave Ctrl-C to the first process.

    It must not outlive the first process, however that one is ended.
    """
    import signal
    import threading

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with_the_first, daemon=True).start()
    for name in NEEDED:
        import_module(name)


def _leave_with_the_first() -> None:
    from multiprocessing import parent_process
    from multiprocessing.connection import wait

    first = parent_process()
    if first is not None:
        wait([first.sentinel])
        os._exit(1)
