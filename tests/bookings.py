"""Every booking of a tiny club, and whether a booking model allows one: for tests that compare model and audit."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations, product

from ortools.sat.python import cp_model

from scheduler.booking.model import BookingModel
from scheduler.booking.slots import Slot, planned_at, slots_of
from scheduler.booking.standdown import stand_downs
from scheduler.booking.whole import values
from scheduler.club.club import Club
from scheduler.plan.plan import PlannedSession, StoodDown, WeekPlan
from scheduler.plan.presence import can_come, minutes_there
from scheduler.solving import make_solver

Attendance = dict[str, int | None]
"""For each member of a session the minutes cut off its end; None: left out."""


def everybody(club: Club, session: str) -> list[Attendance]:
    return [{player.id: 0 for player in club.members(session)}]


def anybody(club: Club, session: str) -> list[Attendance]:
    """Every choice of who comes."""
    members = [player.id for player in club.members(session)]
    return [dict(zip(members, choice, strict=True)) for choice in product((0, None), repeat=len(members))]


def with_cuts(*cuts: int | None) -> Callable[[Club, str], list[Attendance]]:
    """Every choice of these cuts for every member."""

    def choices(club: Club, session: str) -> list[Attendance]:
        members = [player.id for player in club.members(session)]
        return [dict(zip(members, choice, strict=True)) for choice in product(cuts, repeat=len(members))]

    return choices


def own_coaches(club: Club, session: str) -> list[tuple[str, ...]]:
    """The coaches of the session's teams, all of them."""
    return [tuple(dict.fromkeys(c for team in club.session(session).teams for c in club.team(team).coaches))]


def any_coaches(club: Club, session: str) -> list[tuple[str, ...]]:
    """Every set of adults."""
    ids = [coach.id for coach in club.coaches]
    return [chosen for count in range(len(ids) + 1) for chosen in combinations(ids, count)]


def every_booking(
    club: Club,
    adults: Callable[[Club, str], list[tuple[str, ...]]] = own_coaches,
    attendance: Callable[[Club, str], list[Attendance]] = everybody,
    slots: Callable[[Slot], bool] = lambda slot: True,
) -> Iterator[WeekPlan]:
    """Every booking made of these choices, lawful or not, with the stand-downs that limits demand."""
    choices = [
        [
            (ask.id, slot, coaches, comes)
            for slot in slots_of(club, ask)
            if slots(slot)
            for coaches in adults(club, ask.id)
            for comes in attendance(club, ask.id)
        ]
        for ask in club.sessions
    ]
    for chosen in product(*choices):
        yield _plan(club, chosen)


def _plan(club: Club, chosen: Sequence[tuple[str, Slot, tuple[str, ...], Attendance]]) -> WeekPlan:
    planned = []
    for session, slot, coaches, comes in chosen:
        come = tuple(p for p, cut in comes.items() if cut is not None and can_come(club, p, slot.date, slot.span))
        planned.append(planned_at(club.session(session), slot, coaches, come))
    finished = [
        _finished(club, one, downs, comes)
        for one, downs, (_, _, _, comes) in zip(planned, stand_downs(club, planned), chosen, strict=True)
    ]
    finished.sort(key=lambda one: (one.date, one.start, one.pitch, one.zones))
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=tuple(finished))


def _finished(club: Club, one: PlannedSession, downs: Sequence[StoodDown], comes: Attendance) -> PlannedSession:
    rows = list(downs)
    for player, cut in comes.items():
        spans = can_come(club, player, one.date, one.span)
        if cut is None and spans:
            rows.append(StoodDown(player=player, why="week limit", start=one.start, end=one.end))
        elif cut and spans:
            rows.append(StoodDown(player=player, why="week limit", start=one.end - cut, end=one.end))
    now = one.model_copy(update={"stood_down": tuple(rows)})
    players = tuple(player for player in one.players if minutes_there(club, now, player))
    return now.model_copy(update={"players": players})


def allows(model: BookingModel, plan: WeekPlan, switches_on: bool = True) -> bool:
    """Whether the model, with every switch on (or off) and this plan fixed, can be completed."""
    return _completed(model, plan, switches_on) is not None


def least_cost(model: BookingModel, plan: WeekPlan) -> dict[str, int] | None:
    """The least each wish costs the model with this plan fixed; None where the plan is not allowed.

    What a wish is counted with belongs to that wish alone, so that the least of all is the least of each.
    """
    model.model.minimize(cp_model.LinearExpr.sum([one.amount * one.term for one in model.penalties]))
    solver = _completed(model, plan, True)
    if solver is None:
        return None
    paid: dict[str, int] = {}
    for one in model.penalties:
        paid[one.wish] = paid.get(one.wish, 0) + one.amount * solver.value(one.term)
    return paid


def _completed(model: BookingModel, plan: WeekPlan, switches_on: bool) -> cp_model.CpSolver | None:
    fixed = values(model, plan)
    if fixed is None:
        return None
    known = [*fixed, *((literal, int(switches_on)) for _, literal in model.switches.items())]
    for variable, value in known:
        domain = model.model.proto.variables[variable.index].domain
        domain.clear()
        domain.extend([value, value])
    solver = make_solver(20.0)
    status = solver.solve(model.model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE), status
    return None if status == cp_model.INFEASIBLE else solver
