"""The pair figure of a ring with its bound from counting alone: how near the mixing is to the best there can be."""

from __future__ import annotations

from itertools import combinations
from typing import NamedTuple

from scheduler.plan.plan import Place, Proof, WeekPlan
from scheduler.rotation.pair_bounds import figure, overlap_bound, spread_bound
from scheduler.rotation.setting import FIELD, OUTFIELD, Ring, Turn
from scheduler.rotation.slots import places_at

MEASURE = "pairs meeting again"


class _Rep(NamedTuple):
    """One turn: its stay, the cells (players side by side) of each side, and who is there by own side."""

    stay: tuple[str, int]
    cells: tuple[tuple[tuple[str, ...], ...], tuple[tuple[str, ...], ...]]
    here: tuple[frozenset[str], frozenset[str]]
    everybody: frozenset[str]


def _rep(ring: Ring, turn: Turn, places: tuple[Place, ...], own: dict[str, int]) -> _Rep:
    setting = ring.setting(turn.session)
    cells: tuple[dict[tuple[str, int | None], list[str]], dict[tuple[str, int | None], list[str]]] = ({}, {})
    for place in places:
        if place.role in OUTFIELD and place.side in setting.sides:
            cells[setting.sides.index(place.side)].setdefault((place.role, place.area), []).append(place.player)
    everybody = frozenset(place.player for place in places)
    first, second = (frozenset(p for p in everybody if own.get(p) == side) for side in (0, 1))
    named = tuple(tuple(tuple(sorted(mates)) for mates in side.values()) for side in cells)
    return _Rep(_stay(ring, turn), (named[0], named[1]), (first, second), everybody)


def _stay(ring: Ring, turn: Turn) -> tuple[str, int]:
    return turn.session, turn.block if ring.setting(turn.session).bibs_stay == "block" else 0


def _reps(plan: WeekPlan, ring: Ring) -> list[_Rep]:
    turns = [(turn, places_at(plan, turn)) for turn in ring.turns if turn.has_roles]
    own: dict[tuple[str, int], dict[str, int]] = {}
    for turn, places in turns:
        names = ring.setting(turn.session).sides
        for place in places:
            if place.role in FIELD and place.side in names:
                own.setdefault(_stay(ring, turn), {}).setdefault(place.player, names.index(place.side))
    return [_rep(ring, turn, places, own.get(_stay(ring, turn), {})) for turn, places in turns]


def pair_figure(plan: WeekPlan, ring: Ring) -> int:
    """The sum over pairs of c(c - 1)/2, c being how often the two stand in one area, in one role, on one side."""
    return _figure(_reps(plan, ring))


def _figure(reps: list[_Rep]) -> int:
    met: dict[tuple[str, str], int] = {}
    for rep in reps:
        for mates in (*rep.cells[0], *rep.cells[1]):
            for pair in combinations(mates, 2):
                met[pair] = met.get(pair, 0) + 1
    return figure(met.values())


def pair_bound(plan: WeekPlan, ring: Ring) -> int:
    """The least figure of any rotation with the plan's numbers: sizes, rests and how many of each side are there."""
    return _bound(_reps(plan, ring))


def _bound(reps: list[_Rep]) -> int:
    within = between = 0
    stays = list(dict.fromkeys(rep.stay for rep in reps))
    mates = meetings = 0
    for stay in stays:
        mine = [rep for rep in reps if rep.stay == stay]
        for side in (0, 1):
            met = sum(len(cell) * (len(cell) - 1) // 2 for rep in mine for cell in rep.cells[side])
            together = len({pair for rep in mine for pair in combinations(sorted(rep.here[side]), 2)})
            overlap = sum(_overlap(one, two, side) for one, two in combinations(mine, 2))
            within += max(spread_bound(met, together), overlap)
            meetings += met
            mates += together
    for one, two in combinations(reps, 2):
        if one.stay != two.stay:
            between += _overlap_all(one, two)
    everybody = {pair for rep in reps for pair in combinations(sorted(rep.everybody), 2)}
    return max(within + between, spread_bound(meetings, min(mates, len(everybody))))


def _overlap(one: _Rep, two: _Rep, side: int) -> int:
    here = len(one.here[side]), len(two.here[side]), len(one.here[side] & two.here[side])
    return overlap_bound([len(cell) for cell in one.cells[side]], [len(cell) for cell in two.cells[side]], here)


def _overlap_all(one: _Rep, two: _Rep) -> int:
    here = len(one.everybody), len(two.everybody), len(one.everybody & two.everybody)
    return overlap_bound(
        [len(cell) for side in one.cells for cell in side], [len(cell) for side in two.cells for cell in side], here
    )


def pair_proofs(plan: WeekPlan, ring: Ring) -> tuple[Proof, ...]:
    """The figure of a ring as a proof a coach can read; none where nobody ever stands beside anybody."""
    reps = _reps(plan, ring)
    value, bound = _figure(reps), _bound(reps)
    if not any(len(cell) > 1 for rep in reps for side in rep.cells for cell in side):
        return ()
    proved = value == bound
    if proved:
        text = f"pairs meet again {value} times in all, the fewest possible with these sides and sizes"
    else:
        over = value - bound
        text = (
            f"pairs meet again {value} times in all; counting alone rules out fewer than {bound}, "
            f"so at most {over} fewer {'is' if over == 1 else 'are'} possible with these sides and sizes"
        )
    return (
        Proof(measure=MEASURE, pool=ring.name, value=float(value), bound=float(bound), proved=proved,
              unit="meetings", text=text),
    )  # fmt: skip
