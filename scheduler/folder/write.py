"""The week folder: everything a club gets for a week, all of it at once or nothing."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor, wait
from pathlib import Path

from scheduler.club.club import Club
from scheduler.contract import Rule, Violation
from scheduler.errors import InputFaults
from scheduler.folder.find import TIMETABLE, read_plan_file
from scheduler.folder.swap import PLAN_FILE, write_whole
from scheduler.plan.plan import WeekPlan
from scheduler.stopping import unheard

CALENDAR = "calendar"
PRIVATE = "confidential"


@unheard()
def write_folder(
    club: Club,
    plan: WeekPlan,
    findings: Sequence[Violation],
    folder: Path,
    *,
    rules: Sequence[Rule] = (),
    earlier: WeekPlan | None = None,
    replace: bool = False,
    executor: Executor | None = None,
) -> None:
    """Write the week folder; it appears whole or not at all, and the same input gives the same bytes.

    `findings` and `rules` are those of the audit, for the welfare file. `earlier` is the plan that people hold now:
    what differs from it is marked on the cards, listed on a sheet, and raises the numbers in the calendars; where it
    is not given, the plan in the folder being replaced serves for the calendars. With `replace` an existing week
    folder is kept aside as `<folder>.before`. `executor`: processes of this machine; the files are then written side
    by side. Ctrl-C waits until all is written. Raises FolderExists.
    """

    def fill(new: Path) -> None:
        (new / CALENDAR).mkdir()
        (new / PRIVATE).mkdir(mode=0o700)
        if executor is None:
            _timetable(club, plan, earlier, new)
            _other_files(club, plan, findings, rules, earlier, new, folder)
            return
        work = [
            executor.submit(_timetable, club, plan, earlier, new),
            executor.submit(_other_files, club, plan, tuple(findings), tuple(rules), earlier, new, folder),
        ]
        wait(work)  # also where one fails: nobody may still be writing when the new folder is taken away
        for done in work:
            done.result()

    write_whole(folder, fill, replace=replace)


def _timetable(club: Club, plan: WeekPlan, earlier: WeekPlan | None, new: Path) -> None:
    """The one file that takes as long as all others together."""
    from scheduler.folder.timetable import write_timetable

    write_timetable(club, plan, new / TIMETABLE, earlier)


def _other_files(club: Club, plan: WeekPlan, findings: Sequence[Violation], rules: Sequence[Rule],
                 earlier: WeekPlan | None, new: Path, folder: Path) -> None:  # fmt: skip
    from scheduler.folder.calendars import calendar_files, written_events
    from scheduler.folder.pages import cards_html, noticeboard_html
    from scheduler.welfare.sheet import write_welfare

    (new / PLAN_FILE).write_bytes(plan.to_json().encode())
    write_welfare(club, plan, findings, new / PRIVATE / "welfare.xlsx", rules)
    (new / "cards.html").write_bytes(cards_html(club, plan, earlier).encode())
    (new / "noticeboard.html").write_bytes(noticeboard_html(club, plan).encode())
    known = written_events(folder / CALENDAR)
    for name, data in calendar_files(club, plan, earlier or _held_now(folder, plan), known).items():
        (new / CALENDAR / name).write_bytes(data)


def _held_now(folder: Path, plan: WeekPlan) -> WeekPlan | None:
    """The plan of the folder that is being replaced, where it is one of the same club and week."""
    try:
        held = read_plan_file(folder / PLAN_FILE)
    except (OSError, InputFaults):
        return None
    return held if (held.club, held.week) == (plan.club, plan.week) else None
