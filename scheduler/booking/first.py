"""A first lawful week of a large club, by a draft that is then booked with every rule, and made better part by part."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from typing import TYPE_CHECKING

from scheduler.booking.climb import Climb, Climbed
from scheduler.booking.nearby import Nearby
from scheduler.booking.slots import Slot
from scheduler.booking.stages import ABOUT_PEOPLE, Stages
from scheduler.booking.twins import in_order
from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.plan.plan import WeekPlan
from scheduler.progress import Report

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel

LARGE = 3_000  # starts of sessions on pitches from which on a draft comes first: about 25 teams
PROVABLE = 5_000  # up to which the best plan is soon proven from a draft as it is: about 40 teams
MANY = 20_000  # from which on more is won part by part than by models of the whole week: about 80 teams
TOO_MANY = 100_000  # from which on models of the whole week are not worth their time: about 170 teams
SHARE = 0.1  # of the limit, at most, to book the draft with every rule
PARTS, PARTS_OF_MANY = 0.15, 0.3  # of the limit, to make a week better part by part before a proof
AT_ONCE = 0.05  # of the limit, for a proof before that


def starts_of(narrowed: BookingModel) -> int:
    """How many choices of a start and a pitch the sessions of a club have in all."""
    return sum(len({(slot.date, slot.start, slot.pitch) for slot in slots}) for slots in narrowed.narrowed.values())


def book_large(
    club: Club,
    rules: Sequence[Rule],
    climb: Climb,
    narrowed: BookingModel,
    limit: float,
    on_progress: Report,
    *,
    again: bool = False,
) -> Climbed:
    """The best week of a large club from a first one; of a club that is not large, from nothing.

    `again`: some weeks are forbidden, which the search part by part knows nothing of.
    """
    size, slots = starts_of(narrowed), narrowed.narrowed
    start = first_week(club, rules, slots, limit, on_progress) if size >= LARGE else None
    if start is None or again:
        return climb.run(limit, start)
    nearby, left, settled = Nearby(club, rules, slots), limit, set[str]()
    share = PARTS if size < MANY else PARTS_OF_MANY if size < TOO_MANY else 1.0

    def nearer(
        plan: WeekPlan, left: float, settled: Container[str], share: float = PARTS
    ) -> tuple[WeekPlan, float, bool]:
        parts = min(left, share * limit)
        better, spare, stopped = nearby.improved(plan, parts, on_progress, settled)
        return better, left - parts + spare, stopped

    if size < PROVABLE:
        found = climb.run(AT_ONCE * limit, start, tidy=False)
        left += found.left - AT_ONCE * limit
        if found.stopped or found.plan is None:
            return found
        start, settled = found.plan, {proof.measure for proof in found.proofs if proof.proved}
        if settled >= {proof.measure for proof in found.proofs if proof.measure in ABOUT_PEOPLE}:
            # the rest is a matter of slots alone, whose relaxation is nearly whole
            return climb.run(left, start, nearer=nearer)
    start, left, stopped = nearer(start, left, settled, share)
    if stopped or size >= TOO_MANY:
        return climb.kept(start, left, stopped)
    return climb.run(left, start, nearer=nearer)


def first_week(
    club: Club, rules: Sequence[Rule], slots: Mapping[str, Sequence[Slot]], limit: float, on_progress: Report
) -> WeekPlan | None:
    """A lawful week, twins in order; None where no draft was found or none of its slots' people would do."""
    from scheduler.booking.build import build_booking
    from scheduler.booking.draft.draft import draft_of

    on_progress("a first week")
    drafted = draft_of(club, slots)
    for outsiders in (False, True) if drafted is not None else ():
        held = {session: [slot] for session, slot in (drafted or {}).items()}
        model = build_booking(club, rules, outsiders=outsiders, slots=held)
        stages = Stages(model, SHARE * limit, tidy=False)
        stages.run()
        if stages.stopped and stages.plan is None:
            raise KeyboardInterrupt
        if stages.plan is not None:
            return in_order(club, stages.plan)
    return None
