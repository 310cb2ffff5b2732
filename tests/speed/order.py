"""The strict order of the wishes as weights of one sum, and what a plan pays by its audit: shared by every way."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import prod
from typing import Any

from ortools.sat.python import cp_model

from constraints import RULES
from scheduler.audit import audit
from scheduler.booking.model import BookingModel
from scheduler.club.club import Club
from scheduler.contract import is_booking_rule
from scheduler.plan.plan import WeekPlan
from scheduler.priorities import BOOKING_ORDER

BOOKING_RULES = tuple(rule for rule in RULES if is_booking_rule(rule))
Costs = dict[str, Any]
Value = Callable[[Any], int]


@dataclass(frozen=True)
class Judged:
    """What the audit says of a booking: what every wish costs, and the rule of every breach."""

    wishes: dict[str, int]
    breaches: tuple[str, ...]


def judged(club: Club, plan: WeekPlan) -> Judged:
    """Judge a booking by its structure and every rule of the booking."""
    found = audit(club, plan, BOOKING_RULES, with_roles=False)
    paid = found.paid()
    return Judged({w: int(paid[w]) for w in BOOKING_ORDER if w in paid}, tuple(one.rule for one in found.breaches))


def vector(wishes: Mapping[str, float]) -> tuple[float, ...]:
    """What the wishes cost in the order of priorities: of two plans the one whose vector is less is the better."""
    return tuple(wishes.get(wish, 0) for wish in BOOKING_ORDER)


def near(one: Sequence[float], best: Sequence[float], part: float = 0.01) -> bool:
    """Whether a plan pays at most `part` more than the best, for the first wish in which it pays more."""
    for mine, least in zip(one, best, strict=True):
        if mine != least:
            return mine <= least * (1 + part)
    return True


def costs(booking: BookingModel) -> Costs:
    """What each wish costs in a model, in the order of priorities; wishes that can cost nothing are left out."""
    found: dict[str, list[Any]] = {}
    for penalty in booking.penalties:
        found.setdefault(penalty.wish, []).append(penalty.amount * penalty.term)
    summed = {wish: cp_model.LinearExpr.sum(found[wish]) for wish in BOOKING_ORDER if wish in found}
    return {wish: term for wish, term in summed.items() if most(term) > 0}


def most(term: Any) -> int:
    """The most that a linear expression could come to."""
    if isinstance(term, int):
        return term
    flat = cp_model.FlatIntExpr(term)
    ends = [list(variable.proto.domain) for variable in flat.vars]
    return int(flat.offset) + sum(
        max(factor * end[0], factor * end[-1]) for factor, end in zip(flat.coeffs, ends, strict=True)
    )


def weights(terms: Costs) -> dict[str, int]:
    """A weight for each wish, greater than all that the later ones could cost together."""
    names = list(terms)
    return {name: prod(most(terms[later]) + 1 for later in names[i + 1 :]) for i, name in enumerate(names)}


def in_groups(terms: Costs, heaviest: int) -> list[Costs]:
    """The wishes in order, as many together as keep the weights of a sum below `heaviest`."""
    groups: list[Costs] = []
    total = 1
    for wish, term in terms.items():
        total *= most(term) + 1
        if not groups or total > heaviest:
            groups.append({})
            total = 1
        groups[-1][wish] = term
    return groups


def paid(terms: Costs, value: Value) -> dict[str, int]:
    """What each wish costs in a solution."""
    return {wish: value(term) for wish, term in terms.items()}


class Solution:
    """Values of variables by number, read as a solver would be."""

    def __init__(self, values: Sequence[float]) -> None:
        self._values = values

    def value(self, term: Any) -> int:
        """The value of a variable or linear expression."""
        if isinstance(term, int):
            return term
        flat = cp_model.FlatIntExpr(term)
        parts = (f * round(self._values[v.index]) for v, f in zip(flat.vars, flat.coeffs, strict=True))
        return int(flat.offset) + sum(parts)
