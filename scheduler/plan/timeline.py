"""A session plan laid out on the clock: blocks, stations and reps in minutes from the session's start."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from scheduler.club.club import Club
from scheduler.club.programme import Kind, PlanRow, Practice
from scheduler.club.when import Span

Rows = tuple[tuple[PlanRow, ...], ...]


@dataclass(frozen=True)
class StationTime:
    """One station of a block; `reps` are minutes from the session's start."""

    station: int
    practice: Practice
    reps: tuple[Span, ...]
    coaches_stay: bool = True


@dataclass(frozen=True)
class BlockTime:
    """One block; `turn` says how many blocks in a row with the same stations came before (groups move round)."""

    block: int
    label: str
    span: Span
    stations: tuple[StationTime, ...]
    turn: int = 0


def reps_that_fit(minutes: int, rep: int, changeover: int) -> int:
    """How many reps fit into a block: `(Minutes + Changeover) // (Rep + Changeover)`."""
    return (minutes + changeover) // (rep + changeover)


def _reps(practice: Practice, row: PlanRow, start: int) -> tuple[Span, ...]:
    if practice.kind is Kind.TOGETHER or practice.rep is None:
        return (Span(start, start + row.minutes),)
    count = row.reps or reps_that_fit(row.minutes, practice.rep, practice.changeover)
    stride = practice.rep + practice.changeover
    return tuple(Span(start + i * stride, start + i * stride + practice.rep) for i in range(count))


def plan_rows(club: Club, plan: str) -> Rows:
    """The rows of a session plan, block by block in the order of their first rows."""
    blocks: dict[str, list[PlanRow]] = {}
    for row in club.plans:
        if row.plan == plan:
            blocks.setdefault(row.block, []).append(row)
    return tuple(tuple(rows) for rows in blocks.values())


@lru_cache(maxsize=4096)
def _lay_out(rows: Rows, practices: tuple[tuple[str, Practice], ...]) -> tuple[BlockTime, ...]:
    library = dict(practices)
    blocks: list[BlockTime] = []
    start = 0
    for number, block in enumerate(rows, 1):
        minutes = max(row.minutes for row in block)
        stations = tuple(
            StationTime(index, library[row.practice], _reps(library[row.practice], row, start), row.coaches_stay)
            for index, row in enumerate(block, 1)
        )
        names = [station.practice.id for station in stations]
        before = blocks[-1] if blocks else None
        same = before is not None and len(names) > 1 and [s.practice.id for s in before.stations] == names
        turn = before.turn + 1 if same and before is not None else 0
        blocks.append(BlockTime(number, block[0].block, Span(start, start + minutes), stations, turn))
        start += minutes
    return tuple(blocks)


_last_club: list[tuple[Club, dict[str, tuple[BlockTime, ...]]]] = []


def timeline(club: Club, session: str) -> tuple[BlockTime, ...]:
    """The blocks of a session, minutes from its start; blocks follow without a gap, spare minutes at the end.

    Clubs are frozen, so what was laid out for the very same one serves again.
    """
    if not _last_club or _last_club[0][0] is not club:
        _last_club[:] = [(club, {})]
    known = _last_club[0][1]
    if session not in known:
        known[session] = _timeline(club, session)
    return known[session]


def _timeline(club: Club, session: str) -> tuple[BlockTime, ...]:
    rows = plan_rows(club, club.session(session).plan)
    used = tuple(dict.fromkeys(row.practice for block in rows for row in block))
    return _lay_out(rows, tuple((name, club.practice(name)) for name in used))


def groups_of(club: Club, session: str) -> int:
    """How many groups a session forms: the most stations that stand side by side."""
    return max((len(block.stations) for block in timeline(club, session)), default=1)


def station_of(block: BlockTime, group: int) -> int:
    """The station (from 1) where a group (from 1) is in a block; groups move on by one station a turn."""
    count = len(block.stations)
    return (group - 1 + block.turn) % count + 1 if count > 1 else 1


def zones_of_stations(club: Club, block: BlockTime, zones: tuple[int, ...]) -> tuple[tuple[int, ...], ...]:
    """The zones of each station of a block: one station has all; side by side they share them out in order.

    A station gets `zones per area` x areas where given; stations that do not fill a zone share one, in order.
    """
    count = len(block.stations)
    if count == 1:
        return (zones,)
    wants = [(s.practice.zones_per_area or 0) * s.practice.areas for s in block.stations]
    if all(wants) and sum(wants) <= len(zones):
        bounds = [sum(wants[:i]) for i in range(count + 1)]
        return tuple(zones[bounds[i] : bounds[i + 1]] for i in range(count))
    if len(zones) >= count:
        cuts = [i * len(zones) // count for i in range(count + 1)]
        return tuple(zones[cuts[i] : cuts[i + 1]] for i in range(count))
    return tuple((zones[i * len(zones) // count],) for i in range(count))
