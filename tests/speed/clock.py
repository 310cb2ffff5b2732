"""Processor seconds of this process, all threads together: what a busy machine leaves to be compared."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

LOOK = 0.05


class Stopwatch:
    """Processor seconds since it was made."""

    def __init__(self) -> None:
        self._began = time.process_time()

    def __call__(self) -> float:
        return time.process_time() - self._began


@contextmanager
def alarm(watch: Stopwatch, limit: float, ring: Callable[[], object]) -> Iterator[None]:
    """Call `ring` once, from another thread, where the work inside takes longer than `limit` processor seconds."""
    over = threading.Event()

    def wait() -> None:
        while not over.wait(LOOK):
            if watch() > limit:
                ring()
                return

    waiter = threading.Thread(target=wait, daemon=True)
    waiter.start()
    try:
        yield
    finally:
        over.set()
        waiter.join()
