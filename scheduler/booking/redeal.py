"""Pitches and zones of one evening at a site dealt out anew, days and times as they are, where zones alone will not do.

Only where a session is on the ground changes, and as few sessions as can be change their pitch.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from scheduler.solver import cp_model
from scheduler.solving import make_solver

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.plan.plan import PlannedSession

Place = tuple[str, tuple[int, ...]]  # a pitch, and a run of its zones

LIMIT = 0.3  # reproducible seconds


def redealt(
    sessions: Sequence[PlannedSession], places: Mapping[str, Sequence[Place]], between: int
) -> dict[str, Place] | None:
    """A place for each session of one evening, no zone used twice; None where none was found.

    `places`: those that each session may have at its time. `between`: minutes that a zone is not free after a session.
    """
    model = cp_model.CpModel()
    on: dict[tuple[str, int], list[tuple[PlannedSession, IntVar]]] = {}
    chosen: dict[str, list[tuple[Place, IntVar]]] = {}
    moved = []
    for planned in sessions:
        of = chosen[planned.session] = [(place, model.new_bool_var("")) for place in places[planned.session]]
        model.add_exactly_one(literal for _, literal in of)
        for (pitch, zones), literal in of:
            if pitch != planned.pitch:
                moved.append(literal)
            for zone in zones:
                on.setdefault((pitch, zone), []).append((planned, literal))
    for users in on.values():
        for minute in sorted({planned.start for planned, _ in users}):
            then = [literal for planned, literal in users if planned.start <= minute < planned.end + between]
            if len(then) > 1:
                model.add_at_most_one(then)
    model.minimize(sum(moved))
    solver = make_solver(LIMIT, probing=0)
    solver.parameters.catch_sigint_signal = False
    # during another solve, which is the one to hear Ctrl-C: this one is over in no time
    if cp_model.CpSolver.solve(solver, model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return {session: next(place for place, literal in of if solver.value(literal)) for session, of in chosen.items()}
