"""Ctrl-C: when it is heard, when it waits, and how it reaches a solve that is under way.

Where a lawful plan is in hand, it ends the search and the plan is kept; where there is none yet, the command ends with
one sentence. While files are being written it is not heard: they take seconds, and are whole afterwards.
"""

from __future__ import annotations

import signal
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import Any

AGAIN = 0.1  # seconds after which a solve is told once more: one that has not quite begun does not listen


def _may_set() -> bool:
    return threading.current_thread() is threading.main_thread()


@contextmanager
def _handled_by(handler: Any) -> Iterator[None]:
    if not _may_set() or signal.getsignal(signal.SIGINT) is None:
        yield
        return
    before = signal.signal(signal.SIGINT, handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def unheard() -> Iterator[None]:
    """A stretch, or a function, that is finished whatever is pressed."""
    with _handled_by(signal.SIG_IGN):
        yield


@contextmanager
def heard() -> Iterator[None]:
    """A stretch in a process that else leaves Ctrl-C to the first process, in which it raises KeyboardInterrupt."""
    with _handled_by(signal.default_int_handler):
        yield


class Ears:
    """Whether Ctrl-C came during a call that runs no Python, such as a solve; `stop` is called as soon as it did.

    Without this Python would hear of it only when the call is over. What the program itself does on Ctrl-C is put off:
    `tell` does it.
    """

    def __init__(self, stop: Callable[[], None]) -> None:
        self._stop, self._over = stop, threading.Event()
        self._handler = signal.getsignal(signal.SIGINT) if _may_set() else None
        self.told = False

    def _note(self, number: int, frame: FrameType | None) -> None:
        self.told = True

    def __enter__(self) -> Ears:
        if callable(self._handler):
            signal.signal(signal.SIGINT, self._note)  # first, so that nothing is left half made
            self._read, self._write = socket.socketpair()  # a pipe cannot be made not to block on every system
            self._write.setblocking(False)
            self._thread = threading.Thread(target=self._listen, daemon=True)
            self._thread.start()
            self._wakes = signal.set_wakeup_fd(self._write.fileno(), warn_on_full_buffer=False)
            if self.told:  # before there was anybody to wake
                self._write.send(bytes([signal.SIGINT]))
        return self

    def __exit__(self, *error: object) -> None:
        if not callable(self._handler):
            return
        signal.set_wakeup_fd(self._wakes)
        self._over.set()
        self._write.send(b"\0")
        self._thread.join()
        self._read.close()
        self._write.close()
        signal.signal(signal.SIGINT, self._handler)

    def _listen(self) -> None:
        while not self._over.is_set():
            if signal.SIGINT in self._read.recv(64):
                while not self._over.wait(AGAIN):
                    self._stop()

    def tell(self) -> None:
        """Do now what the program does on Ctrl-C, if it came: by default raise KeyboardInterrupt."""
        if self.told and callable(self._handler):
            self._handler(signal.SIGINT, None)
