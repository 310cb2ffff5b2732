"""How close to the fair shares a plan is, beside the closest that counting alone allows. No solver.

Whoever has a share of k + f whole units (0 < f < 1) holds k or k + 1 of them or is even further off. So with equal
shares and a total that is held in whole units somebody is at least f and somebody at least 1 - f away: max(f, 1 - f).
For unequal shares the same by trying: the least distance at which everybody can hold a whole number of units near the
own share and the numbers add up to what was held in all. It holds for the end of the week and for every whistle.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import groupby
from math import ceil, floor, gcd

from scheduler.club.club import Club
from scheduler.plan.ledger import ROLES, Line, State, ledger, spells, whistle_states
from scheduler.plan.plan import Proof, WeekPlan
from scheduler.rotation.setting import Ring, settings

NAMED = {"attack": "attacking", "defend": "defending", "keep": "keeping goal", "rest": "resting"}


def fairness_proofs(club: Club, plan: WeekPlan) -> tuple[Proof, ...]:
    """For each ring and role that it plays: the largest distance from a fair share at any whistle, in reps.

    Beside it the bound from counting, and whether the two are equal, so that no plan with the same
    sizes, keepers and children there does better. Of keep, a rep is one stay.
    """
    lines = ledger(club, plan)
    units = _units(club, plan)
    changes: dict[str, list[State]] = {role: [] for role in ROLES}
    for state in whistle_states(club, plan):
        changes[state.role].append(state)
    found: list[Proof] = []
    for ring in settings(club, plan):
        for role in ROLES:
            mine = [line for line in lines if line.role == role and line.player in ring.players and line.bound]
            if any(line.held or line.share for line in mine):
                found.append(_proof(club, ring, changes[role], mine, units.get((ring.name, role), 1)))
    return tuple(found)


def _proof(club: Club, ring: Ring, changes: list[State], lines: list[Line], unit: int) -> Proof:
    role = lines[0].role
    furthest = max(lines, key=lambda line: line.worst / line.bound)
    value = furthest.worst / furthest.bound
    bounds = {line.player: line.bound for line in lines}
    bound = Fraction(0)
    for held, share in _states(changes, bounds):
        bound = max(bound, least_distance(held, share, bounds, unit, bound))
    return Proof(
        measure=role,
        pool=ring.name,
        value=float(value),
        bound=float(bound),
        proved=value == bound,
        unit="stays" if role == "keep" else "reps",
        text=_sentence(club, role, furthest, value, bound),
    )


def _sentence(club: Club, role: str, furthest: Line, value: Fraction, bound: Fraction) -> str:
    one = "stay" if role == "keep" else "rep"
    if not value:
        return f"{NAMED[role]}: everybody has exactly the fair share at every whistle"
    who, apart = club.called(furthest.player), f"{float(value):.2f} of a {one}"
    text = f"{NAMED[role]}: nobody is further from the fair share than {apart} at any whistle ({who})"
    if value == bound:
        return f"{text}; less is impossible by counting, with these sizes and keepers"
    return f"{text}; counting alone shows that at least {float(bound):.2f} cannot be avoided"


def _units(club: Club, plan: WeekPlan) -> dict[tuple[str, str], int]:
    """For each ring and role the minutes of which everything held is a whole number: the lengths' common divisor."""
    names = {setting.session: ring.name for ring in settings(club, plan) for setting in ring.sessions}
    units: dict[tuple[str, str], int] = {}
    for spell in spells(club, plan):
        for role in ROLES:
            key = (names[spell.whistle.session], role)
            if any(place.role == role for place in spell.places):
                units[key] = gcd(units.get(key, 0), spell.minutes)
    return units


def _states(
    changes: list[State], players: Mapping[str, Fraction]
) -> Iterator[tuple[dict[str, Fraction], dict[str, Fraction]]]:
    """After every whistle what the players hold and what their shares are, minutes; players not there yet left out."""

    held: dict[str, Fraction] = {}
    share: dict[str, Fraction] = {}
    mine = (state for state in changes if state.player in players)
    for _, states in groupby(mine, key=lambda state: (state.at.date, state.at.end)):
        for state in states:
            held[state.player], share[state.player] = state.held, state.share
        yield dict(held), dict(share)


def least_distance(
    held: Mapping[str, Fraction],
    share: Mapping[str, Fraction],
    bounds: Mapping[str, Fraction],
    unit: int,
    known: Fraction = Fraction(0),
) -> Fraction:
    """The least possible largest distance, in each player's own reps, when the same total is held in whole units.

    Where it is not above `known`, `known` is as good an answer.
    """
    total = sum(held.values(), Fraction(0)) / unit
    if total.denominator != 1:
        return Fraction(0)
    wanted = {player: fair / unit for player, fair in share.items()}
    size = {player: bounds[player] / unit for player in share}

    def enough(distance: Fraction) -> bool:
        """Whether whole units within this distance of everybody's share can add up; what is enough stays so beyond."""
        low = high = 0
        for player, fair in wanted.items():
            reach = distance * size[player]
            least, most = max(0, ceil(fair - reach)), floor(fair + reach)
            if least > most:
                return False
            low, high = low + least, high + most
        return low <= total <= high

    if enough(known):
        return known
    tries = {Fraction(0)}
    for player, fair in wanted.items():
        reach = max(2, abs(int(total) - floor(fair))) if len(wanted) == 1 else 2
        for whole in range(max(0, floor(fair) - reach), floor(fair) + reach + 2):
            tries.add(abs(fair - whole) / size[player])
    order = sorted(tries)
    place = bisect_left(order, True, key=enough)
    return order[min(place, len(order) - 1)]
