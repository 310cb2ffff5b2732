"""What a timetable remembers of the plan it was written from, on its hidden sheet, and the plan made whole again."""

from __future__ import annotations

import base64
import binascii
import json
import zlib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from scheduler.club.club import Club
from scheduler.errors import Fault, InputFaults
from scheduler.folder.cells import Sheets
from scheduler.folder.swap import PLAN_FILE
from scheduler.folder.withheld import player_key, restored
from scheduler.plan.names import plan_code
from scheduler.plan.plan import WeekPlan

MEMORY = "for evenweek"
MEMORY_HEAD = "evenweek-timetable-1"
CELL = 30_000  # letters; a cell holds 32,767
_MOST = 50_000_000


def packed(memory: dict[str, Any]) -> list[str]:
    """The memory as texts that fit into cells."""
    data = zlib.compress(json.dumps(memory, ensure_ascii=False, sort_keys=True).encode(), 9)
    text = base64.b64encode(data).decode()
    return [text[start : start + CELL] for start in range(0, len(text), CELL)]


def remembered(sheets: Sheets, path: Path) -> dict[str, Any]:
    """The memory of a timetable; InputFaults where the workbook is none, or has lost it."""
    if not sheets.has(MEMORY) or sheets.text(MEMORY, 0, 0) != MEMORY_HEAD:
        text = "it is not a timetable.xlsx that plan wrote (its hidden sheet is missing); give one, or a plan.json"
        raise InputFaults((Fault(str(path), text),))
    rows, _ = sheets.size(MEMORY)
    text = "".join(sheets.text(MEMORY, row, 0) for row in range(1, rows))
    try:
        unpacker = zlib.decompressobj()
        data = unpacker.decompress(base64.b64decode(text, validate=True), _MOST)
        memory = json.loads(data) if not unpacker.unconsumed_tail else None
    except (binascii.Error, zlib.error, ValueError, RecursionError):
        memory = None
    wanted = {"plan", "code", "names", "others", "adults", "pitches", "areas", "cells", "week", "sessions", "cards"}
    if not isinstance(memory, dict) or not wanted <= set(memory):
        text = "its hidden sheet is damaged, so it cannot be read back; write the timetable again with plan or replan"
        raise InputFaults((Fault(str(path), text),))
    return memory


def base_plan(memory: dict[str, Any], path: Path, club: Club | None) -> tuple[WeekPlan, dict[str, str]]:
    """The plan a timetable was written from, and the players' ids by key.

    A plan.json of the same plan beside it gives the whole plan; else reasons and wishes stay out, and the club says
    who the players are. Raises InputFaults where neither does.
    """
    beside = _beside(path, memory["code"])
    players = {player_key(coach): coach for coach in memory["adults"].values()}  # late news may be about an adult
    if club is not None:
        players |= {player_key(player.id): player.id for player in club.players}
    if beside is not None:
        players |= {player_key(player): player for player in _everybody(beside)}
        return beside, players
    try:
        return restored(WeekPlan.model_validate(memory["plan"]), players), players
    except ValidationError:
        text = "its hidden sheet holds no plan this program can read; write the timetable again with plan or replan"
    except KeyError:
        text = "it has players the club does not have" if club else "who its players are stands in the club workbook"
        text += "; give the club it was planned for, or put the file back into its week folder"
    raise InputFaults((Fault(str(path), text),))


def _beside(path: Path, code: str) -> WeekPlan | None:
    file = path.parent / PLAN_FILE
    if not file.is_file() or file.stat().st_size > _MOST:
        return None
    try:
        plan = WeekPlan.from_json(file.read_bytes())
    except ValidationError:
        return None
    return plan if plan_code(plan) == code else None


def _everybody(plan: WeekPlan) -> set[str]:
    placed = {p.player for s in plan.sessions for b in s.blocks for t in b.stations for r in t.reps for p in r.places}
    return placed.union(*(planned.players for planned in plan.sessions),
                        (down.player for planned in plan.sessions for down in planned.stood_down))  # fmt: skip
