"""The plan as it may travel in a shared file: players by a key that tells nothing, reasons left out."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from functools import lru_cache

from scheduler.plan.plan import PlannedSession, WeekPlan

_KEYS = uuid.UUID("6f0f5f0e-9d0c-5c59-a7ff-8d1c2b6a4f10")
WITHHELD = "see the welfare file"


@lru_cache(maxsize=4096)
def player_key(player: str) -> str:
    """A short key worked out from a player's id, which may be a full name."""
    return uuid.uuid5(_KEYS, player).hex[:12]


def withheld(plan: WeekPlan) -> WeekPlan:
    """The plan with players as keys, without the reasons of stand-downs and without wishes."""
    shared = _renamed(plan, player_key)
    sessions = tuple(
        planned.model_copy(
            update={"stood_down": tuple(d.model_copy(update={"why": WITHHELD}) for d in planned.stood_down)}
        )
        for planned in shared.sessions
    )
    return shared.model_copy(update={"sessions": sessions, "unmet": ()})


def restored(plan: WeekPlan, players: Mapping[str, str]) -> WeekPlan:
    """The plan with keys turned back into players by id; KeyError where a key is not known."""
    return _renamed(plan, lambda key: players[key])


def _renamed(plan: WeekPlan, name: Callable[[str], str]) -> WeekPlan:
    news = tuple(
        row.model_copy(update={"about": name(row.about)}) if row.kind in ("absent", "here") else row
        for row in plan.news
    )
    return plan.model_copy(
        update={"sessions": tuple(_session(planned, name) for planned in plan.sessions), "news": news}
    )


def _session(planned: PlannedSession, name: Callable[[str], str]) -> PlannedSession:
    blocks = tuple(
        block.model_copy(update={"stations": tuple(
            station.model_copy(update={"reps": tuple(
                rep.model_copy(update={"places": tuple(
                    place.model_copy(update={"player": name(place.player)}) for place in rep.places
                )})
                for rep in station.reps
            )})
            for station in block.stations
        )})
        for block in planned.blocks
    )  # fmt: skip
    return planned.model_copy(
        update={
            "players": tuple(name(player) for player in planned.players),
            "stood_down": tuple(d.model_copy(update={"player": name(d.player)}) for d in planned.stood_down),
            "blocks": blocks,
        }
    )
