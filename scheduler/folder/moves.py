"""A session moved by hand: to another day, hour, pitch or zones, or to other adults."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace

from scheduler.club.club import Club
from scheduler.plan.plan import Block, PlannedSession, Station
from scheduler.plan.skeleton import lay_blocks


@dataclass(frozen=True)
class Move:
    """Where a session is to stand now, and the cell that says so."""

    date: dt.date
    start: int
    end: int
    pitch: str
    zones: tuple[int, ...]
    coaches: tuple[str, ...]
    where: str

    @property
    def place(self) -> tuple[dt.date, int, int, str, tuple[int, ...]]:
        """Day, start, end, pitch and zones."""
        return self.date, self.start, self.end, self.pitch, self.zones

    def moves(self, planned: PlannedSession) -> bool:
        """Whether day, start, end, pitch or zones differ."""
        return self.place != stands(planned)

    def differs(self, planned: PlannedSession) -> bool:
        """Whether anything differs, the adults included."""
        return self.moves(planned) or self.coaches != planned.coaches

    def with_coaches(self, coaches: tuple[str, ...]) -> Move:
        """The same place with other adults."""
        return replace(self, coaches=coaches)


def stands(planned: PlannedSession) -> tuple[dt.date, int, int, str, tuple[int, ...]]:
    """Day, start, end, pitch and zones of a planned session."""
    return planned.date, planned.start, planned.end, planned.pitch, planned.zones


def moved(planned: PlannedSession, move: Move, club: Club | None) -> PlannedSession:
    """The session where it stands now, with its blocks, reps, stand-downs and adults moved along."""
    shift = move.start - planned.start
    placed = planned.model_copy(
        update={
            "date": move.date, "start": move.start, "end": move.end, "pitch": move.pitch, "zones": move.zones,
            "coaches": move.coaches,
            "stood_down": tuple(
                down.model_copy(update={"start": down.start + shift, "end": down.end + shift})
                for down in planned.stood_down
            ),
        }
    )  # fmt: skip
    laid = _zones_laid(placed, planned, club)
    blocks = tuple(_block(block, shift, laid, planned, move.coaches) for block in planned.blocks)
    return placed.model_copy(update={"blocks": blocks})


def _zones_laid(placed: PlannedSession, planned: PlannedSession,
                club: Club | None) -> Mapping[tuple[int, int], tuple[int, ...]]:  # fmt: skip
    """The zones of each (block, station): as before, counted from the first zone; anew where their number changed."""
    if len(placed.zones) == len(planned.zones):
        now = dict(zip(planned.zones, placed.zones, strict=True))
        return {
            (block.block, station.station): tuple(now.get(zone, zone) for zone in station.zones)
            for block in planned.blocks
            for station in block.stations
        }
    if club is not None and club.has("session", placed.session):
        laid = lay_blocks(club, placed).blocks
        return {(block.block, station.station): station.zones for block in laid for station in block.stations}
    return {(block.block, station.station): placed.zones for block in planned.blocks for station in block.stations}


def _block(block: Block, shift: int, laid: Mapping[tuple[int, int], tuple[int, ...]], planned: PlannedSession,
           coaches: tuple[str, ...]) -> Block:  # fmt: skip
    stations = tuple(
        station.model_copy(
            update={
                "zones": laid.get((block.block, station.station), station.zones),
                "coaches": _adults(station, planned.coaches, coaches),
                "reps": tuple(
                    rep.model_copy(update={"start": rep.start + shift, "end": rep.end + shift}) for rep in station.reps
                ),
            }
        )
        for station in block.stations
    )
    update = {"start": block.start + shift, "end": block.end + shift, "stations": stations}
    return block.model_copy(update=update)


def _adults(station: Station, before: tuple[str, ...], after: tuple[str, ...]) -> tuple[str, ...]:
    """The adults of a station: all where all were there; else whoever comes takes the place of whoever left."""
    if before == after:
        return station.coaches
    if set(station.coaches) == set(before):
        return after
    left = [coach for coach in before if coach not in after]
    came = [coach for coach in after if coach not in before]
    instead = dict(zip(left, came, strict=False))
    kept = [instead.get(coach, coach) for coach in station.coaches]
    return tuple(coach for coach in kept if coach in after)
