"""A timetable.xlsx as edited by hand, read back into a plan: names on cards, sessions moved on Sessions or Week."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from scheduler.club.club import Club
from scheduler.club.when import week_dates
from scheduler.errors import Fault
from scheduler.folder.cells import NotUnderstood, Sheets, cell_name, day_in, minute_in, one_of, zones_in
from scheduler.folder.editedcards import CardReader, with_edits
from scheduler.folder.editedweek import read_week
from scheduler.folder.memory import base_plan, remembered
from scheduler.folder.moves import Move, moved, stands
from scheduler.plan.names import plain
from scheduler.plan.plan import PlannedSession, WeekPlan

FIELDS = ("Session", "Day", "Start", "End", "Pitch", "Zones", "Teams", "Leads", "Other adults")


def read_timetable(path: Path, club: Club | None = None) -> tuple[WeekPlan, tuple[Fault, ...]]:
    """The plan as it now stands in a timetable, and every cell that could not be understood.

    A cell that is not understood counts as unchanged. Without edits the plan is the one that was written; away from
    its week folder the reasons of stand-downs and the wishes are left out, and the club must be given.
    Raises InputFaults where the file is no timetable of this program.
    """
    sheets = Sheets(path)
    memory = remembered(sheets, path)
    base, players = base_plan(memory, path, club)
    edited = [_cards(sheets, memory, planned, players) for planned in base.sessions]
    by_list = _read_sessions(sheets, memory, base)
    by_week = read_week(sheets, memory, base)
    found = []
    for planned in edited:
        move = _agreed(sheets, planned, by_list.get(planned.session), by_week.get(planned.session))
        found.append(moved(planned, move, club) if move is not None else planned)
    if [stands(one) for one in found] != [stands(one) for one in edited]:
        found.sort(key=lambda one: (one.date, one.start, one.pitch, one.zones))
    return base.model_copy(update={"sessions": tuple(found)}), tuple(sheets.faults)


def _cards(sheets: Sheets, memory: Mapping[str, Any], planned: PlannedSession,
           players: Mapping[str, str]) -> PlannedSession:  # fmt: skip
    names = _names(memory, planned, players)
    reader = CardReader(sheets, planned, names, memory["areas"])
    for sheet, session, _, stations in memory["cards"]:
        if session == planned.session:
            reader.read(sheet, stations)
    return with_edits(planned, reader.found)


def _names(memory: Mapping[str, Any], planned: PlannedSession, players: Mapping[str, str]) -> dict[str, str]:
    """Ids by the names of a session's card, then by those of children of the club who may be written in."""
    names = {name: players[key] for name, key in memory["names"][planned.session].items() if key in players}
    taken, here = {name.casefold() for name in names}, set(names.values())
    more: dict[str, list[tuple[str, str]]] = {}
    for team, children in memory["others"].items():
        for name, key in children.items():
            if key in players and players[key] not in here:
                more.setdefault(name.casefold(), []).append((name, players[key]))
                clear = f"{name} ({plain(team)})"
                if clear.casefold() not in taken:
                    names[clear] = players[key]
    for fold, found in more.items():
        if len(found) == 1 and fold not in taken:
            names[found[0][0]] = found[0][1]
    return names


def _read_sessions(sheets: Sheets, memory: Mapping[str, Any], base: WeekPlan) -> dict[str, Move]:
    """The sessions that stand differently in the list, with the cell that says so."""
    sheet = memory["sessions"]
    if not sheets.has(sheet):
        sheets.fault(sheet, 0, 0, "the sheet is missing; write the timetable again and edit that one")
        return {}
    rows, columns = sheets.size(sheet)
    head = next((row for row in range(min(rows, 20)) if sheets.text(sheet, row, 0) == FIELDS[0]), None)
    at = {sheets.text(sheet, head, column): column for column in range(columns)} if head is not None else {}
    missing = [name for name in FIELDS if name not in at]
    if head is None or missing:
        sheets.fault(sheet, head or 0, 0, f"the heading {missing[0]} is missing; leave the headings as they were")
        return {}
    known = {plain(planned.session): planned for planned in base.sessions}
    found: dict[str, Move] = {}
    seen: set[str] = set()
    for row in range(head + 1, rows):
        name = sheets.text(sheet, row, at["Session"])
        if not name:
            break
        planned = known.get(name)
        if planned is None or name in seen:
            wrong = "stands twice" if planned else "is no session of this plan"
            sheets.fault(sheet, row, at["Session"], f"'{name}' {wrong}; keep one row for each session as it was named")
            continue
        seen.add(name)
        move = _row(sheets, sheet, row, at, memory, planned, base)
        if move is not None:
            found[planned.session] = move
    for name in known:
        if name not in seen:
            text = f"the row of {name} is missing; keep it, and call a session off with replan"
            sheets.fault(sheet, head, 0, text)
    return found


def _row(sheets: Sheets, sheet: str, row: int, at: Mapping[str, int], memory: Mapping[str, Any],
         planned: PlannedSession, base: WeekPlan) -> Move | None:  # fmt: skip
    was = dict(zip(FIELDS, memory["cells"][planned.session], strict=True))
    pitches = {plain(pitch): pitch for pitch in memory["pitches"]}

    def changed(name: str, read: Callable[[object], Any], former: Any) -> Any:
        value = sheets.value(sheet, row, at[name])
        if value == was[name] or (value is None and (not was[name] or sheets.formula(sheet, row, at[name]))):
            return former
        try:
            return read(value)
        except NotUnderstood as wrong:
            sheets.fault(sheet, row, at[name], str(wrong))
            return former

    date = changed("Day", lambda value: day_in(value, week_dates(base.week)), planned.date)
    start = changed("Start", minute_in, planned.start)
    end = changed("End", minute_in, planned.end + start - planned.start)
    pitch = changed("Pitch", lambda value: one_of(str(value), pitches, "pitch"), planned.pitch)
    most = int(memory["pitches"].get(pitch, max(planned.zones, default=1)))
    zones = changed("Zones", lambda value: zones_in(value, most), planned.zones)
    if max(zones, default=0) > most:
        text = f"{plain(pitch)} has the zones 1 to {most}; write the zones the session takes there"
        sheets.fault(sheet, row, at["Zones"], text)
        zones, pitch = planned.zones, planned.pitch
    if end <= start:
        sheets.fault(sheet, row, at["End"], "the session ends before it starts; write a later time")
        end = planned.end + start - planned.start
    if sheets.text(sheet, row, at["Teams"]) != was["Teams"]:
        sheets.fault(sheet, row, at["Teams"], f"teams are changed in the club workbook; write {was['Teams']} here")
    leads = changed("Leads", lambda value: _adults(str(value or ""), memory), planned.coaches[:1])
    others = changed("Other adults", lambda value: _adults(str(value or ""), memory), planned.coaches[1:])
    coaches = tuple(dict.fromkeys((*leads, *others)))
    move = Move(date, start, end, pitch, zones, coaches, f"{sheet}!{cell_name(row, at['Day'])}")
    return move if move.differs(planned) else None


def _adults(text: str, memory: Mapping[str, Any]) -> tuple[str, ...]:
    parts = [part.strip() for part in re.split(r"[;\n]", text) if part.strip()]
    return tuple(one_of(part, memory["adults"], "adult") for part in parts)


def _agreed(sheets: Sheets, planned: PlannedSession, listed: Move | None, drawn: Move | None) -> Move | None:
    """What the list and the week page say together; a fault where both moved a session, to different places."""
    if listed is None or drawn is None:
        return listed or drawn
    if not listed.moves(planned):
        return drawn.with_coaches(listed.coaches)
    if listed.place != drawn.place:
        sheet, _, cell = drawn.where.partition("!")
        text = f"{plain(planned.session)} is moved here and, elsewhere, in {listed.where}; make the two alike"
        sheets.faults.append(Fault(f"{sheet}!{cell}", text))
        return None
    return listed
