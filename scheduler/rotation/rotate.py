"""The second solve: every place of a booked week, ring by ring, side by side where an executor is handed in.

The quick way first; where it leaves anything beyond the fairness bounds, the exact model, started from it, looks for
less and proves what it can.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import NamedTuple

from scheduler.club.club import Club
from scheduler.contract import Rule, Severity, is_rotation_rule
from scheduler.outcome import Booked, Clash, Conflict, Demand, OutOfTime
from scheduler.plan.ledger import ledger
from scheduler.plan.plan import Place, Proof, WeekPlan
from scheduler.processes import submit
from scheduler.progress import Report, silent
from scheduler.rotation.allowance import excess_records
from scheduler.rotation.packed import Packed
from scheduler.rotation.pair_proof import pair_proofs
from scheduler.rotation.places import with_places
from scheduler.rotation.quick import rotate_quickly
from scheduler.rotation.setting import Ring, laid, settings
from scheduler.rotation.shortages import shortages
from scheduler.rotation.slots import places_at
from scheduler.rotation.unmet import About, Paid, paid_wishes, together, unmet
from scheduler.stopping import heard

Key = tuple[str, int, int, int]
COUNTS_SHARE = 0.1  # of the limit, for each small model where the arithmetic falls short
EXACT_SHARE = 0.25  # of the limit, where a lawful plan is in hand and less excess is looked for
LARGEST_PROVED = 200  # players times turns up to which the exact model has been seen to come to a proof


@dataclass(frozen=True)
class Task:
    """One ring to be solved: the club, the ring's own sessions as a week, the rules and the limit."""

    known: Packed[Club]
    plan: WeekPlan
    rules: tuple[Rule, ...]
    limit: float

    @property
    def club(self) -> Club:
        """The club, the same for every ring."""
        return self.known.thing


@dataclass(frozen=True)
class Solved:
    """What became of one ring. `demands`: why no rotation is lawful; `late`: time ran out before one was found.
    `stopped`: by Ctrl-C, after which nothing is improved any more.

    `records` of an excess, `fairness` and `pairs` are its proofs; `paid` is what its wishes cost.
    """

    places: dict[Key, tuple[Place, ...]] = field(default_factory=dict)
    records: tuple[Proof, ...] = ()
    fairness: tuple[Proof, ...] = ()
    pairs: tuple[Proof, ...] = ()
    paid: Mapping[About, Paid] = field(default_factory=dict)
    proved: bool = True
    demands: tuple[Demand, ...] = ()
    each_alone: bool = False
    late: bool = False
    stopped: bool = False


def rotate(
    club: Club,
    plan: WeekPlan,
    rules: Sequence[Rule],
    *,
    executor: Executor | None = None,
    on_progress: Report = silent,
    limit: float = 60.0,
) -> Booked | Conflict | OutOfTime:
    """Fill every place of a booked week and add its `proofs` and `unmet`.

    Rings share nothing: each is a task of its own, done in order or by the executor; the result is the same. `limit`
    is in the solver's reproducible seconds, for each ring that needs the exact model. After Ctrl-C every ring is still
    filled, but nothing that takes long is tried.
    """
    rings = settings(club, plan)
    known = Packed(club)
    tasks = [Task(known, _part(club, plan, ring), tuple(rules), limit) for ring in rings]
    if executor is not None and len(tasks) > 1:
        on_progress(f"rotations of {len(tasks)} rings of sessions")
        solved = _side_by_side(tasks, rings, executor)
    else:
        solved = []
        for ring, task in zip(rings, tasks, strict=True):
            on_progress(f"rotation of {ring.name}")
            stopped = any(one.stopped for one in solved)
            solved.append(solve_soon(task) if stopped else solve_or_stop(task))
    demands = tuple(demand for one in solved for demand in one.demands)
    if demands:
        return Conflict("rotation", tuple(clash for one in solved for clash in _clashes(one)))
    if any(one.late for one in solved):
        return OutOfTime(limit, "rotation")
    return _joined(club, plan, rules, rings, solved)


def _side_by_side(tasks: list[Task], rings: Sequence[Ring], executor: Executor) -> list[Solved]:
    """The rings in their own order, the largest begun first, so that nobody waits for one begun last."""
    largest_first = sorted(range(len(tasks)), key=lambda i: -len(rings[i].players) * len(rings[i].turns))
    begun = {i: submit(executor, _hearing, tasks[i]) for i in largest_first}
    try:
        return [begun[i].result() for i in range(len(tasks))]
    except KeyboardInterrupt:  # the processes that are at work hear it too; what waits is done here, and soon
        waiting = {i for i, future in begun.items() if future.cancel()}
        return [solve_soon(tasks[i]) if i in waiting else begun[i].result() for i in range(len(tasks))]


def _hearing(task: Task) -> Solved:
    with heard():
        return solve_or_stop(task)


def solve_or_stop(task: Task) -> Solved:
    """Solve one ring; after Ctrl-C without anything that takes long."""
    try:
        return solve_ring(task)
    except KeyboardInterrupt:
        return solve_soon(task)


def solve_soon(task: Task) -> Solved:
    """One ring by the quick way alone, as after Ctrl-C."""
    return replace(solve_ring(replace(task, limit=0.0)), stopped=True)


def _clashes(solved: Solved) -> tuple[Clash, ...]:
    """Demands that cannot be met one by one are a clash each, the others one together."""
    if solved.each_alone:
        return tuple(Clash((demand,), minimal=True) for demand in solved.demands)
    return (Clash(solved.demands, minimal=False),) if solved.demands else ()


def _part(club: Club, plan: WeekPlan, ring: Ring) -> WeekPlan:
    """The week with the sessions of one ring alone, blocks laid out."""
    names = {setting.session for setting in ring.sessions}
    sessions = tuple(laid(club, planned) for planned in plan.sessions if planned.session in names)
    return plan.model_copy(update={"sessions": sessions, "proofs": (), "unmet": ()})


def _joined(club: Club, plan: WeekPlan, rules: Sequence[Rule], rings: tuple[Ring, ...], solved: list[Solved]) -> Booked:
    places = {key: found for one in solved for key, found in one.places.items()}
    full = with_places(club, plan, places)
    records = tuple(proof for one in solved for proof in one.records)
    kept = tuple(proof for proof in plan.proofs if proof.pool not in {ring.name for ring in rings})
    fairness = tuple(proof for one in solved for proof in one.fairness)
    pairs = tuple(proof for one in solved for proof in one.pairs)
    subjects = [*(planned.session for planned in plan.sessions), *(ring.name for ring in rings)]
    paid = together((one.paid for one in solved), rules, subjects)
    proofs = (*kept, *records, *fairness, *pairs)
    full = full.model_copy(update={"proofs": proofs, "unmet": (*plan.unmet, *unmet(paid))})
    stopped = any(one.stopped for one in solved)
    return Booked(full, proven=all(one.proved for one in solved), stopped=stopped)


def solve_ring(task: Task) -> Solved:
    """Solve one ring. A plain function of its argument, so that it can run in another process."""
    club, plan, rules = task.club, task.plan, task.rules
    (ring,) = settings(club, plan)
    short = shortages(club, ring, rules)
    if short:
        return Solved(demands=short, each_alone=True)
    quick = rotate_quickly(club, plan, ring, limit=task.limit * COUNTS_SHARE)
    if quick.never:
        return Solved(demands=_no_rotation(ring))
    if quick.plan is None:
        return _solve_exactly(task, ring, None, None)
    excess = _excess(club, quick.plan)
    lawful = not _broken(club, quick.plan, ring, rules, excess)
    if lawful and not excess.minutes:
        return _solved(task, quick.plan, ring)
    if lawful and all(one.groups == 1 for one in ring.sessions):
        proved = quick.least == excess.minutes
        records = excess_records(ring, excess.minutes, min(quick.least, excess.minutes), excess.children, proved)
        return _solved(task, quick.plan, ring, records, proved)
    return _solve_exactly(task, ring, quick.plan, excess if lawful else None)


def _solved(task: Task, plan: WeekPlan, ring: Ring, records: tuple[Proof, ...] = (), proved: bool = True) -> Solved:
    from scheduler.rotation.proofs import fairness_proofs

    places = {turn.key: places_at(plan, turn) for turn in ring.turns}
    fairness, paid = fairness_proofs(task.club, plan), paid_wishes(task.club, plan, task.rules)
    return Solved(places, records, fairness, pair_proofs(plan, ring), paid, proved)


class _Excess(NamedTuple):
    """Minutes beyond the bound at the worst whistle, and how many children are beyond it."""

    minutes: Fraction
    children: int


def _excess(club: Club, plan: WeekPlan) -> _Excess:
    lines = [line for line in ledger(club, plan) if line.excess]
    worst = max((line.excess for line in lines), default=Fraction(0))
    return _Excess(worst, len({line.player for line in lines}))


def _broken(club: Club, plan: WeekPlan, ring: Ring, rules: Sequence[Rule], excess: _Excess) -> bool:
    """Whether any rotation rule finds a breach other than the excess, which is dealt with by itself."""
    records = excess_records(ring, excess.minutes, Fraction(0), excess.children, False)
    owned = plan.model_copy(update={"proofs": records})
    return any(
        found.severity is Severity.BREACH
        for rule in rules
        if is_rotation_rule(rule) and rule.off(club) is None
        for found in rule.audit(club, owned)
    )


def _solve_exactly(task: Task, ring: Ring, quick: WeekPlan | None, excess: _Excess | None) -> Solved:
    """Ask the exact model. `quick`: where it starts; `excess`: what that plan has, None where it is not lawful."""
    from scheduler.rotation.exact import rotate_exactly

    club, plan, rules = task.club, task.plan, task.rules
    in_hand = quick if excess is not None else None
    size = sum(len(turn.there) for turn in ring.turns if turn.has_roles)
    if in_hand is not None and excess is not None and size > LARGEST_PROVED:
        records = excess_records(ring, excess.minutes, Fraction(0), excess.children, False)
        return _solved(task, in_hand, ring, records, proved=False)
    limit = task.limit * (EXACT_SHARE if in_hand is not None else 1)
    try:
        exact = rotate_exactly(club, plan, ring, rules, limit=limit, hint=quick)
    except ValueError:  # groups too large to be chosen by the model, and none were found
        return Solved(demands=_no_groups(ring))
    if in_hand is not None and excess is not None and (exact.plan is None or exact.excess > excess.minutes):
        bound = min(exact.bound, excess.minutes)
        records = excess_records(ring, excess.minutes, bound, excess.children, False)
        return _solved(task, in_hand, ring, records, proved=False)
    if exact.plan is not None:
        return _solved(task, exact.plan, ring, exact.records, exact.proved)
    if exact.status != "none":
        return Solved(late=True)
    return Solved(demands=_no_rotation(ring) if exact.whole else _no_groups(ring))


def _no_rotation(ring: Ring) -> tuple[Demand, ...]:
    text = "{}: no rotation meets every firm rule together with who is there, who may keep goal and who is kept apart"
    return tuple(Demand("rotation", setting.session, text.format(setting.session)) for setting in ring.sessions)


def _no_groups(ring: Ring) -> tuple[Demand, ...]:
    text = "{}: no {} groups were found in which every group has its keepers, its numbers and nobody to be kept apart"
    return tuple(
        Demand("rotation", setting.session, text.format(setting.session, setting.groups))
        for setting in ring.sessions
        if setting.groups > 1
    )
