"""What edits of cards by hand do to fair shares: who is further from the share at the worst whistle, by how much."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from scheduler.club.club import Club
from scheduler.folder.cells import Sheets
from scheduler.folder.find import TIMETABLE
from scheduler.folder.memory import base_plan, remembered
from scheduler.plan.ledger import Line, ledger
from scheduler.plan.plan import WeekPlan
from scheduler.rotation.allowance import reps_words, whistle_words

MOST_LINES = 10
DOES = {"attack": "attacks", "defend": "defends", "keep": "keeps goal", "rest": "rests"}


class Moved(NamedTuple):
    """One child and role whose furthest distance from the fair share an edit changed."""

    before: Line | None
    after: Line

    @property
    def by(self) -> float:
        """How many reps further from the share at the worst whistle; below zero: nearer."""
        return _reps(self.after) - (_reps(self.before) if self.before is not None else 0.0)


def shares_moved(club: Club, before: WeekPlan, after: WeekPlan) -> list[Moved]:
    """Every child and role whose worst whistle is another in one of two plans, those furthest from the share first."""
    earlier = {(line.player, line.role): line for line in ledger(club, before)}
    found = [Moved(earlier.get((line.player, line.role)), line) for line in ledger(club, after)]
    return sorted((moved for moved in found if moved.by), key=lambda moved: -_reps(moved.after))


def edited_lines(club: Club, file: Path, plan: WeekPlan) -> list[str]:
    """How far the edits of a timetable moved fairness, in sentences; nothing for a plan that is no timetable."""
    if file.suffix != Path(TIMETABLE).suffix or not file.is_file():
        return []
    base, _ = base_plan(remembered(Sheets(file), file), file, club)
    found = shares_moved(club, base, plan)
    if not found:
        return ["  the edits move nobody's furthest distance from the fair share"]
    further = len({moved.after.player for moved in found if moved.by > 0})
    nearer = len({moved.after.player for moved in found if moved.by < 0})
    head = f"  the edits leave {_children(further)} further from a fair share at the worst whistle, {nearer} nearer"
    rows = [_words(club, moved) for moved in found[:MOST_LINES]]
    more = [f"    ({len(found) - MOST_LINES} more)"] if len(found) > MOST_LINES else []
    return [head, *rows, *more]


def _words(club: Club, moved: Moved) -> str:
    line, unit = moved.after, "stay" if moved.after.role == "keep" else "rep"
    was = f"before: {_number(moved.before, unit)}" if moved.before is not None else "not before"
    beyond = f", beyond the one {unit} allowed" if line.excess else ""
    where = whistle_words(line.worst_at)
    does = f"{club.called(line.player)} {DOES[line.role]}"
    return f"    {does}: {_number(line, unit)} from the fair share ({where}){beyond}; {was}"


def _number(line: Line, unit: str) -> str:
    return reps_words(line.worst / line.bound, unit) if line.bound else reps_words(line.worst, "minute")


def _reps(line: Line) -> float:
    return float(line.worst / line.bound) if line.bound else float(line.worst)


def _children(number: int) -> str:
    return f"{number} {'child' if number == 1 else 'children'}"
