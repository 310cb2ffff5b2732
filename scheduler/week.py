"""A whole week: book it, fill the rotations, judge the result; book again where a booking allows no rotation."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor

from scheduler.audit import audit, rules_off
from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.errors import PlanRejected
from scheduler.outcome import Booked, Conflict, Outcome, OutOfTime
from scheduler.plan.plan import WeekPlan
from scheduler.progress import Report, silent

BOOKING_TRIES = 4


def plan_week(
    club: Club,
    rules: Sequence[Rule],
    *,
    limit: float = 60.0,
    executor: Executor | None = None,
    on_progress: Report = silent,
    explain: bool = True,
) -> Outcome:
    """Plan the week. `limit` is in the solver's reproducible seconds, for the booking and for each rotation.

    Not `explain`: where nothing can be booked the conflict names no demands, and `why` is asked for them.
    Raises PlanRejected where the finished plan fails its own audit, which is a defect of this program.
    """
    from scheduler.booking.book import book
    from scheduler.rotation.rotate import rotate

    forbidden: list[WeekPlan] = []
    stranded: Conflict | None = None
    for _ in range(BOOKING_TRIES):
        booked = book(
            club,
            rules,
            limit=limit,
            forbidden=tuple(forbidden),
            on_progress=on_progress,
            explain=explain and stranded is None,
        )
        if not isinstance(booked, Booked):
            return stranded if stranded is not None and isinstance(booked, Conflict) else booked
        rotated = rotate(club, booked.plan, rules, executor=executor, on_progress=on_progress, limit=limit)
        if isinstance(rotated, Booked):
            proven = booked.proven and rotated.proven
            return finish(club, rotated.plan, rules, proven, booked.gap, booked.stopped or rotated.stopped)
        if isinstance(rotated, OutOfTime):
            return rotated
        stranded = stranded or rotated
        forbidden.append(booked.plan)
    assert stranded is not None
    return stranded


def finish(
    club: Club, plan: WeekPlan, rules: Sequence[Rule], proven: bool, gap: float = 0.0, stopped: bool = False
) -> Booked:
    """The plan with what was not checked written in, after an audit that must find no breach."""
    plan = plan.model_copy(update={"not_checked": rules_off(club, rules)})
    judged = audit(club, plan, rules)
    if judged.breaches:
        raise PlanRejected(tuple(f"{found.rule}: {found.text}" for found in judged.breaches))
    return Booked(plan=plan, proven=proven, gap=gap, findings=judged.findings, stopped=stopped)
