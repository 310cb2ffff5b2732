"""Why a session cannot stay where it is, in a sentence for families: what happened, before what an audit found."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.club.club import Club
from scheduler.club.when import DAY_MINUTES, day_words, hhmm
from scheduler.contract import Violation
from scheduler.plan.names import zones_words
from scheduler.plan.plan import News, PlannedSession, WeekPlan
from scheduler.replan.disturbance import of_breaches


def causes(club: Club, plan: WeekPlan, breaches: Sequence[Violation]) -> dict[str, str]:
    """Why by session: the news that struck it, else the first sentence of the audit about it."""
    return {
        found.session: struck(club, plan, plan.by_session[found.session]) or found.texts[0]
        for found in of_breaches(club, plan, breaches)
    }


def struck(club: Club, plan: WeekPlan, planned: PlannedSession) -> str | None:
    """The news of that day about the session's pitch and zones, while it is held; None where there is none."""
    for news in plan.news:
        if news.about != planned.pitch or news.date != planned.date:
            continue
        if news.kind == "closed" and news.start < planned.end and planned.start < news.end:
            if not news.zones or set(news.zones) & set(planned.zones):
                return _closed(club, news)
        elif news.kind == "unlit":
            return f"the lights of {news.about} are out on {day_words(news.date)}"
    return None


def _closed(club: Club, news: News) -> str:
    whole = not news.zones or len(news.zones) == club.pitch(news.about).zones
    what = news.about if whole else f"{zones_words(news.zones)} of {news.about}"
    verb = "is" if whole or len(news.zones) == 1 else "are"
    start = f" from {hhmm(news.start)}" if news.start else ""
    end = f" until {hhmm(news.end)}" if news.end < DAY_MINUTES else ""
    return f"{what} {verb} closed on {day_words(news.date)}{start}{end}"
