"""What a solve comes to: one of three typed things, never an empty plan or a status string."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.contract import Violation
from scheduler.plan.plan import WeekPlan


@dataclass(frozen=True)
class Booked:
    """A lawful plan. `proven`: no better one exists for the stage named; `gap`: at most so much better is possible."""

    plan: WeekPlan
    proven: bool
    gap: float = 0.0
    findings: tuple[Violation, ...] = ()
    stopped: bool = False


@dataclass(frozen=True)
class Demand:
    """One member of a conflict: a rule and whom it is about, in one sentence."""

    rule: str
    subject: str
    text: str


@dataclass(frozen=True)
class Clash:
    """Demands that cannot stand together. `minimal`: each one left out makes the rest possible.

    `ways_out`: what would help, the cheapest first, each tried out.
    """

    demands: tuple[Demand, ...]
    minimal: bool
    text: str = ""
    ways_out: tuple[str, ...] = ()


@dataclass(frozen=True)
class Conflict:
    """No lawful plan; `stage` says which solve found it (`arithmetic`, `booking`, `rotation`)."""

    stage: str
    clashes: tuple[Clash, ...]


@dataclass(frozen=True)
class OutOfTime:
    """Time ran out before any lawful plan was found."""

    seconds: float
    stage: str


Outcome = Booked | Conflict | OutOfTime
