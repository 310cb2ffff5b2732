"""Progress on stderr: one live line on a terminal, otherwise a plain line every few seconds. Never on stdout."""

from __future__ import annotations

import sys
import time
from typing import Protocol, TextIO


class Report(Protocol):
    """What the solves call: the stage in trade words, the best found so far and what is proven impossible to beat."""

    def __call__(self, stage: str, best: float | None = None, bound: float | None = None) -> None:
        """Say where the work stands."""


def silent(stage: str, best: float | None = None, bound: float | None = None) -> None:
    """Say nothing."""


class LiveLine:
    """The reporter of the command line. Wall time is shown only, it steers nothing."""

    def __init__(self, stream: TextIO | None = None, every: float = 5.0) -> None:
        self._stream = stream or sys.stderr
        self._terminal = self._stream.isatty()
        self._every = every
        self._began = time.monotonic()
        self._last = -every
        self._stage = ""
        self._width = 0

    def __call__(self, stage: str, best: float | None = None, bound: float | None = None) -> None:
        """Show time, stage, best and how many better remain possible."""
        now = time.monotonic() - self._began
        new_stage = stage != self._stage
        if not self._terminal and not new_stage and now - self._last < self._every:
            return
        self._stage, self._last = stage, now
        line = f"{now:5.1f} s  {stage}"
        if best is not None:
            line += f": {best:g} found"
            if bound is not None:
                better = max(0.0, best - bound)
                line += "; no better one is possible" if better < 1e-6 else f"; at most {better:g} better possible"
        self._show(line)

    def _show(self, line: str) -> None:
        if not self._terminal:
            self._stream.write(line + "\n")
            self._stream.flush()
            return
        padded = line[:118].ljust(self._width)
        self._width = len(line[:118])
        self._stream.write("\r" + padded)
        self._stream.flush()

    def __enter__(self) -> LiveLine:
        """The line, which is ended however the work ends."""
        return self

    def __exit__(self, *error: object) -> None:
        self.done()

    def done(self) -> None:
        """End the live line so that what follows starts on a line of its own."""
        if self._terminal and self._width:
            self._stream.write("\r" + " " * self._width + "\r")
            self._stream.flush()
            self._width = 0
