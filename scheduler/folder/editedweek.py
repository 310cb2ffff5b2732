"""The sheet Week as edited by hand: boxes moved to other rows or columns, or given another time."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from typing import Any, NamedTuple

from scheduler.club.when import parse_hhmm
from scheduler.errors import Fault
from scheduler.folder.cells import Sheets, cell_name
from scheduler.folder.moves import Move
from scheduler.folder.weeksheet import FIRST_COLUMN
from scheduler.plan.names import plain
from scheduler.plan.plan import PlannedSession, WeekPlan

_TIME = re.compile(r",\s*(\d{1,2}[:.]\d{2})\s*[-\u2013]")


class _Box(NamedTuple):
    row: int
    column: int
    height: int
    text: str


def read_week(sheets: Sheets, memory: Mapping[str, Any], base: WeekPlan) -> dict[str, Move]:
    """The sessions whose box stands elsewhere or shows another start, with the cell that says so."""
    week = memory["week"]
    sheet = week["sheet"]
    if not sheets.has(sheet):
        sheets.fault(sheet, 0, 0, "the sheet is missing; write the timetable again and edit that one")
        return {}
    known = {planned.session: planned for planned in base.sessions if planned.session in week["drawn"]}
    found: dict[str, Move] = {}
    seen: set[str] = set()
    for box in _boxes(sheets, sheet, week):
        planned = _session(box.text, known)
        if planned is None or planned.session in seen:
            wrong = "a second box of that session" if planned else "no session of this plan"
            text = f"'{box.text}' is {wrong}; keep one box for each session, its name first"
            sheets.fault(sheet, box.row, box.column, text)
            continue
        seen.add(planned.session)
        move = _move(sheets, sheet, week, box, planned)
        if move is not None and move.moves(planned):
            found[planned.session] = move
    for session in known:
        if session not in seen:
            text = f"the box of {plain(session)} is missing; put it back, and call a session off with replan"
            sheets.fault(sheet, int(week["top"]), FIRST_COLUMN, text)
    return found


def _boxes(sheets: Sheets, sheet: str, week: Mapping[str, Any]) -> list[_Box]:
    merged = sheets.merged(sheet)
    boxes = []
    for row in range(int(week["top"]), int(week["top"]) + len(week["rows"])):
        for column in range(FIRST_COLUMN, FIRST_COLUMN + int(week["columns"])):
            text = sheets.text(sheet, row, column)
            if text:
                last, _ = merged.get((row, column), (row, column))
                boxes.append(_Box(row, column, last - row + 1, text))
    return boxes


def _session(text: str, known: Mapping[str, PlannedSession]) -> PlannedSession | None:
    """The session a box begins with; the longest name that fits."""
    fits = [
        planned
        for planned in known.values()
        if text == plain(planned.session) or text.startswith(f"{plain(planned.session)},")
    ]
    return max(fits, key=lambda planned: len(planned.session), default=None)


def _move(sheets: Sheets, sheet: str, week: Mapping[str, Any], box: _Box, planned: PlannedSession) -> Move | None:
    rows, top = week["rows"], int(week["top"])
    day, pitch, first = rows[box.row - top]
    column = int(week["first"]) + (box.column - FIRST_COLUMN) * int(week["step"])
    height = len(planned.zones) if box.height in (1, len(planned.zones)) else box.height
    covered = [tuple(row) for row in rows[box.row - top : box.row - top + height]]
    if len(covered) < height or any((row[0], row[1]) != (day, pitch) for row in covered):
        text = f"{plain(planned.session)} needs {height} zones of one pitch on one day from here; move its box higher"
        sheets.fault(sheet, box.row, box.column, text)
        return None
    zones = tuple(range(int(first), int(first) + height))
    start = _start(sheets, sheet, box, planned, column)
    if start is None:
        return None
    where = f"{sheet}!{cell_name(box.row, box.column)}"
    end = start + planned.end - planned.start
    return Move(dt.date.fromisoformat(day), start, end, str(pitch), zones, planned.coaches, where)


def _start(sheets: Sheets, sheet: str, box: _Box, planned: PlannedSession, column: int) -> int | None:
    """The start a box shows by where it stands or by the time in it; None and a fault where the two disagree."""
    match = _TIME.search(box.text, len(plain(planned.session)))
    try:
        written = parse_hhmm(match[1]) if match else planned.start
    except ValueError:
        sheets.fault(sheet, box.row, box.column, f"'{match[1] if match else ''}' is no time of day; write 18:00")
        return None
    if written == planned.start or written == column:
        return column
    if column == planned.start:
        return written
    text = f"{plain(planned.session)} stands in another column than the time in it says; change one of them"
    sheets.faults.append(Fault(f"{sheet}!{cell_name(box.row, box.column)}", text))
    return None
