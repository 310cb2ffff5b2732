"""What can go wrong, each kind with the exit code a user meets.

Code 1 is left free: it is what a crash returns, and nothing here uses it on purpose.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing wrong in the input: where it is, what is wrong, and what would be right.

    `where` reads `Sheet!Cell` (`Players!D4`), a sheet alone, or a file name.
    """

    where: str
    text: str

    def __str__(self) -> str:
        """The sentence a user reads."""
        return f"{self.where}: {self.text}" if self.where else self.text


class EvenweekError(Exception):
    """Anything this program says no to in words; `exit_code` is what the shell gets."""

    exit_code = 3


class InputFaults(EvenweekError):
    """The club file cannot be used; every fault at once, in reading order."""

    exit_code = 3

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        super().__init__("\n".join(str(fault) for fault in faults))


class UsageFault(EvenweekError):
    """The command was asked for something that makes no sense, such as an unknown pitch in `--closed`."""

    exit_code = 2


class FolderExists(EvenweekError):
    """The week folder is there already and `--replace` was not given."""

    exit_code = 2


class Stopped(EvenweekError):
    """Ended by Ctrl-C before there was anything to keep."""

    exit_code = 5

    def __init__(self) -> None:
        super().__init__("Stopped before it was done; nothing was written.")


class PlanRejected(EvenweekError):
    """A plan made here failed its own audit: a defect of this program, never the user's fault; nothing is written."""

    exit_code = 1

    def __init__(self, breaches: tuple[str, ...]) -> None:
        self.breaches = breaches
        super().__init__("\n".join(breaches))
