"""The first solve: sessions to days, times, places and adults, and who comes. Wishes in strict order, one a stage."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, TypedDict

from scheduler.booking.slots import slot_of
from scheduler.club.club import Club
from scheduler.contract import Rule, Severity, is_booking_rule, is_narrowing_rule
from scheduler.outcome import Booked, Conflict, OutOfTime
from scheduler.plan.plan import PlannedSession, Proof, Unmet, WeekPlan
from scheduler.progress import Report, silent

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot

LIMIT = 60.0
STOOD_DOWN = ("fewest minutes stood down", "fewest children stood down")


class Small(TypedDict, total=False):
    """What makes a model smaller: adults of other teams left out, and children who come to everything they can.

    `widened`: sessions for which there is every choice all the same.
    """

    outsiders: bool
    certain_only: bool
    widened: frozenset[str]


def build_booking(
    club: Club,
    rules: Sequence[Rule],
    *,
    switchable: bool = False,
    free: bool = False,
    outsiders: bool = True,
    certain_only: bool = False,
    widened: frozenset[str] = frozenset(),
    may_cancel: bool = False,
    earlier: WeekPlan | None = None,
    wishes: bool = True,
    relaxed: bool = False,
    like: BookingModel | None = None,
    beside: WeekPlan | None = None,
    slots: Mapping[str, list[Slot]] | None = None,
) -> BookingModel:
    """The model of a club's week with every rule that is on posted to it.

    Not `switchable`: every switch is on, slots that a rule excludes are left out and the rows are tight. `switchable`:
    every constraint hangs on its switch, and nothing is fixed; the caller fixes the switches or assumes them. `like`:
    a model of the same club and rules, not switchable, whose slots have been narrowed already. `beside`: sessions that
    have the slots of this plan and no others. `slots`: the only ones that each session may have.
    """
    from scheduler.booking.model import BookingModel

    model = BookingModel(
        club, switchable=switchable, free=free, outsiders=outsiders, certain_only=certain_only, widened=widened,
        may_cancel=may_cancel, earlier=earlier, wishes=wishes, relaxed=relaxed, like=like, slots=slots,
    )  # fmt: skip
    for planned in beside.sessions if beside is not None and like is None else ():
        model.keep_slot(planned.session, slot_of(club, planned))
    mine = sorted((rule for rule in rules if is_booking_rule(rule) and rule.off(club) is None), key=lambda r: r.name)
    for rule in mine if like is None else ():
        if is_narrowing_rule(rule):
            rule.narrow(club, model)
    model.make()
    for rule in mine:
        rule.post(club, model)
    if not switchable:
        model.switches.fix_on()
    return model


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
    from scheduler.booking.stages import Stages
    from scheduler.booking.twins import order_twins

    model: BookingModel | None = None
    left = limit
    for small in LADDER:
        model = build_booking(
            club, rules, may_cancel=may_cancel, earlier=earlier, relaxed=not hold, like=model, **small
        )
        hold_and_forbid(model, hold, forbidden)
        if model.relaxed:
            order_twins(model)
        stages = Stages(model, left, on_progress)
        if small and not stages.assume_least():
            continue
        stages.run()
        left = stages.left
        if not stages.infeasible:
            break
    if stages.plan is None:
        if stages.infeasible:
            if not explain:
                return Conflict("booking", ())
            return why_none(club, rules, hold, forbidden, may_cancel, limit)
        if stages.stopped:  # with nothing to keep
            raise KeyboardInterrupt
        return OutOfTime(limit, "booking")
    unmet = unmet_of(club, stages.plan, rules)
    proofs = as_audited(stages.proofs, unmet)
    plan = stages.plan.model_copy(update={"proofs": proofs, "unmet": unmet})
    gap = max((proof.value - proof.bound for proof in proofs), default=0.0)
    proven = stages.finished and all(proof.proved for proof in proofs)
    return Booked(plan=plan, proven=proven, gap=gap, stopped=stages.stopped)


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


LADDER: tuple[Small, ...] = ({"outsiders": False, "certain_only": True}, {"certain_only": True}, {})
"""Small models first: everybody comes who can, first led by their own, then by whoever may help. The last has it all.

A plan found in a small one is as good as any: where nobody loses more than counting alone demands, every plan as good
has all others at everything as well; and see `Stages.assume_least` about adults.
"""


def hold_and_forbid(model: BookingModel, hold: Sequence[PlannedSession], forbidden: Sequence[WeekPlan]) -> None:
    """Post what stays where it is, and what must not come again."""
    for planned in hold:
        on = model.switch("held as planned", planned.session, f"{planned.session} stays where it is")
        model.stay(on, planned)
    for plan in forbidden:
        model.forbid(plan)


def as_audited(proofs: Sequence[Proof], unmet: Sequence[Unmet]) -> tuple[Proof, ...]:
    """The proofs with what the audit finds lost, where that is more than the model knew, and so not shown the least.

    The model counts each session's headers by themselves; children who have used theirs up elsewhere lose more.
    """
    found: list[Proof] = []
    for proof in proofs:
        value = sum(row.by for row in unmet if row.wish == proof.measure)
        if proof.measure in STOOD_DOWN and value > proof.value:
            text = f"{proof.measure}: {value:g}; at least {proof.bound:g}, not proven"
            proof = proof.model_copy(update={"value": value, "proved": False, "text": text})
        found.append(proof)
    return tuple(found)


def unmet_of(club: Club, plan: WeekPlan, rules: Sequence[Rule]) -> tuple[Unmet, ...]:
    """Every wish that the plan pays for, from the audits of the booking rules."""
    return tuple(
        Unmet(wish=found.rule, about=found.about, text=found.text, by=float(found.by))
        for rule in rules
        if is_booking_rule(rule) and rule.off(club) is None
        for found in rule.audit(club, plan)
        if found.severity is Severity.NOTE
    )
