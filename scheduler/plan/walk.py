"""Walking through a finished plan, rep by rep."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from scheduler.plan.plan import Block, Place, PlannedSession, Rep, Station, WeekPlan


class Spot(NamedTuple):
    """One rep at one station of a plan."""

    planned: PlannedSession
    block: Block
    station: Station
    rep: Rep

    @property
    def words(self) -> str:
        """`Herons 1, block 2, rep 3`, with the station where there are several."""
        station = f", station {self.station.station}" if len(self.block.stations) > 1 else ""
        return f"{self.planned.session}, block {self.block.block}{station}, rep {self.rep.rep}"

    def holding(self, *roles: str) -> tuple[Place, ...]:
        """The places of these roles."""
        return tuple(place for place in self.rep.places if place.role in roles)


def spots(plan: WeekPlan) -> Iterator[Spot]:
    """Every rep of every station, in the order of the plan."""
    for planned in plan.sessions:
        yield from spots_of(planned)


def spots_of(planned: PlannedSession) -> Iterator[Spot]:
    """Every rep of every station of one session."""
    for block in planned.blocks:
        for station in block.stations:
            for rep in station.reps:
                yield Spot(planned, block, station, rep)
