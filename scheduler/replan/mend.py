"""Rotations after a change: swaps and turn by turn first, then the ring's model, then the complete one.

Only where none of these keeps everybody within the fair share is the whole ring made anew, with the least excess; and
where that is not found in time, or not in the groups as they are, as for a new week.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.contract import Rule, Violation, is_rotation_rule
from scheduler.outcome import Booked
from scheduler.plan.plan import Proof, WeekPlan
from scheduler.progress import Report, silent
from scheduler.replan.attendance import minute_of
from scheduler.replan.fewest import NO_WAY, fewest_places
from scheduler.replan.repair import Repair
from scheduler.replan.task import Task
from scheduler.rotation.allowance import EXCESS, EXCESS_CHILDREN
from scheduler.rotation.setting import Ring, settings
from scheduler.rotation.shortages import shortages

SHARE_ANEW = 0.5  # of the limit, for a rotation made from nothing


@dataclass(frozen=True)
class Mended:
    """The week with every rotation lawful again; `proven`: the fewest places changed in each ring."""

    plan: WeekPlan
    proven: bool
    changed: tuple[str, ...]


@dataclass(frozen=True)
class Stuck:
    """No lawful rotation for these sessions, booked as they are; or none found in time."""

    ring: Ring
    out_of_time: bool = False


def mend(
    club: Club,
    before: WeekPlan,
    booked: WeekPlan,
    rules: Sequence[Rule],
    *,
    now: dt.datetime | None,
    limit: float,
    breaches: Sequence[Violation] = (),
    on_progress: Report = silent,
) -> Mended | Stuck:
    """Fill what is open in `booked`, which carries the places of `before`; whistles before `now` stay.

    Rings in which somebody is missing or new are mended, and those that one of the breaches is about.
    """
    roles = tuple(rule for rule in rules if is_rotation_rule(rule))
    plan, proven, changed = booked, True, []
    for ring in settings(club, booked):
        locked = frozenset(turn.index for turn in ring.turns if turn.span.start < minute_of(now, turn.date))
        task = Task(club, before, ring, locked)
        stays = not _touched(ring, breaches) and not task.disturbed
        if stays and not (_in_another_order(before, ring) and _breaches(club, plan, ring, roles)):
            continue
        changed.append(ring.name)
        on_progress(f"rotation of {ring.name}")
        found = _mend_ring(task, before, plan, roles, locked, limit)
        if isinstance(found, Stuck):
            return found
        plan, least = found
        proven = proven and least
    return Mended(plan, proven, tuple(changed))


def _touched(ring: Ring, breaches: Sequence[Violation]) -> bool:
    """Whether a breach is about the ring's sessions or players, or names nobody."""
    names = {*ring.players, *(one.session for one in ring.sessions)}
    return any(not breach.about or names & set(breach.about) for breach in breaches)


def _in_another_order(before: WeekPlan, ring: Ring) -> bool:
    """Whether the ring's sessions, so its whistles, came in another order before."""
    were = [old for one in ring.sessions if (old := before.by_session.get(one.session))]
    return any((one.date, one.start) > (other.date, other.start) for one, other in pairwise(were))


def _part_club(club: Club, ring: Ring) -> Club:
    """The club with the sessions of one ring alone."""
    return club.model_copy(update={"sessions": tuple(club.session(one.session) for one in ring.sessions)})


def _part(plan: WeekPlan, ring: Ring) -> WeekPlan:
    """The plan with the sessions of one ring alone."""
    names = {one.session for one in ring.sessions}
    sessions = tuple(planned for planned in plan.sessions if planned.session in names)
    return plan.model_copy(update={"sessions": sessions, "cancelled": ()})


def _breaches(club: Club, plan: WeekPlan, ring: Ring, roles: Sequence[Rule]) -> bool:
    return bool(audit(_part_club(club, ring), _part(plan, ring), roles).breaches)


def _mend_ring(
    task: Task, before: WeekPlan, plan: WeekPlan, roles: Sequence[Rule], locked: frozenset[int], limit: float
) -> tuple[WeekPlan, bool] | Stuck:
    club, ring = task.club, task.ring
    if shortages(club, ring, roles):
        return Stuck(ring)
    clean = without_excess(plan, ring)
    part_club = _part_club(club, ring)

    def lawful(found: WeekPlan) -> bool:
        return not audit(part_club, _part(found, ring), roles).breaches

    mending = Repair(task, clean, lawful)
    quick = fewest_places(task, clean, lawful, mending.upward(), limit, mending.by_swaps)
    if quick.plan is not None:
        return quick.plan, quick.least
    from scheduler.replan.fewer import fewer_changes, fewest_changes, some_changes

    if quick.bound < NO_WAY:
        some = some_changes(club, before, clean, ring, roles, locked, quick.bound, limit)
        if some.plan is not None:
            return fewer_changes(club, before, clean, ring, roles, locked, some, limit)
    exact = fewest_changes(club, before, clean, ring, roles, locked, task.places_of_groups(), limit)
    if not isinstance(exact, str):
        return exact
    from scheduler.replan.regroup import regrouped

    moved = regrouped(task, clean, lawful, limit)
    if moved is not None:
        return moved[0], False
    hope = exact == "out of time" or any(setting.groups > 1 for setting in ring.sessions)
    done = _anew(club, clean, ring, roles, limit) if hope and not locked else None
    return Stuck(ring, exact == "out of time") if done is None else (done, False)


def _anew(club: Club, plan: WeekPlan, ring: Ring, roles: Sequence[Rule], limit: float) -> WeekPlan | None:
    """The plan with the ring's rotation made from nothing, as for a new week: many places change, but it is lawful."""
    from scheduler.rotation.rotate import rotate

    part_club, part = _part_club(club, ring), _part(plan, ring)
    done = rotate(part_club, part, roles, limit=limit * SHARE_ANEW)
    if not isinstance(done, Booked) or audit(part_club, done.plan, roles).breaches:
        return None
    sessions = tuple(done.plan.by_session.get(one.session, one) for one in plan.sessions)
    records = [one for one in done.plan.proofs if one.pool == ring.name and one.measure in (EXCESS, EXCESS_CHILDREN)]
    return plan.model_copy(update={"sessions": sessions, "proofs": (*plan.proofs, *records)})


def without_excess(plan: WeekPlan, ring: Ring) -> WeekPlan:
    """The plan without the records of one ring's excess, which holds no longer when its places change."""
    kept: tuple[Proof, ...] = tuple(
        proof for proof in plan.proofs if proof.pool != ring.name or proof.measure not in (EXCESS, EXCESS_CHILDREN)
    )
    return plan.model_copy(update={"proofs": kept})
