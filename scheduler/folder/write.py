"""The week folder: everything a club gets for a week, all of it at once or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from scheduler.club.club import Club
from scheduler.contract import Rule, Violation
from scheduler.errors import InputFaults
from scheduler.folder.find import TIMETABLE, read_plan_file
from scheduler.folder.swap import PLAN_FILE, write_whole
from scheduler.plan.plan import WeekPlan

CALENDAR = "calendar"


def write_folder(
    club: Club,
    plan: WeekPlan,
    findings: Sequence[Violation],
    folder: Path,
    *,
    rules: Sequence[Rule] = (),
    earlier: WeekPlan | None = None,
    replace: bool = False,
) -> None:
    """Write the week folder; it appears whole or not at all, and the same input gives the same bytes.

    `findings` and `rules` are those of the audit, for the welfare file. `earlier` is the plan that people hold now:
    what differs from it is marked on the cards, listed on a sheet, and raises the numbers in the calendars; where it
    is not given, the plan in the folder being replaced serves for the calendars. With `replace` an existing week
    folder is kept aside as `<folder>.before`. Raises FolderExists.
    """

    def fill(new: Path) -> None:
        from scheduler.folder.calendars import calendar_files, written_events
        from scheduler.folder.pages import cards_html, noticeboard_html
        from scheduler.folder.timetable import write_timetable
        from scheduler.welfare.sheet import write_welfare

        (new / PLAN_FILE).write_bytes(plan.to_json().encode())
        write_timetable(club, plan, new / TIMETABLE, earlier)
        (new / "cards.html").write_bytes(cards_html(club, plan, earlier).encode())
        (new / "noticeboard.html").write_bytes(noticeboard_html(club, plan).encode())
        (new / CALENDAR).mkdir()
        known = written_events(folder / CALENDAR)
        for name, data in calendar_files(club, plan, earlier or _held_now(folder, plan), known).items():
            (new / CALENDAR / name).write_bytes(data)
        private = new / "confidential"
        private.mkdir(mode=0o700)
        write_welfare(club, plan, findings, private / "welfare.xlsx", rules)

    write_whole(folder, fill, replace=replace)


def _held_now(folder: Path, plan: WeekPlan) -> WeekPlan | None:
    """The plan of the folder that is being replaced, where it is one of the same club and week."""
    try:
        held = read_plan_file(folder / PLAN_FILE)
    except (OSError, InputFaults):
        return None
    return held if (held.club, held.week) == (plan.club, plan.week) else None
