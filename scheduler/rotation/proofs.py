"""How close to the fair shares a plan is, beside the closest that counting alone allows. No solver.

Whoever has a share of k + f whole units (0 < f < 1) holds k or k + 1 of them or is even further off. So with equal
shares and a total that is held in whole units somebody is at least f and somebody at least 1 - f away: max(f, 1 - f).
For unequal shares the same by trying: the least distance at which everybody can hold a whole number of units near the
own share and the numbers add up to what was held in all. It holds for the end of the week and for every whistle.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Container, Iterable, Iterator, Mapping
from fractions import Fraction
from itertools import groupby
from math import gcd

from scheduler.club.club import Club
from scheduler.plan.ledger import ROLES, Line, Reckoning, State, reckoning
from scheduler.plan.plan import Proof, WeekPlan
from scheduler.rotation.setting import Ring, settings

NAMED = {"attack": "attacking", "defend": "defending", "keep": "keeping goal", "rest": "resting"}


def fairness_proofs(club: Club, plan: WeekPlan) -> tuple[Proof, ...]:
    """For each ring and role that it plays: the largest distance from a fair share at any whistle, in reps.

    Beside it the bound from counting, and whether the two are equal, so that no plan with the same
    sizes, keepers and children there does better. Of keep, a rep is one stay.
    """
    reckoned = reckoning(club, plan)
    rings = settings(club, plan)
    ring_of = {player: ring.name for ring in rings for player in ring.players}
    states: dict[tuple[str, str], list[State]] = {}
    for state in reckoned.states:
        states.setdefault((ring_of[state.player], state.role), []).append(state)
    lines: dict[tuple[str, str], list[Line]] = {}
    for line in reckoned.lines:
        if line.bound:
            lines.setdefault((ring_of[line.player], line.role), []).append(line)
    units = _units(rings, reckoned)
    found: list[Proof] = []
    for ring in rings:
        for role in ROLES:
            mine = lines.get((ring.name, role), [])
            if any(line.held or line.share for line in mine):
                unit = units.get((ring.name, role), 1)
                found.append(_proof(club, ring, states[ring.name, role], mine, unit, reckoned.scale))
    return tuple(found)


def _proof(club: Club, ring: Ring, states: list[State], lines: list[Line], unit: int, scale: int) -> Proof:
    role = lines[0].role
    furthest = max(lines, key=lambda line: line.worst / line.bound)
    value = furthest.worst / furthest.bound
    bounds = {line.player: int(line.bound) * scale for line in lines}
    bound = Fraction(0)
    for held, share in _standings(states, bounds):
        bound = max(bound, least_distance(held, share, bounds, unit * scale, bound))
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


def _units(rings: Iterable[Ring], reckoned: Reckoning) -> dict[tuple[str, str], int]:
    """For each ring and role the minutes of which everything held is a whole number: the lengths' common divisor."""
    names = {setting.session: ring.name for ring in rings for setting in ring.sessions}
    units: dict[tuple[str, str], int] = {}
    for spell in reckoned.spells:
        for role in {place.role for place in spell.places}:
            key = (names[spell.whistle.session], role)
            units[key] = gcd(units.get(key, 0), spell.minutes)
    return units


def _standings(states: Iterable[State], players: Container[str]) -> Iterator[tuple[dict[str, int], dict[str, int]]]:
    """After every whistle what the players hold and what their shares are; players not there yet left out.

    The same two dictionaries every time, brought up to date.
    """
    held: dict[str, int] = {}
    share: dict[str, int] = {}
    mine = (state for state in states if state.player in players)
    for _, changed in groupby(mine, key=lambda state: (state.at.date, state.at.end)):
        for state in changed:
            held[state.player], share[state.player] = state.held, state.share
        yield held, share


def least_distance(
    held: Mapping[str, int],
    share: Mapping[str, int],
    bounds: Mapping[str, int],
    unit: int,
    known: Fraction = Fraction(0),
) -> Fraction:
    """The least possible largest distance, in each player's own reps, when the same total is held in whole units.

    All in one measure, minutes or parts of one. Where the answer is not above `known`, `known` is as good.
    """
    total, odd = divmod(sum(held.values()), unit)
    if odd:
        return Fraction(0)
    wanted = [(fair, bounds[player]) for player, fair in share.items()]

    def enough(distance: Fraction) -> bool:
        """Whether whole units within this distance of everybody's share can add up; what is enough stays so beyond."""
        over, under = distance.numerator, distance.denominator
        whole = unit * under
        low = high = 0
        for fair, size in wanted:
            middle, reach = fair * under, size * over
            least, most = max(0, -((reach - middle) // whole)), (middle + reach) // whole
            if least > most:
                return False
            low, high = low + least, high + most
        return low <= total <= high

    if enough(known):
        return known
    tries = {Fraction(0)}
    for fair, size in wanted:
        nearest = int(fair // unit)
        reach = max(2, abs(total - nearest)) if len(wanted) == 1 else 2
        tries.update(Fraction(abs(fair - whole * unit), size)
                     for whole in range(max(0, nearest - reach), nearest + reach + 2))  # fmt: skip
    order = sorted(tries)
    place = bisect_left(order, True, key=enough)
    return order[min(place, len(order) - 1)]
