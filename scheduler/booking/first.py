"""A first lawful week of a large club, by a draft that is then booked with every rule, and made better part by part."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from typing import TYPE_CHECKING

from scheduler.booking.climb import LADDER, Climb, Climbed
from scheduler.booking.knots import tied
from scheduler.booking.nearby import Nearby
from scheduler.booking.slots import Slot
from scheduler.booking.stages import Stages
from scheduler.booking.twins import in_order
from scheduler.booking.untie import untied
from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.plan.plan import WeekPlan
from scheduler.progress import Report

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.booking.sounding import Allowed

LARGE = 3_000  # starts of sessions on pitches from which on a draft comes first: about 25 teams
LARGE_WITH_KNOTS = 2_000  # the same where children are in more than one team
MIDDLE = 4_500  # up to which the smallest model is asked from nothing first where there are knots: about 35 teams
MANY = 20_000  # from which on more is won part by part than by models of the whole week: about 80 teams
TOO_MANY = 100_000  # from which on models of the whole week are not worth their time: about 170 teams
AFRESH = 2 / 3  # of the limit, for the smallest model from nothing
SHARE = 0.1  # of the limit, at most, to book the draft with every rule
PARTS, PARTS_OF_MANY = 0.05, 0.15  # of the limit, to make a week better part by part between questions to a model


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
    large = LARGE_WITH_KNOTS if tied(narrowed) else LARGE
    start = first_week(club, rules, slots, limit, on_progress) if size >= large else None
    if start is None or again:
        return climb.run(limit, start)
    try:
        knots = climb.knots(limit)
        knots.look_after(start)
    except KeyboardInterrupt:
        return climb.kept(start, 0.0, True)
    nearby, left = Nearby(club, rules, slots, knots.sessions), limit
    if size < MIDDLE and knots.known:
        done = climb.afresh(AFRESH * limit, start)
        left -= AFRESH * limit - done.left
        if done.finished or done.stopped or done.plan is None:
            return done._replace(left=left)
        start = done.plan
    start, spent, stopped = untied(nearby, club, rules, start, knots, PARTS * limit, on_progress)
    left -= spent
    if stopped:
        return climb.kept(start, left, True)
    if size >= TOO_MANY:
        better, left, stopped = nearby.improved(start, left, on_progress)
        return climb.kept(better, left, stopped)
    share = PARTS if size < MANY else PARTS_OF_MANY

    def nearer(plan: WeekPlan, left: float, settled: Container[str], allowed: Allowed) -> tuple[WeekPlan, float, bool]:
        parts = min(left, share * limit)
        better, spare, stopped = nearby.improved(plan, parts, on_progress, settled, allowed)
        return better, left - parts + spare, stopped

    if size < MANY:
        return climb.run(left, start, nearer=nearer)
    done = climb.run(left, start, nearer=nearer, ladder=LADDER[:1])
    if done.plan != start or done.finished or done.stopped:
        return done
    better, left, stopped = nearby.improved(start, done.left, on_progress)  # hardly ever could the model say it
    if better == start:  # whatever the model showed still holds
        return done._replace(left=left, stopped=stopped)
    return climb.kept(better, left, stopped)


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
