"""The second solve in one exact model: for proofs, small replans and tests. Slow where a ring is large.

What counts, in strict order: the firm rules; the least excess beyond the fairness bounds (largest first, then how many
children); then the wishes asked for, in the order of `scheduler/priorities.py`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.contract import RotationRule, Rule, is_rotation_rule
from scheduler.plan.plan import Proof, WeekPlan
from scheduler.priorities import ROTATION_ORDER
from scheduler.rotation.allowance import EXCESS, EXCESS_CHILDREN, ROUNDING, excess_records
from scheduler.rotation.setting import Ring
from scheduler.rotation.slots import groups_in
from scheduler.solving import make_solver

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver

    from scheduler.rotation.model import Linear, RotationModel

Key = tuple[str, int, int, int]
FIRM_SHARE, EXCESS_SHARE = 0.5, 0.25  # of the limit: firm rules first, the least excess, the rest for wishes
LARGEST_FREE = 12  # players of a session with several groups, up to which groups are chosen by the model


@dataclass(frozen=True)
class Exact:
    """What the exact model came to. `status`: `found`, `none` (no lawful rotation) or `out of time`.

    `excess` and `bound` in minutes: the plan's, and the least that is not shown impossible. `proved`: they are equal.
    `costs` has the cost of every wish asked for; `proved_wishes` names those whose cost is shown to be the least.
    `whole`: groups were chosen too, so that nothing of this holds for one choice of groups alone.
    """

    plan: WeekPlan | None
    status: str
    excess: Fraction = Fraction(0)
    bound: Fraction = Fraction(0)
    proved: bool = False
    children_over: int = 0
    costs: dict[str, int] = field(default_factory=dict)
    proved_wishes: tuple[str, ...] = ()
    whole: bool = True
    records: tuple[Proof, ...] = ()


def build_rotation(
    club: Club,
    plan: WeekPlan,
    ring: Ring,
    rules: Sequence[Rule],
    *,
    groups_from: WeekPlan | None = None,
    earlier: WeekPlan | None = None,
    wishes: Iterable[str] = (),
) -> RotationModel:
    """The model of a ring with every rotation rule that is on posted to it, switches not yet fixed.

    `groups_from`: a plan whose groups are kept; without one, groups are free (ValueError where they are too large).
    """
    from scheduler.rotation.model import RotationModel

    groups = groups_in(groups_from, ring) if groups_from is not None else None
    model = RotationModel(club, plan, ring, groups=groups, earlier=earlier, wishes=wishes)
    mine: list[RotationRule[RotationModel]] = [
        rule for rule in rules if is_rotation_rule(rule) and rule.off(club) is None
    ]
    for rule in mine:
        rule.post_roles(club, plan, model)
    return model


def rotate_exactly(
    club: Club,
    plan: WeekPlan,
    ring: Ring,
    rules: Sequence[Rule],
    *,
    limit: float,
    hint: WeekPlan | None = None,
    earlier: WeekPlan | None = None,
    locked: Iterable[Key] = (),
    wishes: Iterable[str] = (),
) -> Exact:
    """Fill one ring's places. `limit` in CP-SAT's deterministic seconds; `plan` is booked, other rings are left alone.

    `earlier` is what few changes are counted from and where the places of `locked` (session, block, station, rep)
    come from: whistles already played. `wishes` are those asked for beyond few changes, which always is when there is
    an earlier plan. Groups too large to be chosen here are kept from the hint or the earlier plan.
    """
    asked = tuple(w for w in ROTATION_ORDER if w in set(wishes) or (w == "few changes" and earlier is not None))
    kept = (hint or earlier) if _groups_are_large(ring) else None
    model = build_rotation(club, plan, ring, rules, groups_from=kept, earlier=earlier, wishes=asked)
    played = set(locked)
    if earlier is not None and played:
        model.fix(earlier, only=[turn for turn in ring.turns if turn.key in played])
    if hint is not None or earlier is not None:
        model.hint(hint or earlier or plan)
    model.switches.fix_on()
    return _Stages(model, limit).run(asked, whole=kept is None)


def prove_excess(club: Club, plan: WeekPlan, ring: Ring, rules: Sequence[Rule], limit: float) -> Exact:
    """Whether less excess than the plan has is impossible in its booked week: the plan itself with the proof.

    Trivially so without an excess. Where the groups had to be kept, less is only shown impossible for these groups,
    and `proved` stays False.
    """
    from scheduler.plan.ledger import ledger

    lines = [line for line in ledger(club, plan) if line.player in ring.players]
    excess = max((line.excess for line in lines), default=Fraction(0))
    over = len({line.player for line in lines if line.excess})
    if not excess:
        return Exact(plan, "found", proved=True)
    kept = plan if _groups_are_large(ring) else None
    model = build_rotation(club, plan, ring, rules, groups_from=kept)
    model.switches.fix_on()
    scaled = int(excess * model.shares.scale)
    model.model.add(model.shares.excess <= scaled - 1)
    model.model.minimize(model.shares.excess)
    solver = make_solver(limit)
    status = solver.solve(model.model)
    none = solver.status_name(status) == "INFEASIBLE"
    proved = none and kept is None
    least = Fraction(int(solver.best_objective_bound), model.shares.scale) if _found(solver, status) else Fraction(0)
    bound = excess if none else max(Fraction(0), least)
    records = excess_records(ring, excess, bound, over, proved)
    return Exact(with_records(plan, ring, records), "found", excess, bound, proved, over, records=records)


def with_records(plan: WeekPlan, ring: Ring, records: tuple[Proof, ...]) -> WeekPlan:
    """The plan with a ring's excess records put in the place of earlier ones."""
    mine = (EXCESS, EXCESS_CHILDREN)
    others = tuple(proof for proof in plan.proofs if proof.pool != ring.name or proof.measure not in mine)
    return plan.model_copy(update={"proofs": (*others, *records)})


def is_lawful(club: Club, plan: WeekPlan, ring: Ring, rules: Sequence[Rule], excess: Fraction = Fraction(0)) -> bool:
    """Whether the exact model accepts the plan's places of a ring with at most this excess (minutes)."""
    model = build_rotation(club, plan, ring, rules, groups_from=plan)
    model.switches.fix_on()
    model.fix(plan)
    model.model.add(model.shares.excess <= int((excess + ROUNDING) * model.shares.scale))
    solver = make_solver(60.0)
    return _found(solver, solver.solve(model.model))


def _groups_are_large(ring: Ring) -> bool:
    return any(one.groups > 1 and len(one.players) > LARGEST_FREE for one in ring.sessions)


def _found(solver: CpSolver, status: object) -> bool:
    return solver.status_name(status) in ("OPTIMAL", "FEASIBLE")


class _Stages:
    """Strict stages over one model: each value reached is held while the next is made smaller."""

    def __init__(self, model: RotationModel, limit: float) -> None:
        self._model, self._limit, self._spent = model, limit, 0.0
        self._last: CpSolver | None = None
        self._none = False

    def run(self, wishes: tuple[str, ...], *, whole: bool) -> Exact:
        shares, model = self._model.shares, self._model.model
        within = self._try_without_excess()
        if within == "found":
            excess, bound, over = 0, 0, 0
        else:
            at_least = 1 if within == "none" else 0
            model.add(shares.excess >= at_least)
            reached = self._least(shares.excess, self._limit * (FIRM_SHARE + EXCESS_SHARE))
            if reached is None or self._last is None:
                return Exact(None, "none" if reached is None and self._none else "out of time", whole=whole)
            excess, bound = reached[0], max(at_least, reached[1])
            model.add(shares.excess <= excess)
            over = (self._least(sum(shares.over), self._limit * EXCESS_SHARE) or (len(shares.over), 0))[0]
            model.add(sum(shares.over) <= over)
        return self._finish(wishes, excess, bound, over, whole)

    def _finish(self, wishes: tuple[str, ...], excess: int, bound: int, over: int, whole: bool) -> Exact:
        proved_wishes = []
        costs = {}
        for number, wish in enumerate(wishes):
            cost = self._model.cost(wish)
            if cost is not None:
                left = (self._limit - self._spent) / (len(wishes) - number)
                reached = self._least(cost, max(left, self._limit / 20))
                if reached is not None:
                    self._model.model.add(cost <= reached[0])
                    costs[wish] = reached[0]
                    if reached[0] == reached[1]:
                        proved_wishes.append(wish)
        assert self._last is not None
        scale = self._model.shares.scale
        minutes, least = Fraction(excess, scale), Fraction(bound, scale)
        proved = excess == 0 or (excess == bound and whole)
        records = excess_records(self._model.ring, minutes, least, over, proved)
        plan = with_records(self._model.read(self._last), self._model.ring, records)
        return Exact(plan, "found", minutes, least, proved, over, costs, tuple(proved_wishes), whole, records)

    def _try_without_excess(self) -> str:
        """Look for a plan within every bound: `found`, `none` or `out of time`."""
        shares, model = self._model.shares, self._model.model
        trial = model.clone()
        trial.add(trial.get_int_var_from_proto_index(shares.excess.index) == 0)
        solver = make_solver(self._limit * FIRM_SHARE)
        status = solver.solve(trial)
        self._spent += solver.response_proto.deterministic_time
        if _found(solver, status):
            model.add(shares.excess == 0)
            self._keep(solver)
            return "found"
        return "none" if solver.status_name(status) == "INFEASIBLE" else "out of time"

    def _least(self, what: Linear, limit: float) -> tuple[int, int] | None:
        """Make a cost as small as the limit allows: value and proven bound, or None where no plan was found."""
        self._none = False
        self._model.model.minimize(what)
        solver = make_solver(limit)
        status = solver.solve(self._model.model)
        self._spent += solver.response_proto.deterministic_time
        self._none = solver.status_name(status) == "INFEASIBLE"
        if not _found(solver, status):
            return None
        self._keep(solver)
        return round(solver.objective_value), max(0, -int(-solver.best_objective_bound // 1))

    def _keep(self, solver: CpSolver) -> None:
        """Remember the solution and start the next stage from the whole of it, auxiliaries included."""
        self._last = solver
        model = self._model.model
        forget: Callable[[], None] = model.clear_hints
        forget()
        for index, value in enumerate(list(solver.response_proto.solution)):
            model.add_hint(model.get_int_var_from_proto_index(index), value)


def locked_before(ring: Ring, date: dt.date, minute: int) -> tuple[Key, ...]:
    """The turns begun before a minute of a date: a rep begun before `now` stays as it is."""
    return tuple(turn.key for turn in ring.turns if (turn.date, turn.span.start) < (date, minute))
