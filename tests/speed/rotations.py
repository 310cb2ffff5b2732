"""The rotation beside one complete model of the same rules: `python -m tests.speed.rotations [--seconds 20]`.

With `--towns`: the rotations of 12, 30, 60 and 120 teams on a timetable that is known, by one process and by two, and
how they grow with the number of teams. CPU seconds after the imports, of this process or of all of them; where wall
seconds are meant they are named. The complete model has every rule posted to it and the pair figure as its aim, no
fairness excess allowed, one worker, CP-SAT's own defaults, and is stopped after so many CPU seconds.
"""

from __future__ import annotations

import argparse
import os
import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass
from typing import Any

from constraints import RULES
from scheduler.club.club import Club
from scheduler.club.programme import PlanRow, SessionAsk, Sizes
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.processes import side_by_side
from scheduler.rotation.exact import build_rotation
from scheduler.rotation.mixing import small_groups
from scheduler.rotation.model import RotationModel
from scheduler.rotation.pair_proof import pair_bound, pair_figure
from scheduler.rotation.rotate import rotate
from scheduler.rotation.setting import settings
from scheduler.solver import cp_model
from scheduler.solving import SEED
from tests.clubs import BOTH_ENDS, WARM_UP, a_club
from tests.speed.clubs import a_town, known_week
from tests.speed.measure import known_evening
from tests.speed.picture import slope

SECONDS = 20.0
SIZES = (12, 30, 60, 120)
KEEPERS = 3


def a_week_of_36_reps(players: int = 16) -> Club:
    """Three sessions of two blocks of six reps, four v two at both ends, three willing keepers."""
    ends = BOTH_ENDS.model_copy(update={"attackers": Sizes(4, 4, 4), "defenders": Sizes(2, 2, 2)})
    rows = (PlanRow(plan="Evening", block="1", practice=WARM_UP.id, minutes=15),) + tuple(
        PlanRow(plan="Evening", block=str(block), practice=ends.id, minutes=30, reps=6) for block in (2, 3)
    )
    club = a_club(players=players, keepers=KEEPERS, sessions=3)
    return club.model_copy(update={"practices": (WARM_UP, ends), "plans": rows})


def a_pool_of_six_blocks(players: int = 40) -> Club:
    """Three groups of about thirteen that move round three stations twice, two reps a block."""
    stations = tuple(
        BOTH_ENDS.model_copy(update={"id": f"Both ends {n}", "attackers": Sizes(2, 4, 5), "zones_per_area": 1})
        for n in (1, 2, 3)
    )
    club = a_club(teams=3, players=16, keepers=5)
    asked = (SessionAsk(id="Pool", teams=tuple(t.id for t in club.teams), plan="Round", minutes=90, zones=None),)
    rows = tuple(
        PlanRow(plan="Round", block=str(block), practice=station.id, minutes=9, reps=2)
        for block in range(1, 7)
        for station in stations
    )
    changes = {"sessions": asked, "practices": stations, "plans": rows, "players": club.players[:players]}
    return club.model_copy(update=changes)


@dataclass(frozen=True)
class Reached:
    """What the complete model came to: CPU seconds to the first plan, pair figure at the end, its own bound."""

    first: float | None
    figure: int | None
    bound: float
    took: float


class _First(cp_model.CpSolverSolutionCallback):
    def __init__(self) -> None:
        super().__init__()
        self.at: float | None = None

    def on_solution_callback(self) -> None:
        self.at = self.at or time.process_time()


def complete_model(club: Club, week: WeekPlan, ours: WeekPlan, seconds: float, *, started: bool = False) -> Reached:
    """One model of the ring, solved for so many CPU seconds; groups are given to it. `started`: from our plan."""
    start = _whole_solution(club, week, ours) if started else []
    began = time.process_time()
    model = _model(club, week, ours)
    for index, value in enumerate(start):
        model.model.add_hint(model.model.get_int_var_from_proto_index(index), value)
    solver, first, done = cp_model.CpSolver(), _First(), threading.Event()
    solver.parameters.num_workers, solver.parameters.random_seed = 1, SEED

    def stop_in_time() -> None:
        while not done.wait(0.1):
            if time.process_time() - began > seconds:
                solver.stop_search()
                return

    threading.Thread(target=stop_in_time, daemon=True).start()
    solver.solve(model.model, first)
    done.set()
    figure = None if first.at is None else round(solver.objective_value)
    to_first = None if first.at is None else first.at - began
    return Reached(to_first, figure, solver.best_objective_bound, time.process_time() - began)


def _model(club: Club, week: WeekPlan, ours: WeekPlan) -> RotationModel:
    (ring,) = settings(club, week)
    model = build_rotation(club, week, ring, RULES, groups_from=ours, wishes=("mixing",))
    model.switches.fix_on()
    model.model.add(model.shares.excess == 0)
    cost = model.cost("mixing")
    assert cost is not None
    model.model.minimize(cost)
    return model


def _whole_solution(club: Club, week: WeekPlan, ours: WeekPlan) -> list[int]:
    """The value of every variable of the model, auxiliaries too, with every place as in our plan."""
    model = _model(club, week, ours)
    model.fix(ours)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.status_name(solver.solve(model.model)) in ("OPTIMAL", "FEASIBLE")
    return list(solver.response_proto.solution)


def beside(name: str, club: Club, seconds: float) -> bool:
    """Print one comparison; whether ours is no worse, within a second and twenty times faster."""
    week = known_evening(club)
    (ring,) = settings(club, week)
    began = time.process_time()
    outcome = rotate(club, week, RULES)
    ours = time.process_time() - began
    assert isinstance(outcome, Booked), outcome
    value, bound = pair_figure(outcome.plan, ring), pair_bound(outcome.plan, ring)
    reps = sum(turn.has_roles for turn in ring.turns)
    print(f"{name}, {len(ring.players)} players, {reps} reps at stations")
    print(f"  evenweek: {ours:.2f} s, pairs meet again {value} times, {value - bound} above the bound of {bound}")
    model = complete_model(club, week, outcome.plan, seconds)
    first = "none" if model.first is None else f"after {model.first:.1f} s"
    print(f"  one model: first plan {first}; in {model.took:.0f} s {model.figure}, bound {model.bound:.0f}")
    helped = complete_model(club, week, outcome.plan, seconds, started=True)
    print(f"  the same model started from evenweek's plan: in {helped.took:.0f} s {helped.figure}")
    no_worse = model.figure is None or value <= model.figure
    print(f"  {model.took / ours:.0f} times faster, the figure {'no worse' if no_worse else 'WORSE'}")
    return no_worse and ours <= 1.0 and model.took >= 20 * ours


def drawn_anew(players: int = 40, groups: int = 3, rounds: int = 6) -> None:
    """Groups drawn anew for each block, which the product's evenings do not do: the mixing engine alone."""
    began = time.process_time()
    found = small_groups(range(players), groups, rounds)
    took = time.process_time() - began
    print(f"{players} in {groups} groups drawn anew {rounds} times: {took:.2f} s, {found.text} (bound {found.bound})")


class Watched:
    """A pool that notes the CPU seconds of each of its processes: the wall says little where there is other work."""

    def __init__(self, pool: Executor) -> None:
        self._pool = pool
        self.of_process: dict[int, float] = {}

    def submit(self, work: Callable[..., Any], *about: Any) -> _Watching:
        """As a pool's own."""
        return _Watching(self._pool.submit(_timed, work, *about), self.of_process)


class _Watching:
    def __init__(self, future: Future[tuple[Any, int, float]], of_process: dict[int, float]) -> None:
        self._future, self._of_process = future, of_process

    def result(self) -> Any:
        value, process, seconds = self._future.result()
        self._of_process[process] = self._of_process.get(process, 0.0) + seconds
        return value


def _timed(work: Callable[..., Any], *about: Any) -> tuple[Any, int, float]:
    began = time.process_time()
    return work(*about), os.getpid(), time.process_time() - began


def towns(sizes: Sequence[int], turns: Sequence[int] = (1, 2, 2, 1)) -> None:
    """One process and two (`turns`), town by town, the better of each taken.

    `longest line`: the CPU of the first process and of the busier of the two others, one after the other, which is
    the wall of a machine with nothing else to do but for sending the work to and fro.
    """
    took: list[tuple[float, float]] = []
    for teams in sizes:
        town = a_town(teams)
        week = known_week(town)
        walls: dict[int, list[float]] = {1: [], 2: []}
        cpus: dict[int, list[float]] = {1: [], 2: []}
        plans = set()
        for workers in turns:
            with side_by_side(town.club, RULES, workers) as pool:
                watched = None if pool is None else Watched(pool)
                if pool is not None:
                    for done in [pool.submit(time.sleep, 1.0) for _ in range(2 * workers)]:
                        done.result()  # both have started and imported
                began, spent = time.perf_counter(), time.process_time()
                outcome = rotate(town.club, week, RULES, executor=watched)  # type: ignore[arg-type]
                walls[workers].append(time.perf_counter() - began)
                busier = max(watched.of_process.values()) if watched is not None else 0.0
                cpus[workers].append(time.process_time() - spent + busier)
            assert isinstance(outcome, Booked), outcome
            plans.add(outcome.plan.to_json())
        assert len(plans) == 1, "one process and two must come to the same plan"
        took.append((teams, min(cpus[1])))
        wall, line = min(walls[2]) / min(walls[1]), min(cpus[2]) / min(cpus[1])
        print(f"{teams} teams: {took[-1][1]:.2f} CPU s by one process; two take {wall:.2f} of its wall; "
              f"their longest line is {line:.2f} of its CPU", flush=True)  # fmt: skip
    print(f"growth of CPU seconds with teams: exponent {slope(took):.2f}")


def main() -> None:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--seconds", type=float, default=SECONDS)
    reader.add_argument("--towns", action="store_true")
    reader.add_argument("--once", action="store_true", help="each town once by one process and once by two")
    asked = reader.parse_args()
    if asked.towns:
        towns(SIZES, (1, 2) if asked.once else (1, 2, 2, 1))
        return
    held = [
        beside("A team's week", a_week_of_36_reps(), asked.seconds),
        beside("A pooled evening of six blocks", a_pool_of_six_blocks(), asked.seconds),
    ]
    drawn_anew()
    print("within a second, twenty times faster and no worse: " + ("yes" if all(held) else "no"))


if __name__ == "__main__":
    main()
