"""Places of one plan carried over into another booking of the same week."""

from __future__ import annotations

from scheduler.club.club import Club
from scheduler.plan.plan import Block, Place, PlannedSession, Station, WeekPlan
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


def in_bibs_of(before: WeekPlan, booked: WeekPlan) -> WeekPlan:
    """The earlier plan in the bibs of another booking: a site with other bibs changes no place."""
    sessions = []
    for old in before.sessions:
        new = booked.by_session.get(old.session)
        names = _new_names(old, new) if new is not None else {}
        if new is None or all(one == other for one, other in names.items()):
            sessions.append(old)
            continue
        blocks = tuple(
            block.model_copy(update={"stations": tuple(_renamed(station, names) for station in block.stations)})
            for block in old.blocks
        )
        sessions.append(old.model_copy(update={"sides": new.sides, "blocks": blocks}))
    return before.model_copy(update={"sessions": tuple(sessions)})


def _renamed(station: Station, names: dict[str | None, str | None]) -> Station:
    reps = tuple(
        rep.model_copy(
            update={"places": tuple(p.model_copy(update={"side": names.get(p.side, p.side)}) for p in rep.places)}
        )
        for rep in station.reps
    )
    return station.model_copy(update={"reps": reps})


def _new_names(old: PlannedSession, new: PlannedSession) -> dict[str | None, str | None]:
    if len(old.sides) != 2 or len(new.sides) != 2:
        return {}
    return dict(zip(old.sides, new.sides, strict=True))


def _carried(club: Club, old: PlannedSession, planned: PlannedSession) -> PlannedSession:
    same_ground = (old.start, old.end, old.zones, old.coaches) == (
        planned.start, planned.end, planned.zones, planned.coaches)  # fmt: skip
    laid = planned.model_copy(update={"blocks": old.blocks}) if same_ground else lay_blocks(club, planned)
    names = _new_names(old, planned)
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
