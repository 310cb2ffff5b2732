"""A booked session with its blocks, stations, adults and reps laid out, every rep still without places."""

from __future__ import annotations

from scheduler.club.club import Club
from scheduler.plan.plan import Block, PlannedSession, Rep, Station
from scheduler.plan.timeline import BlockTime, groups_of, station_of, timeline, zones_of_stations


def _adults_of_groups(coaches: tuple[str, ...], groups: int) -> tuple[tuple[str, ...], ...]:
    """The adults dealt out to groups in order, the leader to the first."""
    return tuple(tuple(coaches[group::groups]) for group in range(groups))


def _adults_at(block: BlockTime, station: int, coaches: tuple[str, ...], groups: int) -> tuple[str, ...]:
    if len(block.stations) == 1:
        return coaches
    dealt = _adults_of_groups(coaches, groups)
    staying = dealt[station - 1]
    if block.stations[station - 1].coaches_stay:
        return staying
    return next(dealt[g - 1] for g in range(1, groups + 1) if station_of(block, g) == station)


def lay_blocks(club: Club, planned: PlannedSession) -> PlannedSession:
    """The session with `blocks` filled from its session plan; reps carry times and no places yet."""
    groups = groups_of(club, planned.session)
    blocks: list[Block] = []
    for block in timeline(club, planned.session):
        zones = zones_of_stations(club, block, planned.zones)
        stations = tuple(
            Station(
                station=time.station,
                practice=time.practice.id,
                zones=zones[time.station - 1],
                coaches=_adults_at(block, time.station, planned.coaches, groups),
                reps=tuple(
                    Rep(rep=number, start=planned.start + span.start, end=planned.start + span.end)
                    for number, span in enumerate(time.reps, 1)
                ),
            )
            for time in block.stations
        )
        start, end = planned.start + block.span.start, planned.start + block.span.end
        blocks.append(Block(block=block.block, start=start, end=end, stations=stations))
    return planned.model_copy(update={"blocks": tuple(blocks)})
