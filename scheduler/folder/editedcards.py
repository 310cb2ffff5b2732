"""Rotation cards as edited by hand, read back cell by cell into places."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from scheduler.club.programme import Kind
from scheduler.folder.cells import Sheets, listed_names
from scheduler.folder.people import sides_worn
from scheduler.folder.slots import is_shown, slot_rows
from scheduler.folder.whistle import STAYS
from scheduler.plan.plan import Block, Place, PlannedSession, Rep, Station

RepKey = tuple[int, int, int]  # block, station, rep
AREA, REST = 1, 5
COLUMN = {"attack": 2, "defend": 3, "keep": 4, "play": 2}
_BLOCK, _REP = re.compile(r"Block (\d+)\b"), re.compile(r"Rep (\d+)\b")


@dataclass
class CardReader:
    """Reads the cards of one session. `names`: ids by card name; `areas`: kind and number of areas by practice."""

    sheets: Sheets
    planned: PlannedSession
    names: Mapping[str, str]
    areas: Mapping[str, Any]
    found: dict[RepKey, tuple[Place, ...]] = field(default_factory=dict)
    where: dict[RepKey, str] = field(default_factory=dict)

    def read(self, sheet: str, stations: Mapping[str, int]) -> None:
        """Read one sheet; `stations` says for each block at which station the card's group is."""
        if not self.sheets.has(sheet):
            self.sheets.fault(sheet, 0, 0, "the sheet is missing; write the timetable again and edit that one")
            return
        for block, station, rep, row, end in self._reps(sheet, stations):
            places = self._places(sheet, block, station, rep, row, end)
            key = (block.block, station.station, rep.rep)
            if places == rep.places and key in self.found:
                continue
            before = self.found.get(key, rep.places)
            if before not in (rep.places, places):
                text = f"this rep also stands on the sheet {self.where[key]}, edited otherwise; make the two alike"
                self.sheets.fault(sheet, row, 0, text)
            self.found[key], self.where[key] = places, sheet

    def _reps(self, sheet: str, stations: Mapping[str, int]) -> Iterator[tuple[Block, Station, Rep, int, int]]:
        """Each rep on a sheet with its first row and the row after its last, found by the words in the first column."""
        blocks = {block.block: block for block in self.planned.blocks}
        rows, _ = self.sheets.size(sheet)
        heads: list[tuple[int, str, int]] = []
        for row in range(rows):
            first = next(iter(self.sheets.lines(sheet, row, 0)), "")
            for kind, pattern in (("block", _BLOCK), ("rep", _REP)):
                if match := pattern.match(first):
                    heads.append((row, kind, int(match[1])))
        block: Block | None = None
        for number, (row, kind, value) in enumerate(heads):
            if kind == "block":
                block = blocks.get(value)
            if block is None:
                self.sheets.fault(sheet, row, 0, "the session has no such block; leave the headings as they were")
                continue
            if kind == "rep":
                station = next((s for s in block.stations if s.station == stations.get(str(block.block))), None)
                rep = next((r for r in station.reps if r.rep == value), None) if station else None
                if station is None or rep is None:
                    self.sheets.fault(sheet, row, 0, "the block has no such rep; leave the headings as they were")
                    continue
                end = heads[number + 1][0] if number + 1 < len(heads) else rows
                yield block, station, rep, row, end

    def _places(self, sheet: str, block: Block, station: Station, rep: Rep, row: int, end: int) -> tuple[Place, ...]:
        kind, areas = Kind(self.areas[station.practice][0]), int(self.areas[station.practice][1])
        if kind is Kind.TOGETHER:
            return rep.places
        if self.sheets.text(sheet, row, AREA + 1) == STAYS:
            return self._as_before(block, station, rep)
        shown = {player: name for name, player in self.names.items()}
        read: list[Place] = []
        cells: dict[str, tuple[int, int]] = {}
        at = row
        for slot in slot_rows(rep.places, areas, kind, self.planned.sides, shown):
            at = next((line for line in range(at, end) if self.sheets.text(sheet, line, AREA) == slot.label), -1)
            if at < 0:
                text = f"the row '{slot.label}' of this rep is missing; leave the labels beside the names as they were"
                self.sheets.fault(sheet, row, AREA, text)
                return rep.places
            for role, side, _ in slot.cells:
                for player in self._players(sheet, at, COLUMN[role], cells):
                    read.append(self._place(rep, player, slot.area, side, role, kind))
            at += 1
        for player in self._players(sheet, row, REST, cells):
            read.append(self._place(rep, player, None, None, "rest", kind))
        order = {place.player: number for number, place in enumerate(rep.places)}
        read += [place for place in rep.places if not is_shown(place, kind) and place.player not in cells]
        return tuple(sorted(read, key=lambda place: order.get(place.player, len(order))))

    def _as_before(self, block: Block, station: Station, rep: Rep) -> tuple[Place, ...]:
        """The places of a rep on one line, in which everybody stays: those read for the rep above it."""
        number = station.reps.index(rep)
        before = station.reps[number - 1] if number else rep
        read = self.found.get((block.block, station.station, before.rep), before.places)
        return rep.places if read == before.places else read

    def _players(self, sheet: str, row: int, column: int, cells: dict[str, tuple[int, int]]) -> list[str]:
        found, strange = listed_names(self.sheets.listed(sheet, row, column), list(self.names))
        for word in strange:
            some = ", ".join(list(self.names)[:4])
            text = f"'{word}' is no child of this session; write the names as on the card, such as {some}"
            self.sheets.fault(sheet, row, column, text)
        players = []
        for name in found:
            player = self.names[name]
            if player in cells:
                self.sheets.fault(sheet, row, column, f"{name} stands twice in this rep; each child has one place")
                continue
            cells[player] = (row, column)
            players.append(player)
        return players

    def _place(self, rep: Rep, player: str, area: int | None, side: str | None, role: Any, kind: Kind) -> Place:
        """The place as it was where it still stands there, else a new one with the side of the cell."""
        was = next((place for place in rep.places if place.player == player), None)
        if was is not None and was.role == role:
            same_side = kind is Kind.PART or was.side == side
            if role == "rest" or (was.area == area and same_side):
                return was
        worn = sides_worn([(block, station) for block in self.planned.blocks for station in block.stations])
        group = was.group if was is not None else self._group(player)
        return Place(player=player, group=group, area=area, side=side or worn.get(player), role=role)

    def _group(self, player: str) -> int:
        for block in self.planned.blocks:
            for station in block.stations:
                for rep in station.reps:
                    for place in rep.places:
                        if place.player == player:
                            return place.group
        return 1


def with_edits(planned: PlannedSession, found: Mapping[RepKey, tuple[Place, ...]]) -> PlannedSession:
    """The session with the places read; children written in from elsewhere are added to those who come."""
    blocks = tuple(
        block.model_copy(update={"stations": tuple(
            station.model_copy(update={"reps": tuple(
                rep.model_copy(update={"places": found.get((block.block, station.station, rep.rep), rep.places)})
                for rep in station.reps
            )})
            for station in block.stations
        )})
        for block in planned.blocks
    )  # fmt: skip
    placed = dict.fromkeys(p.player for b in blocks for s in b.stations for r in s.reps for p in r.places)
    players = (*planned.players, *(player for player in placed if player not in planned.players))
    return planned.model_copy(update={"blocks": blocks, "players": players})
