"""The first solve: sessions to days, times, places and adults, and who comes. Wishes in strict order, one a stage."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.booking.build import build_booking, hold_and_forbid, narrowed_booking
from scheduler.booking.unmet import as_audited, unmet_of
from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.outcome import Booked, Conflict, OutOfTime
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.progress import Report, silent

LIMIT = 60.0


def book(
    club: Club,
    rules: Sequence[Rule],
    *,
    limit: float = LIMIT,
    hold: Sequence[PlannedSession] = (),
    forbidden: Sequence[WeekPlan] = (),
    on_progress: Report = silent,
    may_cancel: bool = False,
    earlier: WeekPlan | None = None,
    explain: bool = True,
) -> Booked | Conflict | OutOfTime:
    """The best booking by the order of priorities, or the demands that cannot stand together.

    `limit` is in the solver's reproducible seconds. `hold`: sessions that stay in their slot. `forbidden`: bookings
    that allowed no rotation; none with the same people there again. `earlier`: the plan few changes are counted from.
    Not `explain`: a conflict names no demands; of a whole club these take minutes, and `reasons` finds them sooner.
    After Ctrl-C the best plan so far; KeyboardInterrupt where there is none.
    """
    from scheduler.booking.climb import Climb
    from scheduler.booking.first import book_large

    narrowed = narrowed_booking(club, rules)
    climb = Climb(
        club, rules, on_progress, hold=hold, forbidden=forbidden, may_cancel=may_cancel, earlier=earlier,
        narrowed=narrowed,
    )  # fmt: skip
    if hold or may_cancel or earlier:
        done = climb.run(limit)
    else:
        done = book_large(club, rules, climb, narrowed, limit, on_progress, again=bool(forbidden))
    if done.plan is None:
        if done.infeasible:
            if not explain:
                return Conflict("booking", ())
            return why_none(club, rules, hold, forbidden, may_cancel, limit)
        if done.stopped:  # with nothing to keep
            raise KeyboardInterrupt
        return OutOfTime(limit, "booking")
    unmet = unmet_of(club, done.plan, rules)
    proofs = as_audited(done.proofs, unmet)
    plan = done.plan.model_copy(update={"proofs": proofs, "unmet": unmet})
    gap = max((proof.value - proof.bound for proof in proofs), default=0.0)
    proven = done.finished and all(proof.proved for proof in proofs)
    return Booked(plan=plan, proven=proven, gap=gap, stopped=done.stopped)


def why_none(
    club: Club,
    rules: Sequence[Rule],
    hold: Sequence[PlannedSession],
    forbidden: Sequence[WeekPlan],
    may_cancel: bool,
    limit: float,
) -> Conflict:
    """The demands that cannot stand together where no booking is lawful."""
    from scheduler.booking.reasons import conflict_of

    model = build_booking(club, rules, switchable=True, may_cancel=may_cancel, wishes=False)
    hold_and_forbid(model, hold, forbidden)
    return conflict_of(model, limit, again=bool(forbidden))
