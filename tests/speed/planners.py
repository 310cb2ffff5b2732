"""Two naive ways to book a week, to measure beside: first come first served, and one plain model of intervals."""

from __future__ import annotations

import time
from dataclasses import dataclass

from ortools.sat.python import cp_model

from constraints import RULES
from scheduler.booking.model import BookingModel
from scheduler.booking.slots import Slot, planned_at
from scheduler.club.club import Club
from scheduler.contract import Severity, is_booking_rule
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.presence import can_come
from scheduler.solving import SEED

WISHES = ("wished days", "spread of days")


def wishes_paid(club: Club, plan: WeekPlan) -> int:
    """What a plan pays for the two wishes that every way of booking knows."""
    return sum(
        int(found.by)
        for rule in RULES
        if rule.name in WISHES and rule.off(club) is None
        for found in rule.audit(club, plan)
    )


def breaches(club: Club, plan: WeekPlan) -> list[str]:
    """The names of the booking rules that a plan breaks, one for each finding."""
    return [
        found.rule
        for rule in RULES
        if is_booking_rule(rule) and rule.off(club) is None
        for found in rule.audit(club, plan)
        if found.severity is Severity.BREACH
    ]


def _week(club: Club, sessions: list[PlannedSession]) -> WeekPlan:
    sessions.sort(key=lambda one: (one.date, one.start, one.pitch, one.zones))
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=tuple(sessions))


def _held(club: Club, session: str, slot: Slot, busy: list[PlannedSession]) -> PlannedSession:
    """The session in a slot, with whichever of its own adults are free, as many as the club asks for."""
    ask = club.session(session)
    own = dict.fromkeys(coach for team in ask.teams for coach in club.team(team).coaches)
    free = [
        coach
        for coach in own
        if club.coach(coach).available_for(slot.date, slot.span)
        and not any(coach in one.coaches and one.date == slot.date and one.span.overlaps(slot.span) for one in busy)
    ]
    players = tuple(p.id for p in club.members(session) if can_come(club, p.id, slot.date, slot.span))
    return planned_at(ask, slot, tuple(free), players).model_copy(update={"sides": ("bibs", "own shirts")})


def first_come_first_served(club: Club, slots: dict[str, list[Slot]]) -> tuple[WeekPlan, list[str]]:
    """Large and long sessions first, each in the first free slot on a day the team is not yet in, wished days first.

    `slots`: where each session could be held by itself. The second half of the answer: sessions left without a place.
    """
    placed: list[PlannedSession] = []
    left_over: list[str] = []
    order = sorted(club.sessions, key=lambda ask: (-(ask.zones or 9), -ask.minutes, ask.id))
    for ask in order:
        wished = sorted(slots[ask.id], key=lambda s: bool(ask.wished_days) and s.date.weekday() not in ask.wished_days)
        mine = [one.date for one in placed if set(one.teams) & set(ask.teams)]
        slot = next((s for s in wished if s.date not in mine and not _clashes(s, placed)), None)
        if slot is None:
            left_over.append(ask.id)
        else:
            placed.append(_held(club, ask.id, slot, placed))
    return _week(club, placed), left_over


def _clashes(slot: Slot, placed: list[PlannedSession]) -> bool:
    return any(
        one.date == slot.date and one.pitch == slot.pitch and set(one.zones) & set(slot.zones)
        and one.span.overlaps(slot.span)
        for one in placed
    )  # fmt: skip


@dataclass(frozen=True)
class Timed:
    """One measured booking: seconds to the first plan and to the proof, and what it pays."""

    plan: WeekPlan | None
    first: float | None
    proven: float | None
    value: float | None
    bound: float


class _First(cp_model.CpSolverSolutionCallback):
    def __init__(self) -> None:
        super().__init__()
        self.seconds: list[float] = []

    def on_solution_callback(self) -> None:
        self.seconds.append(self.wall_time)


def plain_intervals(club: Club, booking: BookingModel, seconds: float) -> Timed:
    """One plain model: an optional interval for each session and run of zones, no two on one zone at a time.

    A smaller problem than the week: ground, opening hours and hirers, one session a day, the leader in one place;
    two wishes as one sum. `booking` only lends the slots that are lawful by themselves.
    """
    began = time.perf_counter()
    model = cp_model.CpModel()
    on_zone: dict[tuple[str, int], list[cp_model.IntervalVar]] = {}
    leads: dict[str, list[cp_model.IntervalVar]] = {}
    starts, days, runs = {}, {}, {}
    for ask in club.sessions:
        slots = booking.slots(ask.id)
        begin = model.new_int_var_from_domain(
            cp_model.Domain.from_values([_minute(club, slot) for slot in slots]), f"start {ask.id}"
        )
        starts[ask.id], runs[ask.id] = begin, {}
        for place in dict.fromkeys((slot.pitch, slot.zones) for slot in slots):
            here = model.new_bool_var(f"{ask.id} on {place}")
            runs[ask.id][place] = here
            times = [_minute(club, slot) for slot in slots if (slot.pitch, slot.zones) == place]
            model.add_linear_expression_in_domain(begin, cp_model.Domain.from_values(times)).only_enforce_if(here)
            interval = model.new_optional_fixed_size_interval_var(begin, ask.minutes, here, f"{ask.id} {place}")
            for zone in place[1]:
                on_zone.setdefault((place[0], zone), []).append(interval)
        model.add_exactly_one(runs[ask.id].values())
        days[ask.id] = _days(club, model, begin, ask.id)
        for team in ask.teams:
            size = model.new_fixed_size_interval_var(begin, ask.minutes, ask.id)
            leads.setdefault(club.team(team).coaches[0], []).append(size)
    for intervals in (*on_zone.values(), *leads.values()):
        model.add_no_overlap(intervals)
    model.minimize(_two_wishes(club, model, days))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.random_seed = 1, SEED
    solver.parameters.max_time_in_seconds = max(0.1, seconds - (time.perf_counter() - began))
    built, shout = time.perf_counter() - began, _First()
    status = solver.solve(model, shout)
    first = built + shout.seconds[0] if shout.seconds else None
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Timed(None, first, None, None, solver.best_objective_bound)
    placed: list[PlannedSession] = []
    for ask in club.sessions:
        at = int(solver.value(starts[ask.id]))
        pitch, zones = next(place for place, here in runs[ask.id].items() if solver.value(here))
        slot = next(s for s in booking.slots(ask.id) if _minute(club, s) == at and (s.pitch, s.zones) == (pitch, zones))
        placed.append(_held(club, ask.id, slot, placed))
    proven = time.perf_counter() - began if status == cp_model.OPTIMAL else None
    return Timed(_week(club, placed), first, proven, solver.objective_value, solver.best_objective_bound)


def _minute(club: Club, slot: Slot) -> int:
    return (slot.date - club.week).days * 24 * 60 + slot.start


def _days(club: Club, model: cp_model.CpModel, begin: cp_model.IntVar, session: str) -> list[cp_model.IntVar]:
    of = [model.new_bool_var(f"{session} on day {day}") for day in range(7)]
    model.add_exactly_one(of)
    for day, literal in enumerate(of):
        model.add(begin >= day * 24 * 60).only_enforce_if(literal)
        model.add(begin < (day + 1) * 24 * 60).only_enforce_if(literal)
    return of


def _two_wishes(club: Club, model: cp_model.CpModel, days: dict[str, list[cp_model.IntVar]]) -> cp_model.LinearExprT:
    paid: list[cp_model.LinearExprT] = []
    for ask in club.sessions:
        if ask.wished_days:
            paid += [days[ask.id][day] for day in range(7) if day not in ask.wished_days]
    for team in club.teams:
        own = [ask.id for ask in club.sessions if team.id in ask.teams]
        for one, other in [(a, b) for i, a in enumerate(own) for b in own[i + 1 :]]:
            close = model.new_bool_var(f"{one} close to {other}")
            for day in range(7):
                model.add_at_most_one([days[one][day], days[other][day]])
                for near in (day - 1, day + 1):
                    if 0 <= near < 7:
                        model.add(days[one][day] + days[other][near] <= 1 + close)
            paid.append(close)
    return cp_model.LinearExpr.sum(paid)
