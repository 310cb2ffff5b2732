"""One child in another group, or two who change groups, where a ring cannot be mended with the groups as they are.

So a pooled evening without one group's keeper stays where it is: somebody who may keep comes over from another group.
Other groups than these are not looked at, so that nothing is shown to be the fewest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import combinations

from scheduler.plan.plan import WeekPlan
from scheduler.replan.scoreboard import Scoreboard
from scheduler.replan.task import Task

SHARE = 0.1  # of the limit, for all of them together
EACH = 0.01  # of the limit, for one of them
Groups = Mapping[tuple[str, str], int]  # the new groups of a few, by player and session


def regrouped(
    task: Task, booked: WeekPlan, lawful: Callable[[WeekPlan], bool], limit: float
) -> tuple[WeekPlan, int] | None:
    """The mending with the fewest changes among those found, and how many; None where there is none."""
    from scheduler.replan.ringmodel import RingModel

    best: tuple[WeekPlan, int] | None = None
    left = limit * SHARE
    for ways in (_alone(task), _in_exchange(task)):
        for moved in ways if best is None else ():
            other, cost = task.regrouped(moved), sum(task.places_of(*who) for who in moved)
            if left <= 0 or other.locked & other.disturbed or (best is not None and cost >= best[1]):
                continue
            model = RingModel(other, Scoreboard(other.club, other.ring, other.filled), {})
            answer = model.ask(min(left, limit * EACH), other.old, None if best is None else best[1] - 1 - cost)
            left -= answer.took
            if answer.found is not None and lawful(plan := other.laid(booked, answer.found)):
                best = plan, cost + other.changes(answer.found)
    return best


def _alone(task: Task) -> Iterator[Groups]:
    """One child in another group of one session."""
    for setting in task.ring.sessions:
        for player in task.in_groups(setting.session) if setting.groups > 1 else ():
            for group in range(1, setting.groups + 1):
                if group != task.group(player, setting.session):
                    yield {(player, setting.session): group}


def _in_exchange(task: Task) -> Iterator[Groups]:
    """Two children, each in the group of the other."""
    for setting in task.ring.sessions:
        session = setting.session
        for one, other in combinations(task.in_groups(session) if setting.groups > 1 else (), 2):
            groups = task.group(one, session), task.group(other, session)
            if groups[0] != groups[1]:
                yield {(one, session): groups[1], (other, session): groups[0]}
