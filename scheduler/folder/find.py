"""Where a week folder stands, and the plan in whatever the user points at."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from pydantic import ValidationError

from scheduler.club.club import Club
from scheduler.errors import Fault, InputFaults
from scheduler.folder.swap import PLAN_FILE, finish
from scheduler.folder.swap import refuse_existing as refuse_existing
from scheduler.plan.plan import WeekPlan

TIMETABLE = "timetable.xlsx"
_MAX_PLAN_BYTES = 50_000_000


def default_folder(club_file: Path, week: dt.date) -> Path:
    """`week-YYYY-MM-DD` beside the club workbook."""
    return club_file.parent / f"week-{week.isoformat()}"


def read_plan(path: Path, club: Club | None = None) -> WeekPlan:
    """The plan in a `plan.json`, in a week folder, or in a timetable.xlsx as edited by hand.

    A timetable away from its week folder needs the club to know its players by. Raises InputFaults.
    """
    finish(path)
    if path.is_dir():
        inside = path / PLAN_FILE
        if not inside.is_file():
            raise InputFaults((Fault(str(path), f"there is no {PLAN_FILE} in it, so it is not a week folder"),))
        return read_plan_file(inside)
    if not path.is_file():
        raise InputFaults((Fault(str(path), "there is no such file; give a week folder, plan.json or timetable.xlsx"),))
    if path.suffix.lower() != ".xlsx":
        return read_plan_file(path)
    from scheduler.folder.edited import read_timetable

    plan, faults = read_timetable(path, club)
    if faults:
        raise InputFaults(faults)
    return plan


def club_after(club: Club, path: Path) -> Club:
    """The club with the plan of the week before beside it. InputFaults where there is none, or of another week."""
    from scheduler.welfare.before import after_plan, checked

    return after_plan(club, checked(path, read_plan(path, club), club))


def read_plan_file(path: Path) -> WeekPlan:
    """The plan in a `plan.json`; InputFaults with a sentence where it holds none."""
    if path.stat().st_size > _MAX_PLAN_BYTES:
        raise InputFaults((Fault(str(path), "it is larger than any week's plan; check that it is the right file"),))
    try:
        return WeekPlan.from_json(path.read_bytes())
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False)[0]
        where = ".".join(str(part) for part in first["loc"])
        at = f" at {where}" if where else ""
        text = f"it is not a plan this program can read{at}: {first['msg'].lower()}; use a plan.json as plan wrote it"
        raise InputFaults((Fault(str(path), text),)) from None
