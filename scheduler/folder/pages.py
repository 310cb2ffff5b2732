"""cards.html and noticeboard.html: pages that need no network, every text escaped."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from scheduler.club.club import Club
from scheduler.club.when import LONG_DAY_NAMES, day_words, hhmm
from scheduler.folder.cards import cards
from scheduler.folder.cautions import DEFAULTS, ON_THE_GROUND, card_cautions
from scheduler.folder.paging import ROLES, pages
from scheduler.folder.people import heat_stop
from scheduler.plan.names import adults, join, place_words, plain, plan_number
from scheduler.plan.plan import PlannedSession, WeekPlan

TWO_COLUMNS_FROM = 22  # rows that still fit under each other on one page


def _rendered(template: str, **content: Any) -> str:
    return str(_templates().get_template(template).render(**content))


@cache
def _templates() -> Any:
    """The templates, read and compiled once a process: many clubs may be written by one."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    folder = Path(__file__).parent / "templates"
    return Environment(loader=FileSystemLoader(folder), autoescape=True, undefined=StrictUndefined,
                       trim_blocks=True, lstrip_blocks=True, keep_trailing_newline=True)  # fmt: skip


def cards_html(club: Club, plan: WeekPlan, earlier: WeekPlan | None = None) -> str:
    """All cards of the week as one page; changed places are marked where an earlier plan is given."""
    return _rendered(
        "cards.html.j2",
        club=plain(club.name),
        week=plan.week.isoformat(),
        number=plan_number(plan),
        cards=[pages(card, on_screen=True) for card in cards(club, plan, earlier)],
        roles=ROLES,
        clock=hhmm,
        cautions=card_cautions,
    )


def noticeboard_html(club: Club, plan: WeekPlan) -> str:
    """The week on one page, without any child's name."""
    by_day = []
    for number, date in enumerate(club.dates):
        rows = [_notice(club, planned) for planned in plan.sessions if planned.date == date]
        if rows:
            by_day.append((f"{LONG_DAY_NAMES[number]} {day_words(date).partition(' ')[2]}", rows))
    count = len(plan.sessions) + 2 * len(by_day)
    return _rendered(
        "noticeboard.html.j2",
        club=plain(club.name),
        week=plan.week.isoformat(),
        days=f"{day_words(club.dates[0])} to {day_words(club.dates[-1])} {club.dates[-1].year}",
        by_day=by_day,
        not_held=[f"Not held: {plain(row.session)}." for row in plan.cancelled],
        cautions=[*ON_THE_GROUND, DEFAULTS],
        number=plan_number(plan),
        columns=1 if count <= TWO_COLUMNS_FROM else 2,
        size=14 if count <= TWO_COLUMNS_FROM else 11,
    )


def _notice(club: Club, planned: PlannedSession) -> dict[str, str]:
    leader, stop = adults(club, planned.coaches[:1]), heat_stop(club, planned)
    session, teams = plain(planned.session), [plain(team) for team in planned.teams]
    extra = [team for team in teams if team.casefold() not in session.casefold()]
    return {
        "time": f"{hhmm(planned.start)} to {hhmm(planned.end)}" + (f", stops at {hhmm(stop)}" if stop else ""),
        "who": f"{session} ({join(extra)})" if extra else session,
        "where": place_words(club, planned),
        "adult": f", with {leader[0]}" if leader else "",
    }
