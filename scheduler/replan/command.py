"""One run of `replan`: the plan that people hold, the news, the new plan, and who must be told."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.errors import Fault, InputFaults
from scheduler.outcome import Booked, Outcome
from scheduler.plan.plan import WeekPlan
from scheduler.progress import Report, silent
from scheduler.replan.differences import Changes, differences
from scheduler.replan.events import Options, as_reported, read_news, read_now
from scheduler.replan.replan import replan
from scheduler.replan.telling import Telling, who_must_be_told

ReadPlan = Callable[[Path, Club], WeekPlan]


@dataclass(frozen=True)
class Replanned:
    """What a run came to. `held`: the plan people hold; `club`: with all news; `to_write`: something is new.

    `undone`: what was edited by hand and does not stand as edited in the new plan.
    """

    outcome: Outcome
    held: WeekPlan
    club: Club
    changes: Changes
    told: tuple[Telling, ...]
    to_write: bool
    undone: Changes = Changes()


def run(
    club: Club,
    week: Path,
    options: Options,
    rules: Sequence[Rule],
    limit: float,
    read_plan: ReadPlan,
    on_progress: Report = silent,
) -> Replanned:
    """Replan the week in a week folder, a plan.json or a timetable.xlsx edited by hand (whose edits are kept)."""
    start = read_plan(week, club)
    beside = week.parent / "plan.json"
    edited = week.suffix.lower() == ".xlsx" and beside.is_file()
    held = read_plan(beside, club) if edited else start  # the plan last written, else what is started from
    _of_this_week(club, start, week)
    _of_this_week(club, held, beside)
    earlier = as_reported(club, start)
    news = read_news(earlier, start, options)
    known = start.model_copy(update={"news": (*start.news, *news)})
    now_club = as_reported(club, known)
    now = read_now(club, options.now)
    outcome = replan(now_club, known, rules, held=held, now=now, limit=limit, on_progress=on_progress)
    if not isinstance(outcome, Booked):
        return Replanned(outcome, held, now_club, Changes(), (), False)
    changes = differences(now_club, held, outcome.plan)
    told = who_must_be_told(now_club, held, outcome.plan, changes)
    undone = _undone(now_club, held, start, outcome.plan) if edited else Changes()
    return Replanned(outcome, held, now_club, changes, told, outcome.plan != held, undone)


def _undone(club: Club, held: WeekPlan, edited: WeekPlan, new: WeekPlan) -> Changes:
    """Sessions and places that were edited by hand and are not as edited in the new plan."""
    asked, lost = differences(club, held, edited), differences(club, edited, new)
    sessions = {row.session for row in asked.sessions}
    places = {(row.session, row.block, row.rep, row.player) for row in asked.places}
    return Changes(
        sessions=tuple(row for row in lost.sessions if row.session in sessions),
        places=tuple(row for row in lost.places if (row.session, row.block, row.rep, row.player) in places),
    )


def _of_this_week(club: Club, plan: WeekPlan, path: Path) -> None:
    """Refuse a plan of another week, or with sessions that the club does not ask for: nothing of it can be kept."""
    if plan.week != club.week:
        text = f"it is the plan of the week of {plan.week}, the club asks for the week of {club.week}"
        raise InputFaults((Fault(str(path), f"{text}; name that plan's folder, or add --week {plan.week}"),))
    known = {session.id for session in club.sessions}
    strange = [planned.session for planned in plan.sessions if planned.session not in known]
    if strange:
        more = f" and {len(strange) - 1} more" if len(strange) > 1 else ""
        text = f"it holds {strange[0]}{more}, which the club does not ask for; name the folder of this club's plan"
        raise InputFaults((Fault(str(path), f"{text}, or plan anew where the club has changed since"),))


def folder_of(week: Path) -> Path:
    """The week folder that a run writes to: the one given, or the one in which the file given lies."""
    return week if week.is_dir() else week.resolve().parent
