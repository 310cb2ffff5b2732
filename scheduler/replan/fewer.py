"""The complete model for rotations after a change, where neither swaps nor the ring's own model have mended it.

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
PROOF_SHARE = 0.06  # of the limit, to look for fewer changes than a lawful plan has
SMALL_RING = 200  # players x turns still open, up to which to look for fewer while a coach waits
PATIENT = 10.0  # a limit above this asks for it in any ring
MORE: tuple[int | None, ...] = (1, 4, 10, 25, None)  # changes allowed beyond what is shown to be needed


class _Question:
    """The model asked whether a lawful rotation with at most so many changes exists; fair shares kept by everybody."""

    def __init__(
        self,
        club: Club,
        before: WeekPlan,
        booked: WeekPlan,
        ring: Ring,
        roles: Sequence[Rule],
        locked: frozenset[int],
        groups_from: WeekPlan,
        limit: float,
    ) -> None:
        self._model = build_rotation(club, booked, ring, roles, groups_from=groups_from, earlier=before, wishes=(WISH,))
        self._model.fix(before, only=[turn for turn in ring.turns if turn.index in locked])
        self._model.switches.fix_on()
        self._model.model.add(self._model.shares.excess == 0)
        self._model.hint(groups_from)
        self._cost = self._model.cost(WISH)
        self.left = limit

    def ask(self, most: int | None) -> tuple[str, WeekPlan | None, int]:
        """`yes` with a plan and its changes, `no`, or `unknown`."""
        trial = self._model.model.clone()
        if most is not None and self._cost is not None:
            trial.add(self._cost <= most)
        solver = make_solver(max(0.01, self.left), linearization=2)
        status = solver.status_name(solver.solve(trial))
        self.left -= solver.response_proto.deterministic_time
        if status in ("OPTIMAL", "FEASIBLE"):
            changes = 0 if self._cost is None else round(solver.value(self._cost))
            return "yes", self._model.read(solver), changes
        return ("no" if status == "INFEASIBLE" else "unknown"), None, 0


def some_changes(
    club: Club,
    before: WeekPlan,
    booked: WeekPlan,
    ring: Ring,
    roles: Sequence[Rule],
    locked: frozenset[int],
    bound: int,
    limit: float,
) -> Repaired:
    """A lawful rotation with few changes: allowed numbers rise from the bound, which keeps the question small."""
    if any(setting.groups > 1 for setting in ring.sessions):
        return Repaired(None, 0, bound)
    question = _Question(club, before, booked, ring, roles, locked, before, limit * PROOF_SHARE)
    for more in MORE:
        most = None if more is None else bound + more
        answer, plan, changes = question.ask(most)
        if answer == "yes":
            return Repaired(plan, changes, bound)
        if answer == "unknown" or most is None:
            break
        bound = most + 1
    return Repaired(None, 0, bound)


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
    """The plan with the fewest changes, and whether that is proved; at worst the one found already."""
    best, changes, bound = found.plan, found.changes, found.bound
    assert best is not None
    if found.least:
        return best, True
    if limit <= PATIENT and len(ring.players) * (len(ring.turns) - len(locked)) > SMALL_RING:
        return best, False
    try:
        question = _Question(club, before, booked, ring, roles, locked, best, limit * PROOF_SHARE)
        while bound < changes and question.left > 0:
            answer, plan, fewer = question.ask(changes - 1)
            if answer == "unknown":
                break
            if plan is None:
                bound = changes
            else:
                best, changes = plan, fewer
    except KeyboardInterrupt:  # one is in hand
        return best, False
    one_group = all(setting.groups == 1 for setting in ring.sessions)
    return best, bound >= changes and one_group


def fewest_changes(
    club: Club,
    before: WeekPlan,
    booked: WeekPlan,
    ring: Ring,
    roles: Sequence[Rule],
    locked: frozenset[int],
    of_groups: int,
    limit: float,
) -> tuple[WeekPlan, bool] | str:
    """The least excess first, then the fewest changes; `none` where no rotation is lawful, `out of time`.

    `of_groups`: how many places change at least where somebody changes group. Groups too large for the model are kept.
    """
    keys = tuple(turn.key for turn in ring.turns if turn.index in locked)
    exact = rotate_exactly(club, booked, ring, roles, limit=limit, earlier=before, locked=keys)
    if exact.plan is None:
        return exact.status
    done = exact.plan.model_copy(update={"proofs": (*exact.plan.proofs, *exact.records)})
    others = exact.whole or (not exact.excess and exact.costs.get(WISH, 0) <= of_groups)
    return done, WISH in exact.proved_wishes and others
