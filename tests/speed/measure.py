"""One measurement in a process of its own: `python -m tests.speed.measure JOB TEAMS USE ZONES SECONDS` prints JSON.

Memory is the process's largest; times are wall seconds after the imports, so they say what a user waits for besides.
"""

from __future__ import annotations

import importlib
import json
import resource
import sys
import time
from collections.abc import Callable

from constraints import RULES
from scheduler.booking.book import book, build_booking
from scheduler.booking.model import BookingModel
from scheduler.club.club import Club
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.priorities import BOOKING_ORDER
from scheduler.processes import side_by_side
from scheduler.rotation.exact import rotate_exactly
from scheduler.rotation.rotate import rotate
from scheduler.rotation.setting import laid, settings
from tests.plans import a_plan
from tests.speed.by_hand import swap_round
from tests.speed.clubs import Town, a_pooled_evening, a_team_week, a_town, known_week
from tests.speed.fairness import evenness
from tests.speed.planners import breaches, first_come_first_served, plain_intervals, wishes_paid

Found = dict[str, object]


class Watch:
    """A progress report that keeps when the first plan came and when the last better one did."""

    def __init__(self) -> None:
        self.began = time.perf_counter()
        self.first: float | None = None
        self.last: float | None = None

    def __call__(self, stage: str, best: float | None = None, bound: float | None = None) -> None:
        if best is not None:
            self.last = time.perf_counter() - self.began
            self.first = self.first or self.last


def _ours(town: Town, seconds: float) -> Found:
    watch = Watch()
    outcome = book(town.club, RULES, limit=seconds, on_progress=watch)
    took = time.perf_counter() - watch.began
    if not isinstance(outcome, Booked):
        return {"first": None, "proven": None, "outcome": type(outcome).__name__, "took": took}
    return {
        "first": watch.first, "within": watch.last, "proven": took if outcome.proven else None, "took": took,
        "gap": outcome.gap, "value": wishes_paid(town.club, outcome.plan),
        "breaches": len(breaches(town.club, outcome.plan)), "left over": 0,
        "wishes": {proof.measure: proof.value for proof in outcome.plan.proofs if proof.measure in BOOKING_ORDER},
    }  # fmt: skip


def _lent(town: Town) -> BookingModel:
    """A model that lends the naive ways the slots that are lawful by themselves."""
    return build_booking(town.club, RULES, outsiders=False, wishes=False)


def _greedy(town: Town, seconds: float) -> Found:
    lent = _lent(town)
    slots = {ask.id: lent.slots(ask.id) for ask in town.club.sessions}
    began = time.perf_counter()
    plan, left_over = first_come_first_served(town.club, slots)
    took = time.perf_counter() - began
    broken = breaches(town.club, plan)
    lawful = not broken and not left_over
    return {"first": took if lawful else None, "proven": None, "took": took, "left over": len(left_over),
            "breaches": len(broken), "value": wishes_paid(town.club, plan)}  # fmt: skip


def _intervals(town: Town, seconds: float) -> Found:
    lent = _lent(town)
    began = time.perf_counter()
    done = plain_intervals(town.club, lent, seconds)
    found: Found = {"first": done.first, "proven": done.proven, "took": time.perf_counter() - began,
                    "bound": done.bound}  # fmt: skip
    if done.plan is not None:
        found |= {"value": wishes_paid(town.club, done.plan), "breaches": len(breaches(town.club, done.plan))}
    return found


def _rows(town: Town, seconds: float) -> Found:
    from tests.speed.rows import NotLinear, solve_rows

    began = time.perf_counter()
    try:
        done = solve_rows(build_booking(town.club, RULES, outsiders=False, certain_only=True), seconds)
    except NotLinear as fault:
        return {"first": None, "proven": None, "outcome": f"not linear: {fault}"}
    return {"first": done.first, "proven": done.proven, "took": time.perf_counter() - began, "wishes": done.values}


def _rotations(town: Town, workers: int) -> Found:
    week = known_week(town)
    with side_by_side(town.club, RULES, workers) as pool:
        if pool is not None:
            list(pool.map(abs, range(2 * workers)))  # both have started
        began = time.perf_counter()
        outcome = rotate(town.club, week, RULES, executor=pool, limit=20.0)
        took = time.perf_counter() - began
    kind = type(outcome).__name__
    return {"took": took, "proven": took if isinstance(outcome, Booked) and outcome.proven else None, "outcome": kind}


def _one_ring(players: int, way: str, seconds: float) -> Found:
    club = a_pooled_evening(players) if players > 20 else a_team_week(players)
    week = known_evening(club)
    (ring,) = settings(club, week)
    began = time.perf_counter()
    if way == "hand":
        plan = swap_round(club, week, ring)
    elif way == "quick":
        outcome = rotate(club, week, RULES, limit=seconds)
        plan = outcome.plan if isinstance(outcome, Booked) else None
    else:
        groups = swap_round(club, week, ring) if players > 20 else None
        exact = rotate_exactly(club, week, ring, RULES, limit=seconds, hint=groups)
        plan = exact.plan
    took = time.perf_counter() - began
    found: Found = {"took": took, "first": took if plan is not None else None, "proven": None}
    if plan is not None:
        even = evenness(club, plan)
        found |= {"furthest": float(even.furthest), "beyond": even.beyond, "repeats": even.repeats}
    return found


def known_evening(club: Club) -> WeekPlan:
    """The sessions of a one-pitch club on following days, blocks laid out."""
    week = a_plan(club)
    return week.model_copy(update={"sessions": tuple(laid(club, one) for one in week.sessions)})


TOWN_JOBS: dict[str, Callable[[Town, float], Found]] = {
    "evenweek": _ours,
    "rows on HiGHS": _rows,
    "plain intervals": _intervals,
    "first come": _greedy,
    "rotations, 1 process": lambda town, _: _rotations(town, 1),
    "rotations, 2 processes": lambda town, _: _rotations(town, 2),
}
RING_JOBS = ("hand", "quick", "complete")


def measure(job: str, size: int, use: float, zones: int, seconds: float) -> Found:
    """Run one job here; `size` is teams, or players for the jobs on one ring."""
    if job in RING_JOBS:
        return _one_ring(size, job, seconds)
    return TOWN_JOBS[job](a_town(size, use, zones), seconds)


def main() -> None:
    job, size, use, zones, seconds = sys.argv[1:6]
    importlib.import_module("ortools.sat.python.cp_model")
    found = measure(job, int(size), float(use), int(zones), float(seconds))
    found["megabytes"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(json.dumps(found))


if __name__ == "__main__":
    main()
