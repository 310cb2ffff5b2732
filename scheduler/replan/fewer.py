"""The exact model for rotations after a change: fewer places changed than the quick repair found, or proof of none.

A yes-or-no question a step ("is there a lawful rotation with fewer changes?") is answered several times faster than
the model makes the number small by itself.
"""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.plan.plan import WeekPlan
from scheduler.replan.repair import Repaired
from scheduler.rotation.exact import build_rotation, rotate_exactly
from scheduler.rotation.setting import Ring
from scheduler.solving import make_solver

WISH = "few changes"
MOST_PROOF = 3.0  # deterministic seconds to look for fewer changes than a lawful plan has, while a coach waits


def fewer_changes(
    club: Club,
    before: WeekPlan,
    booked: WeekPlan,
    ring: Ring,
    roles: Sequence[Rule],
    locked: frozenset[int],
    found: Repaired,
    limit: float,
) -> tuple[WeekPlan, bool]:
    """The plan with the fewest changes, and whether that is proved; at worst the one found already.

    Asks for all fewer, then halves what is left open; everybody within one rep of the fair share, as in `found`.
    """
    model = build_rotation(club, booked, ring, roles, groups_from=found.plan, earlier=before, wishes=(WISH,))
    model.fix(before, only=[turn for turn in ring.turns if turn.index in locked])
    model.switches.fix_on()
    model.model.add(model.shares.excess == 0)
    model.hint(found.plan)
    cost = model.cost(WISH)
    best, changes, bound, left = found.plan, found.changes, found.bound, min(limit, MOST_PROOF)
    if cost is None:
        return best, True
    while bound < changes and left > 0:
        trial = model.model.clone()
        aim = changes - 1
        trial.add(cost <= aim)
        solver = make_solver(left, linearization=2)
        status = solver.status_name(solver.solve(trial))
        left -= solver.response_proto.deterministic_time
        if status == "INFEASIBLE":
            bound = changes
        elif status in ("OPTIMAL", "FEASIBLE"):
            best, changes = model.read(solver), round(solver.value(cost))
        else:
            break
    one_group = all(setting.groups == 1 for setting in ring.sessions)
    return best, bound >= changes and one_group


def fewest_changes(
    club: Club,
    before: WeekPlan,
    booked: WeekPlan,
    ring: Ring,
    roles: Sequence[Rule],
    locked: frozenset[int],
    limit: float,
) -> tuple[WeekPlan, bool] | str:
    """The least excess first, then the fewest changes; `none` where no rotation is lawful, `out of time`."""
    keys = tuple(turn.key for turn in ring.turns if turn.index in locked)
    exact = rotate_exactly(club, booked, ring, roles, limit=limit, earlier=before, locked=keys)
    if exact.plan is None:
        return exact.status
    done = exact.plan.model_copy(update={"proofs": (*exact.plan.proofs, *exact.records)})
    return done, WISH in exact.proved_wishes
