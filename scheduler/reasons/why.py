"""Why a week has no lawful plan: every independent conflict as demands of which none can be spared, a sentence each.

Counting first. Then the fewest sessions for which the booking has no answer, and of the model of these, with every
demand on a switch and every session on one of its own, a minimal core; they are let go, and again until what is left
can be booked. Last the rotation.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.outcome import Booked, Clash, Conflict, Demand, OutOfTime
from scheduler.plan.plan import WeekPlan
from scheduler.reasons.arithmetic import impossible, listed
from scheduler.reasons.core import Assumed, Core, Reasons

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.reasons.feasible import Feasible
    from scheduler.reasons.ways_out import Base

ASKED = "sessions asked for"
PHYSICAL = ("daylight", "pitch bookings", "one place at once", "weather", "kit", "coach cover", "space")
LATE = "time ran out before all reasons were found"


def why(club: Club, rules: Sequence[Rule], limit: float = 60.0) -> Conflict | None:
    """Every independent conflict of the week with ways out, or None where a lawful plan exists.

    `limit` in the solver's reproducible seconds; where it runs out the lists may be longer than needed and say so.
    """
    from scheduler.reasons.feasible import Feasible

    counted = impossible(club)
    solved, late, base = _booking_clashes(Feasible(club, rules, limit), counted)
    clashes = (*counted, *solved)
    if clashes:
        from scheduler.reasons.ways_out import with_ways_out

        stage = "arithmetic" if counted and not solved else "booking"
        found = with_ways_out(club, clashes, rules, limit, base)
        return Conflict(stage, (*found, *((Clash((), False, LATE),) if late else ())))
    return Conflict("booking", (Clash((), False, LATE),)) if late else _rotation(club, rules, limit)


def without_sessions(club: Club, sessions: Sequence[str]) -> Club:
    """The club without some of its sessions."""
    if not sessions:
        return club
    asks = tuple(ask for ask in club.sessions if ask.id not in sessions)
    return club.model_copy(update={"sessions": asks})


def sessions_in(club: Club, clash: Clash) -> list[str]:
    """The sessions a conflict names, in the club's order; those of a team where it names one; all where it names none.

    With these let go the conflict is none.
    """
    named = {demand.subject for demand in clash.demands}
    return [ask.id for ask in club.sessions if ask.id in named or named & set(ask.teams)] or [
        ask.id for ask in club.sessions
    ]


def _booking_clashes(feasible: Feasible, counted: Sequence[Clash]) -> tuple[tuple[Clash, ...], bool, Base]:
    """Every independent conflict beside those counted, whether time ran out before all were found, and bookings.

    Each booking has all sessions but one of each conflict; where none can be had, it has none of those in conflict.
    First the fewest sessions that cannot all be held, then what of them and of the rules it comes from.
    """
    from scheduler.reasons.together import Together
    from scheduler.reasons.ways_out import MOST_OF_A_KIND, Base

    club, together = feasible.club, Together(feasible)
    found: list[Clash] = []
    known = [sessions_in(club, clash) for clash in counted]
    while True:
        rest = _without(club, [session for sessions in known for session in sessions])
        booked = together.booking(rest)
        if not isinstance(booked, tuple):
            break
        sessions, sure = booked
        core = _core(_alone(club, sessions), feasible)
        if not isinstance(core, Core):
            return tuple(found), True, Base()
        found.append(_clash(core if sure else replace(core, minimal=False)))
        known.append(sessions)
    found.sort(key=lambda clash: club.sessions.index(club.session(sessions_in(club, clash)[0])))
    if booked is None:
        return tuple(found), True, Base()
    one_less = [
        together.booking(_without(club, [s for sessions in known for s in (sessions[number:][:1] or sessions)]))
        for number in range(min(MOST_OF_A_KIND, max(map(len, known), default=0)))
    ]
    plans = tuple(plan for plan in one_less if isinstance(plan, WeekPlan))
    return tuple(found), False, Base(plans or (booked,), together.widened)


def _without(club: Club, sessions: Sequence[str]) -> list[str]:
    return [ask.id for ask in club.sessions if ask.id not in sessions]


def _alone(club: Club, sessions: Sequence[str]) -> Club:
    return without_sessions(club, _without(club, sessions))


def _core(club: Club, feasible: Feasible) -> Core | None | bool:
    """The demands of a few sessions that cannot stand together, at the cost of the time that is left."""
    from scheduler.booking.build import build_booking

    model = build_booking(club, feasible.rules, switchable=True, may_cancel=True, wishes=False)
    reasons = Reasons(model.model, feasible.left)
    core = reasons.fewest([*_asked(club, model), *_rules(model)])
    feasible.left = reasons.left
    return core


def can_stand(club: Club, rules: Sequence[Rule], demands: Sequence[Demand], limit: float = 60.0) -> bool | None:
    """Whether these demands, and no others, can be met together by a booking; None where time runs out."""
    from scheduler.booking.build import build_booking

    model = build_booking(club, rules, switchable=True, may_cancel=True, wishes=False)
    wanted = {(demand.rule, demand.subject) for demand in demands}
    every = [*_asked(club, model), *_rules(model)]
    chosen = [one for one in every if (one.demand.rule, one.demand.subject) in wanted]
    found = Reasons(model.model, limit).clash(chosen)
    return None if found is False else found is None


def _asked(club: Club, model: BookingModel) -> list[Assumed]:
    found = []
    for ask in club.sessions:
        cancelled = model.cancelled(ask.id)
        if cancelled is not None:
            literal = model.model.new_bool_var(f"asked[{ask.id}]")
            model.model.add(cancelled == 0).only_enforce_if(literal)
            found.append(Assumed(Demand(ASKED, ask.id, f"{ask.id} is held this week"), literal))
    return found


def _rules(model: BookingModel) -> list[Assumed]:
    return [
        Assumed(Demand(key.rule, key.subject, model.switches.sentence(key)), literal, fixed=key.rule in PHYSICAL)
        for key, literal in model.switches.items()
    ]


def _clash(core: Core) -> Clash:
    demands = tuple(one.demand for one in core.members)
    names = [demand.subject for demand in demands if demand.rule == ASKED]
    if len(names) > 1:
        text = f"{listed(names)} cannot all be held, because of the following together:"
    elif names:
        text = f"{names[0]} cannot be held, because of the following together:"
    else:
        text = ""
    return Clash(demands, core.minimal, text)


def _rotation(club: Club, rules: Sequence[Rule], limit: float) -> Conflict | None:
    """The conflict of the roles where a booking exists and none of the tried ones has a lawful rotation."""
    from scheduler.week import plan_week

    outcome = plan_week(club, rules, limit=limit)
    if isinstance(outcome, Booked):
        return None
    if isinstance(outcome, OutOfTime):
        return Conflict(outcome.stage, (Clash((), False, LATE),))
    return outcome
