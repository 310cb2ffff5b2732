"""Where the quick way leaves an excess: less of it by a model of counts, and the least that no rotation can avoid.

What nobody can avoid by some whistle nobody can avoid in the week. So the first sessions are asked alone, which is
soon proved; and session by session, each fitted to those before it, the rotation is made anew from where it has more.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum, auto
from fractions import Fraction
from math import ceil
from random import Random
from typing import TYPE_CHECKING

from scheduler.rotation.counts import Among, CountsModel, indices_of
from scheduler.rotation.counts_read import hint, read
from scheduler.rotation.distances import furthest_beyond, order_alike
from scheduler.rotation.draft import LARGEST_MODEL, Draft
from scheduler.rotation.keepers import choose_keepers
from scheduler.rotation.least_excess import least_excess
from scheduler.rotation.repair import Repair
from scheduler.rotation.whole_reps import hold_whole_reps
from scheduler.solving import make_solver

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver, IntVar

MEND_STEPS = 160
WISH_SHARE = 0.2  # of the limit, for sizes as wanted
SOON_SHARE = 0.2  # of the limit, before and while the keepers are given
GIVEN, FEW = 6, 4  # how often keepers are given beforehand, and how often a few for each goal
DRAWS = 3  # of keepers, for a few to choose from
ROUNDS = 2  # of asking for ever less excess


@dataclass(frozen=True)
class Solve:
    """Scaled minutes beyond the bounds that a model found (None: no solution), and the least not shown impossible."""

    found: int | None
    bound: int
    solver: CpSolver | None = None


def solve(counts: CountsModel, limit: float, least: int, most: int, *, lessen: bool = True) -> Solve:
    """Look for the least excess from `least` to `most`; `limit` in CP-SAT's deterministic seconds.

    `lessen` False: any excess up to `most` will do.
    """
    model = counts.model
    model.add(counts.excess >= least)
    model.add(counts.excess <= most)
    hold_whole_reps(counts, most)
    counts.flows.hold_within(lessen=lessen)
    if lessen:
        model.minimize(counts.excess)
    solver = make_solver(limit, linearization=2)
    status = solver.status_name(solver.solve(model))
    if status == "INFEASIBLE":
        return Solve(None, most + 1)
    if status not in ("OPTIMAL", "FEASIBLE"):
        return Solve(None, least)
    found = solver.value(counts.excess)
    return Solve(found, max(least, -int(-solver.best_objective_bound // 1)) if lessen else least, solver)


def worst(draft: Draft) -> int:
    """Scaled minutes beyond the bounds at the worst whistle."""
    return furthest_beyond(draft, list(range(len(draft.lineups))))


def lessened(draft: Draft, limit: float) -> int:
    """Bring a filled draft's excess down as far as the models can; the least that is shown to be unavoidable.

    Where groups are to be chosen nothing is shown: another way to form them might do better.
    """
    most, least = worst(draft), 0
    alone = all(one.groups == 1 for one in draft.ring.sessions)
    if alone:
        least = ceil(least_excess(draft.club, draft.ring, Fraction(most, draft.scale)) * draft.scale)
    if least < most:
        before = Repair(draft)
        kept = before.state()
        least = made_anew(draft, limit, least)
        if _clashes_left(draft) or worst(draft) > most:
            before.restore(kept)
    return min(least, most) if alone else 0


def made_anew(draft: Draft, limit: float, least: int) -> int:
    """Make the sessions with more than the least excess anew, in order of time; the least shown to be unavoidable.

    Each session is fitted to those before it; where that leaves more than the least, ever more of those before are
    made anew with it. What sessions need that come first in everyone's week is unavoidable, whatever comes after.
    """
    for number in range(len(draft.ring.sessions)):
        spans = [
            (first, number + 1) for first in range(number, -1, -1) if _size(draft, first, number + 1) <= LARGEST_MODEL
        ]
        for span in spans:
            now = furthest_beyond(draft, indices_of(draft, 0, number + 1))
            if now <= least:
                break
            whole = span[0] == 0 and _is_first(draft, number + 1)
            bound = _reach(draft, limit, span, least, lessen=span == spans[-1])
            if whole:
                least = max(least, min(bound, now))
    return least


def _reach(draft: Draft, limit: float, span: tuple[int, int], least: int, *, lessen: bool) -> int:
    """Make these sessions anew with no more than the least excess, or where asked with as little more as may be.

    Returned is the least excess that is not shown to be impossible for them, all else staying as it is.
    """
    now = furthest_beyond(draft, indices_of(draft, 0, span[1]))
    bound = _soon(draft, limit, span, least)
    if bound is None:
        return least
    if bound <= least and lessen:
        tried = _filled_anew(draft, limit, span, (0, least))
        if tried.found is not None:
            return least
        bound = tried.bound
    for _ in range(ROUNDS if lessen else 0):
        if bound >= now:
            break
        tried = _filled_anew(draft, limit, span, (bound, now - 1), lessen=True)
        bound = max(bound, tried.bound)
        if tried.found is None:
            break
        now = tried.found
    return bound


def _soon(draft: Draft, limit: float, span: tuple[int, int], least: int) -> int | None:
    """Make these sessions anew within the least excess, if that is soon found: None; else what is not impossible."""
    tried = _filled_anew(draft, limit * SOON_SHARE, span, (0, least))
    if tried.found is not None:
        return None
    if tried.bound <= least and _with_other_keepers(draft, limit * SOON_SHARE, span, least):
        return None
    return tried.bound


def _with_other_keepers(draft: Draft, limit: float, span: tuple[int, int], least: int) -> bool:
    """Whether these sessions come to no more than the least excess with some keepers who are given beforehand.

    A model with given keepers, or few to choose from, is soon solved one way or the other, so several are tried.
    """
    indices = indices_of(draft, *span)
    before = Repair(draft)
    kept, unknown, seed = before.state(), 0, 0
    for attempt in range(GIVEN + FEW):
        among: dict[int, set[int]] = {index: set() for index in indices}
        for _ in range(1 if attempt < GIVEN else DRAWS):
            choose_keepers(draft, Random(seed) if seed else None, even_out=seed % 3 != 1, only=indices)
            seed += 1
            for index in indices:
                among[index].update(draft.lineups[index].keepers)
        for index in indices:
            draft.lineups[index].role = {}
        tried = _filled_anew(draft, limit, span, (0, least), among=among)
        if tried.found is not None:
            return True
        before.restore(kept)
        unknown += tried.bound <= least
        if unknown > 1:
            break
    return False


def _clashes_left(draft: Draft) -> bool:
    """Mend foes in one area; whether some are left."""
    if any(lineup.clashes() for lineup in draft.lineups):
        Repair(draft).run(MEND_STEPS, Random(0))
    return any(lineup.clashes() for lineup in draft.lineups)


class Filled(Enum):
    """What became of a draft without roles: filled, shown to be impossible with its groups, or neither in time."""

    YES = auto()
    NEVER = auto()
    NOT_YET = auto()


def fill(draft: Draft, limit: float) -> Filled:
    """Give sides and roles to a draft that has none, session by session, whoever keeps goal."""
    for number in range(len(draft.ring.sessions)):
        span = number, number + 1
        tried = _filled_anew(draft, limit, span, (0, 0))
        if tried.found is None:
            tried = _filled_anew(draft, limit, span, (0, None), lessen=True)
        if tried.found is None:
            return Filled.NEVER if tried.bound > 0 else Filled.NOT_YET
    return Filled.YES


def _filled_anew(
    draft: Draft,
    limit: float,
    span: tuple[int, int],
    excess: tuple[int, int | None],
    *,
    lessen: bool = False,
    among: Among | None = None,
) -> Solve:
    """Make these sessions anew with an excess from and up to (None: any), then sizes as near as may be to wanted."""
    least, most = excess
    counts = CountsModel(draft, *span, most, among=among)
    order_alike(counts)
    hint(counts)
    tried = solve(counts, limit, least, counts.horizon if most is None else most, lessen=lessen)
    if tried.solver is not None:
        read(counts, as_wanted(counts, tried.solver, limit * WISH_SHARE))
    return tried


def as_wanted(counts: CountsModel, solver: CpSolver, limit: float) -> CpSolver:
    """The same excess with fewer rests, then sizes nearer to those wanted, then the draft's keepers, within the limit.

    The draft's keepers share the goals as evenly as can be; the model holds them to their bounds alone.
    """
    model, chosen, others = counts.model, list(counts.chosen.values()), _other_keepers(counts)
    size = 1 + len(others)
    rest = size * (1 + sum(max(split.off for split, _ in found) for found in chosen))
    costs = [[(rest * sum(split.rest) + size * split.off, literal) for split, literal in found] for found in chosen]
    cost = sum(each * literal for found in costs for each, literal in found) + sum(others)
    if solver.value(cost) <= sum(min(each for each, _ in found) for found in costs):
        return solver
    model.add(counts.excess <= solver.value(counts.excess))
    forget: Callable[[], None] = model.clear_hints
    forget()  # a second hint of the same variable would make the model invalid
    for index, value in enumerate(list(solver.response_proto.solution)):
        model.add_hint(model.get_int_var_from_proto_index(index), value)
    model.minimize(cost)
    better = make_solver(limit)
    status = better.status_name(better.solve(model))
    return better if status in ("OPTIMAL", "FEASIBLE") else solver


def _other_keepers(counts: CountsModel) -> list[IntVar]:
    """1 for each single child whom the model puts in goal in a turn where the draft does not."""
    lineups = counts.draft.lineups
    return [
        goal
        for (index, player), goal in counts.keep.items()
        if not isinstance(goal, int) and player not in lineups[index].keepers
    ]


def _size(draft: Draft, first: int, last: int) -> int:
    return sum(len(draft.lineups[index].here) for index in indices_of(draft, first, last))


def _is_first(draft: Draft, last: int) -> bool:
    """Whether these sessions come first in the week of everybody who is in one of them."""
    among = set(indices_of(draft, 0, last))
    return all(
        sorted(path, key=lambda index: index not in among) == path for path in draft.path if among.intersection(path)
    )
