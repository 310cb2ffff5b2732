"""What it costs children of two sessions that these are held elsewhere, beside distance in the model of slots."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from scheduler.booking.slots import Slot
from scheduler.plan.plan import PlannedSession
from scheduler.solver import cp_model

PASSED, MET = 5_000, 10_000  # for each child of two sessions that come in another order, or that are on one day

ByDate = Mapping[dt.date, Sequence[cp_model.IntVar]]


def children_of_two(
    model: cp_model.CpModel, sessions: Sequence[PlannedSession], at: Mapping[str, Mapping[Slot, cp_model.IntVar]]
) -> Iterator[cp_model.LinearExpr]:
    """A term for every two sessions with children in common.

    On one day a child misses one of them. In another order the shares at their whistles are others, so that places
    change; that order is looked at by days alone.
    """
    ordered = sorted(sessions, key=lambda one: (one.date, one.start))
    who = {one.session: frozenset(one.players) for one in ordered}
    on = {one.session: _by_date(at[one.session]) for one in ordered}
    for first, last in combinations((one.session for one in ordered), 2):
        both = len(who[first] & who[last])
        if both:
            yield both * (PASSED * _passed(model, on[first], on[last]) + MET * _met(model, on[first], on[last]))


def _by_date(at: Mapping[Slot, cp_model.IntVar]) -> ByDate:
    found: dict[dt.date, list[cp_model.IntVar]] = {}
    for slot, literal in at.items():
        found.setdefault(slot.date, []).append(literal)
    return found


def _passed(model: cp_model.CpModel, first: ByDate, last: ByDate) -> cp_model.IntVar:
    """Whether the first is on a later day than the last: for some day it is no sooner, the other sooner."""
    passed = model.new_bool_var("")
    for date in first:
        late = [literal for day, literals in first.items() if day >= date for literal in literals]
        early = [literal for day, literals in last.items() if day < date for literal in literals]
        if early:
            model.add(cp_model.LinearExpr.sum([*late, *early]) - 1 <= passed)
    return passed


def _met(model: cp_model.CpModel, first: ByDate, last: ByDate) -> cp_model.IntVar:
    """Whether both are on one day."""
    met = model.new_bool_var("")
    for date in first:
        if date in last:
            model.add(cp_model.LinearExpr.sum([*first[date], *last[date]]) - 1 <= met)
    return met
