"""Who plays what, put into the reps of a booked week. Knows no solver."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from scheduler.club.club import Club
from scheduler.plan.plan import Place, WeekPlan
from scheduler.rotation.setting import laid

ROLE_ORDER = ("attack", "defend", "keep", "play", "rest", "all")


def _in_order(places: Iterable[Place], order: Mapping[str, int]) -> tuple[Place, ...]:
    """Places as they stand in a rep: by area (resting last), role, then the club's order of players."""
    return tuple(sorted(places, key=lambda p: (p.area or 99, ROLE_ORDER.index(p.role), order[p.player])))


def with_places(club: Club, plan: WeekPlan, places: Mapping[tuple[str, int, int, int], Iterable[Place]]) -> WeekPlan:
    """The week with its blocks laid out and the places of (session, block, station, rep) put in, others kept."""
    order = {player.id: number for number, player in enumerate(club.players)}
    sessions = []
    for planned in plan.sessions:
        full = laid(club, planned)
        blocks = []
        for block in full.blocks:
            stations = []
            for station in block.stations:
                reps = []
                for rep in station.reps:
                    key = (planned.session, block.block, station.station, rep.rep)
                    new = _in_order(places[key], order) if key in places else rep.places
                    reps.append(rep.model_copy(update={"places": new}))
                stations.append(station.model_copy(update={"reps": tuple(reps)}))
            blocks.append(block.model_copy(update={"stations": tuple(stations)}))
        sessions.append(full.model_copy(update={"blocks": tuple(blocks)}))
    return plan.model_copy(update={"sessions": tuple(sessions)})
