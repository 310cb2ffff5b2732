"""What no wish decides about a booked week: what is kept as it is, and what is asked for beside it."""

from __future__ import annotations

from math import prod
from typing import TYPE_CHECKING

from scheduler.booking.slots import slot_of
from scheduler.plan.plan import WeekPlan
from scheduler.solver import cp_model
from scheduler.solving import most_of

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel, Linear


def early_starts(booking: BookingModel, plan: WeekPlan) -> Linear:
    """Days kept: the starts of all sessions, in steps of the grid."""
    club = booking.club
    starts = [
        (moment.start // club.step) * literal
        for ask in club.sessions
        for moment, literal in booking.moments(ask.id).items()
    ]
    for planned in plan.sessions:  # another day would be another week
        booking.model.add(booking.on_day(planned.session, planned.date) == 1)
    return cp_model.LinearExpr.sum(starts)


def what_no_wish_decides(booking: BookingModel, plan: WeekPlan) -> Linear:
    """Slots kept: own sessions before others, earlier before later; own coaches come where they can."""
    for planned in plan.sessions:
        literal = booking.at(planned.session, slot_of(booking.club, planned))
        if literal is not None:
            booking.model.add(literal == 1)
    absent: list[Linear] = [
        1 - literal
        for planned in plan.sessions
        for coach, literal in booking.adults.possible(planned.session).items()
        if coach in booking.adults.own(planned.session)
    ]
    terms: list[list[Linear]] = [
        *(_early_minutes(booking, plan) if any(one.stood_down for one in plan.sessions) else []),
        absent,
    ]
    weights = [prod(sum(map(most_of, later)) + 1 for later in terms[i + 1 :]) for i in range(len(terms))]
    costs = [weight * term for weight, of in zip(weights, terms, strict=True) for term in of]
    return cp_model.LinearExpr.sum(costs)


def _early_minutes(booking: BookingModel, plan: WeekPlan) -> list[list[Linear]]:
    """What is lost of the own team's sessions, and what is lost earlier in the week counting more."""
    children, club = booking.children, booking.club
    ordered = sorted(plan.sessions, key=lambda one: (one.date, one.start, one.session))
    weight = {planned.session: len(ordered) - at for at, planned in enumerate(ordered)}
    lost = {(squad, s): children.lost(squad, s) for squad in children.squads for s in squad.sessions if s in weight}
    own = [term for (squad, session), term in lost.items() if club.is_own(club.player(squad.first), session)]
    return [own, [weight[session] * term for (_, session), term in lost.items()]]
