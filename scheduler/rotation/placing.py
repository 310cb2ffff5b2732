"""A draft written out as the places of a plan."""

from __future__ import annotations

from typing import Literal

from scheduler.plan.plan import Place
from scheduler.rotation.draft import ATTACK, DEFEND, PLAY, REST, Draft, Lineup
from scheduler.rotation.setting import Turn

NAMES: dict[int, Literal["attack", "defend", "rest", "play"]] = {
    ATTACK: "attack",
    DEFEND: "defend",
    REST: "rest",
    PLAY: "play",
}


def places_of(draft: Draft) -> dict[tuple[str, int, int, int], list[Place]]:
    """Every turn's places by (session, block, station, rep), together turns included."""
    filled = {lineup.turn.key: lineup for lineup in draft.lineups}
    return {turn.key: _places(draft, turn, filled.get(turn.key)) for turn in draft.ring.turns}


def _places(draft: Draft, turn: Turn, lineup: Lineup | None) -> list[Place]:
    found = []
    sides = draft.ring.setting(turn.session).sides
    for player in draft.here(turn):
        name = draft.names[player]
        group = draft.group(name, turn.session)
        if lineup is None:
            found.append(Place(player=name, group=group, role="all"))
        elif player in lineup.keepers:
            area, goal = lineup.keepers[player]
            found.append(Place(player=name, group=group, area=area, side=sides[goal], role="keep"))
        else:
            role, side = lineup.role[player], sides[draft.sides[lineup.stay][player]]
            area_or_none = None if role == REST else lineup.area[player]
            found.append(Place(player=name, group=group, area=area_or_none, side=side, role=NAMES[role]))
    return found
