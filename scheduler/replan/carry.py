"""Places of one plan carried over into another booking of the same week."""

from __future__ import annotations

from scheduler.club.club import Club
from scheduler.plan.plan import Block, Place, PlannedSession, WeekPlan
from scheduler.plan.presence import in_rep, there
from scheduler.plan.skeleton import lay_blocks

RepAt = tuple[int, int, int]  # block, station, number


def places_at(planned: PlannedSession) -> dict[RepAt, tuple[Place, ...]]:
    """The places of every rep of a session."""
    return {
        (block.block, station.station, rep.rep): rep.places
        for block in planned.blocks
        for station in block.stations
        for rep in station.reps
    }


def carried(club: Club, before: WeekPlan, booked: WeekPlan) -> WeekPlan:
    """`booked` with the places of `before`, without those who are not there; new players have no place yet.

    A session whose hours, zones or adults changed is laid out anew; where nothing changed it is the very same.
    """
    sessions = []
    for planned in booked.sessions:
        old = before.by_session.get(planned.session)
        if old is None or not club.has("session", planned.session):
            sessions.append(lay_blocks(club, planned) if club.has("session", planned.session) else planned)
        elif planned == old:
            sessions.append(old)
        else:
            sessions.append(_carried(club, old, planned))
    return booked.model_copy(update={"sessions": tuple(sessions)})


def _carried(club: Club, old: PlannedSession, planned: PlannedSession) -> PlannedSession:
    same_ground = (old.start, old.end, old.zones, old.coaches) == (
        planned.start, planned.end, planned.zones, planned.coaches)  # fmt: skip
    laid = planned.model_copy(update={"blocks": old.blocks}) if same_ground else lay_blocks(club, planned)
    if len(planned.sides) != 2 or len(old.sides) != 2:
        names: dict[str | None, str | None] = {}
    else:
        names = dict(zip(old.sides, planned.sides, strict=True))
    places = places_at(old)
    presence = {player: there(club, planned, player) for player in planned.players}
    blocks: list[Block] = []
    for block in laid.blocks:
        stations = []
        for station in block.stations:
            practice, reps = club.practice(station.practice), []
            for rep in station.reps:
                kept = tuple(
                    place.model_copy(update={"side": names.get(place.side, place.side)})
                    for place in places.get((block.block, station.station, rep.rep), ())
                    if in_rep(presence.get(place.player, ()), practice, rep.span)
                )
                reps.append(rep.model_copy(update={"places": kept}))
            stations.append(station.model_copy(update={"reps": tuple(reps)}))
        blocks.append(block.model_copy(update={"stations": tuple(stations)}))
    return laid.model_copy(update={"blocks": tuple(blocks)})
