"""Every place a turn can give, and the places a plan gave. Knows no solver."""

from __future__ import annotations

from typing import NamedTuple

from scheduler.club.programme import Kind
from scheduler.plan.plan import Place, WeekPlan
from scheduler.rotation.setting import Ring, Turn


class Slot(NamedTuple):
    """One way to take part in a turn; `side` is 0 or 1: the bibs worn, of a keeper the side whose goal it is."""

    role: str
    area: int | None
    side: int | None


class Stay(NamedTuple):
    """The time one set of bibs is worn: a session (block 0), or one block of it."""

    session: str
    block: int


def slots_of(turn: Turn) -> tuple[Slot, ...]:
    """Every place a turn's practice can give; no place in goal where it has no goals."""
    if turn.kind is Kind.TOGETHER:
        return (Slot("all", None, None),)
    roles = ("play",) if turn.kind is Kind.GAME else ("attack", "defend")
    if turn.goals:
        roles = (*roles, "keep")
    areas = range(1, turn.areas + 1)
    return (
        *(Slot(role, area, side) for role in roles for area in areas for side in (0, 1)),
        Slot("rest", None, 0),
        Slot("rest", None, 1),
    )


def places_at(plan: WeekPlan, turn: Turn) -> tuple[Place, ...]:
    """The places a plan gives in one turn; none where the plan has no such rep."""
    planned = plan.by_session.get(turn.session)
    for block in planned.blocks if planned else ():
        if block.block == turn.block:
            for station in block.stations:
                if station.station == turn.station:
                    return next((rep.places for rep in station.reps if rep.rep == turn.rep), ())
    return ()


def groups_in(plan: WeekPlan, ring: Ring) -> dict[tuple[str, str], int]:
    """Who is in which group in a plan, by (player, session): the group of the player's first place."""
    found: dict[tuple[str, str], int] = {}
    for turn in ring.turns:
        for place in places_at(plan, turn):
            found.setdefault((place.player, turn.session), place.group)
    return found
