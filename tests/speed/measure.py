"""One measurement in a process of its own: `python -m tests.speed.measure JOB TEAMS USE ZONES SHARED SEED SECONDS`.

Memory is the process's largest. Times are processor seconds after the imports, since other work on the machine must not
change what is compared.
"""

from __future__ import annotations

import importlib
import json
import os
import resource
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import partial
from typing import Any
from unittest.mock import patch

from constraints import RULES
from scheduler.booking.book import book
from scheduler.booking.build import build_booking
from scheduler.booking.model import BookingModel
from scheduler.booking.nearby import Nearby
from scheduler.club.club import Club
from scheduler.outcome import Booked, Outcome
from scheduler.plan.plan import WeekPlan
from scheduler.rotation.rotate import rotate
from scheduler.rotation.setting import laid, settings
from tests.plans import a_plan
from tests.speed.by_hand import swap_round
from tests.speed.clock import Stopwatch, alarm
from tests.speed.clubs import Town, a_pooled_evening, a_team_week, a_town
from tests.speed.fairness import evenness
from tests.speed.greedy import first_come_first_served
from tests.speed.monolith import Timed, one_model, one_rotation
from tests.speed.order import judged, vector

Found = dict[str, Any]


class Watch:
    """A progress report that keeps when each better value of each stage came, in processor seconds."""

    def __init__(self) -> None:
        self.clock = Stopwatch()
        self.reports: list[tuple[float, str, float]] = []

    def __call__(self, stage: str, best: float | None = None, bound: float | None = None) -> None:
        if best is not None:
            self.reports.append((self.clock(), stage, best))


@contextmanager
def lawful_plans(club: Club, clock: Stopwatch, found: list[tuple[float, WeekPlan]]) -> Iterator[None]:
    """Keep every plan of the whole week that the booking has read or put together, with its processor second."""
    mended, rebooked = BookingModel.mended, Nearby.rebooked

    def keep(plan: WeekPlan | None) -> None:
        if plan is not None and len(plan.sessions) == len(club.sessions):
            found.append((clock(), plan))

    def read(model: BookingModel, plan: WeekPlan) -> WeekPlan | None:
        lawful = mended(model, plan)
        if model.club.sessions == club.sessions:  # not of a part of it
            keep(lawful)
        return lawful

    def put_together(
        near: Nearby, plan: WeekPlan, teams: set[str], *others: Any, **more: Any
    ) -> tuple[WeekPlan | None, float]:
        better, spent = rebooked(near, plan, teams, *others, **more)
        keep(better)
        return better, spent

    with patch.object(BookingModel, "mended", read), patch.object(Nearby, "rebooked", put_together):
        yield


def _ours(town: Town, seconds: float) -> Found:
    watch = Watch()
    plans: list[tuple[float, WeekPlan]] = []
    outcome: Outcome | None = None
    stop = partial(os.kill, os.getpid(), signal.SIGINT)  # as a user does: the best plan so far is kept
    with suppress(KeyboardInterrupt), lawful_plans(town.club, watch.clock, plans), alarm(watch.clock, seconds, stop):
        outcome = book(town.club, RULES, on_progress=watch)
    found: Found = {"took": watch.clock(), "outcome": type(outcome).__name__ if outcome else "stopped"}
    booked = outcome if isinstance(outcome, Booked) else None
    plan = booked.plan if booked else plans[-1][1] if plans else None
    found |= {
        "found": watch.reports[0][0] if watch.reports else None,
        "first": plans[0][0] if plans else None,
        "path": [(second, vector(judged(town.club, one).wishes)) for second, one in plans],
        "proven": found["took"] if booked and booked.proven else None,
    }
    if plan is not None:
        open_ends = [f"{p.measure} at least {p.bound:g}" for p in plan.proofs if not p.proved]
        found |= _judged(town, plan) | {"bound": "; ".join(open_ends[:1])}
    return found


def _judged(town: Town, plan: WeekPlan) -> Found:
    """What the audit says of a plan; a session without a place counts as a breach."""
    found = judged(town.club, plan)
    return {"wishes": found.wishes, "breaches": len(found.breaches), "rules broken": sorted(set(found.breaches))}


def _timed(town: Town, done: Timed) -> Found:
    found: Found = {"proven": done.proven, "path": done.path, "bound": done.bound, "outcome": done.outcome,
                    "first": done.path[0][0] if done.path else None}  # fmt: skip
    return found if done.plan is None else found | _judged(town, done.plan)


def _greedy(town: Town, seconds: float) -> Found:
    lent = build_booking(town.club, RULES, outsiders=False, wishes=False)
    slots = {ask.id: lent.slots(ask.id) for ask in town.club.sessions}
    done, left = first_come_first_served(town.club, slots, seconds)
    return _timed(town, done) | {"left over": left}


def _rows(town: Town, seconds: float) -> Found:
    from tests.speed.rows import NotLinear, on_rows

    try:
        return _timed(town, on_rows(town.club, seconds))
    except NotLinear as fault:
        return {"outcome": f"not linear: {fault}"}


def _one_ring(players: int, way: str, seconds: float) -> Found:
    club = a_pooled_evening(players) if players > 20 else a_team_week(players)
    week = known_evening(club)
    (ring,) = settings(club, week)
    clock, found = Stopwatch(), Found()
    if way == "hand":
        plan: WeekPlan | None = swap_round(club, week, ring)
    elif way == "quick":
        outcome = rotate(club, week, RULES, limit=seconds)
        plan = outcome.plan if isinstance(outcome, Booked) else None
    else:
        groups = swap_round(club, week, ring) if players > 20 else None
        done = one_rotation(club, week, ring, seconds, groups)
        plan, found = done.plan, {"bound": done.bound, "outcome": done.outcome, "proven": done.proven}
        found["first"] = done.path[0][0] if done.path else None
    took = clock()
    found = {"took": took, "first": took if plan is not None else None} | found
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
    "one model": lambda town, seconds: _timed(town, one_model(town.club, seconds)),
    "rows on HiGHS": _rows,
    "first come": _greedy,
}
RING_JOBS = ("hand", "quick", "complete")


def measure(job: str, size: int, use: float, zones: int, shared: int, seed: int, seconds: float) -> Found:
    """Run one job here; `size` is teams, or players for the jobs on one ring."""
    if job in RING_JOBS:
        return _one_ring(size, job, seconds)
    return TOWN_JOBS[job](a_town(size, use, zones, seed, shared=shared), seconds)


def main() -> None:
    job, size, use, zones, shared, seed, seconds = sys.argv[1:8]
    for module in ("ortools.sat.python.cp_model", "scheduler.booking.stages", "scheduler.booking.reasons"):
        importlib.import_module(module)
    clock = Stopwatch()
    found = measure(job, int(size), float(use), int(zones), int(shared), int(seed), float(seconds))
    found.setdefault("took", clock())
    found["megabytes"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(json.dumps(found))


if __name__ == "__main__":
    main()
