"""A child's week stays inside the age row: sessions, minutes, load, rest days, days in a row, and an end in time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.numbers import so_many
from scheduler.club.people import AgeRow, Player
from scheduler.club.when import Span, day_words, hhmm
from scheduler.contract import Severity, Source, Violation
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.presence import there
from scheduler.welfare.childweek import blocks_of, plays_in, stations_of

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.booking.model import BookingModel, Linear
    from scheduler.booking.squads import Squad
    from scheduler.booking.ways import Way

SESSIONS_A_DAY = 1
DAYS_BEFORE, DAYS_AFTER = 7, 1
Stays = list[tuple[PlannedSession, tuple[Span, ...]]]
Found = tuple[str, str, int, str]  # text, the full text for the welfare file where it differs, by, unit
NO_ROW = AgeRow(phase="none", from_age=0, to_age=99)


def _beside(club: Club, player: str) -> list[tuple[dt.date, int, int | None]]:
    """What a child does beside the sessions, 7 days before the week to 1 day after: (date, minutes, RPE)."""
    first = club.dates[0] - dt.timedelta(days=DAYS_BEFORE)
    last = club.dates[-1] + dt.timedelta(days=DAYS_AFTER)
    found = [(m.date, m.minutes, m.rpe) for m in club.matches if plays_in(club, m, player)]
    found += [(row.date, row.minutes, row.rpe) for row in club.elsewhere if row.player == player]
    return [one for one in found if first <= one[0] <= last and one[1] > 0]


class AgePhaseLoad:
    """The limits of the age row, matches and sport elsewhere counted."""

    name = "age-phase load"
    words = (
        "Inside the child's age row: session minutes, one session a day, sessions a week, week minutes and planned "
        "load with matches and Elsewhere, rest days, days in a row, and the end of the session by Finish by."
    )
    source = Source(
        "the club's age rows; defaults after NATA 2019: hours a week not above age in years, two days off",
        "AAP 2024 asks for one to two days off; one session a day is common practice, no source",
    )
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off; a blank number in an age row limits nothing."""
        return None

    def home_by(self, club: Club, player: Player) -> int | None:
        """By the child's age row."""
        row = club.age_row(player)
        return None if row is None else row.finish_by

    # the booking

    def narrow(self, club: Club, model: BookingModel) -> None:
        """Whoever's limits could bite may be left out of a session, or end one early where minutes are short."""
        model.children.come_once_a_day()
        for squad in model.squads():
            row = club.age_row(club.player(squad.first)) or NO_ROW
            known = [(date, minutes, rpe) for date, minutes, rpe in _beside(club, squad.first) if date in club.dates]
            planned = sum(club.session(session).minutes for session in squad.sessions)
            most = sum(minutes for _, minutes, _ in known) + planned
            full = sum(model.children.full_load(session) for session in squad.sessions)
            load = sum(minutes * (rpe or 0) for _, minutes, rpe in known) + full
            over = row.week_minutes is not None and most > row.week_minutes
            days = None if row.rest_days is None else len(club.dates) - row.rest_days
            caps = [row.sessions_a_week, None if days is None else max(days, len({date for date, _, _ in known}))]
            for cap in (cap for cap in caps if cap is not None):
                model.children.comes_to_at_most(squad, cap)
            if over or (row.week_load is not None and load > row.week_load):
                left = None if row.week_minutes is None else max(0, row.week_minutes - most + planned)
                load_left = None if row.week_load is None else max(0, row.week_load - load + full)
                model.children.may_be_cut(squad, left, load_left)
            elif self._may_bite(club, model, squad, row):
                model.children.may_be_left_out(squad)

    def _may_bite(self, club: Club, model: BookingModel, squad: Squad, row: AgeRow) -> bool:
        late = row.finish_by is not None and any(
            slot.end > row.finish_by for session in squad.sessions for slot in model.slots(session)
        )
        days = len(squad.sessions) + len({date for date, _, _ in _beside(club, squad.first)})
        return (
            late
            or len(squad.sessions) > 1
            or (row.sessions_a_week is not None and len(squad.sessions) > row.sessions_a_week)
            or (row.rest_days is not None and days > len(club.dates) - row.rest_days)
            or (row.days_in_a_row is not None and days > row.days_in_a_row)
        )

    def post(self, club: Club, model: BookingModel) -> None:
        """Each limit for each way in which a squad may attend."""
        for squad in model.squads():
            row = club.age_row(club.player(squad.first)) or NO_ROW
            who = club.called(squad.first)
            for limit, sentence in (
                ("sessions a day", f"{who} (and whoever plays the same) trains once a day"),
                ("sessions a week", f"{who} (and whoever plays the same) trains {row.sessions_a_week} times a week"),
                ("week minutes", f"{who} has at most {row.week_minutes} minutes a week"),
                ("week load", f"{who} has at most a planned load of {row.week_load} a week"),
                ("rest days", f"{who} (and whoever plays the same) has {row.rest_days} rest days"),
                (
                    "days in a row",
                    f"{who} (and whoever plays the same) plays {row.days_in_a_row} days in a row at most",
                ),
                ("finish by", f"{who} has finished by {hhmm(row.finish_by or 0)}"),
            ):
                if limit != "sessions a day" and getattr(row, limit.replace(" ", "_")) is None:
                    continue
                on = model.switch(self.name, f"{squad.first}, {limit}", sentence)
                for way in model.children.ways(squad):
                    if way.sessions:
                        self._post_limit(club, model, row, way, limit, on)

    def _post_limit(self, club: Club, model: BookingModel, row: AgeRow, way: Way, limit: str, on: IntVar) -> None:
        children, given = model.children, (way.used,)
        if limit == "sessions a day":
            for date in club.dates if len(way.sessions) > 1 else ():
                literals = [children.there_on(way.squad, session, date) for session in way.sessions]
                model.at_most(on, literals, SESSIONS_A_DAY, given)
        elif limit == "sessions a week" and len(way.sessions) > (row.sessions_a_week or 0):
            literals = [children.is_there(way.squad, session) for session in way.sessions]
            model.at_most(on, literals, row.sessions_a_week or 0, given)
        elif limit in ("week minutes", "week load"):
            self._post_sum(club, model, row, way, limit, on)
        elif limit == "finish by":
            for session in way.sessions:
                late = children.late(way.squad, session, row.finish_by or 0)
                if not isinstance(late, int) or late:
                    model.at_least(on, [children.cut(way, session)], late, given)
        elif limit in ("rest days", "days in a row"):
            self._post_days(club, model, row, way, limit, on)

    def _post_sum(self, club: Club, model: BookingModel, row: AgeRow, way: Way, limit: str, on: IntVar) -> None:
        known = [one for one in _beside(club, way.squad.first) if one[0] in club.dates]
        if limit == "week minutes":
            left = (row.week_minutes or 0) - sum(minutes for _, minutes, _ in known)
            if sum(club.session(session).minutes for session in way.sessions) > left:
                terms = [model.children.minutes(way, session) for session in way.sessions]
                model.at_most(on, terms, max(0, left), (way.used,))
        else:
            left = (row.week_load or 0) - sum(minutes * (rpe or 0) for _, minutes, rpe in known)
            if sum(model.children.full_load(session) for session in way.sessions) > left:
                terms = [model.children.load(way, session) for session in way.sessions]
                model.at_most(on, terms, max(0, left), (way.used,))

    def _post_days(self, club: Club, model: BookingModel, row: AgeRow, way: Way, limit: str, on: IntVar) -> None:
        busy = {date for date, _, _ in _beside(club, way.squad.first)}
        if limit == "rest days":
            windows = [(club.dates, max(len(club.dates) - (row.rest_days or 0), len(busy & set(club.dates))))]
        else:
            length = (row.days_in_a_row or 0) + 1
            first = club.dates[0] - dt.timedelta(days=DAYS_BEFORE)
            days = [first + dt.timedelta(days=n) for n in range(DAYS_BEFORE + len(club.dates) + DAYS_AFTER)]
            runs = [tuple(days[n : n + length]) for n in range(len(days) - length + 1)]
            windows = [(run, max(length - 1, len(busy & set(run)))) for run in runs]
        active: dict[dt.date, Linear] = {}
        for window, most in windows:
            count = sum(1 for date in window if date in busy)
            if count + min(len(way.sessions), len(window) - count) <= most:
                continue
            for date in window:
                if date in club.dates and date not in busy and date not in active:
                    active[date] = self._active(model, way, date)
            model.at_most(on, [count, *(active[date] for date in window if date in active)], most, (way.used,))

    def _active(self, model: BookingModel, way: Way, date: dt.date) -> Linear:
        """A literal that is 1 where the child trains on a date."""
        literals = [model.children.there_on(way.squad, session, date) for session in way.sessions]
        if len(literals) == 1:
            return literals[0]
        active = model.model.new_bool_var(f"active[{way.squad.first}|{way.sessions}|{date}]")
        for literal in literals:
            model.model.add(active >= literal)
        return active

    # the audit

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Each child's week added up from the clock. Sums with sport elsewhere are told in the private words alone."""
        unknown: list[str] = []
        for player in club.players:
            row = club.age_row(player) or NO_ROW
            stays = [(planned, there(club, planned, player.id)) for planned in plan.sessions]
            mine = [(planned, spans) for planned, spans in stays if spans]
            if mine:
                for text, full, by, unit in (
                    *self._sums(club, player.id, row, mine),
                    *self._days(club, player.id, row, mine),
                ):
                    private = f"{player.name}: {full or text} (age row {row.phase})"
                    yield Violation(self.name, (player.id,), f"{player.called} {text}", by, unit, private=private)
                unknown += [player.id] if self._load_unknown(club, player.id, row, mine) else []
        if unknown:
            who = "one child" if len(unknown) == 1 else f"{len(unknown)} children"
            text = f"the week load of {who} is not fully known, since an RPE is missing"
            private = f"{text}: {', '.join(club.player(player).name for player in unknown)}"
            yield Violation(self.name, (), text, len(unknown), "children", Severity.CAUTION, private)

    def _sums(self, club: Club, player: str, row: AgeRow, mine: Stays) -> Iterator[Found]:
        total = sum(minutes for date, minutes, _ in _diary(club, player) if date in club.dates)
        for planned, spans in mine:
            minutes = sum(span.end - span.start for span in spans)
            total += minutes
            if row.session_minutes is not None and minutes > row.session_minutes:
                text = f"has {so_many(minutes, 'minute')} in {planned.session}, at most {row.session_minutes}"
                yield text, "", minutes - row.session_minutes, "minutes"
            if row.finish_by is not None and spans[-1].end > row.finish_by:
                text = f"is in {planned.session} until {hhmm(spans[-1].end)}, after {hhmm(row.finish_by)}"
                yield text, "", spans[-1].end - row.finish_by, "minutes"
        if row.week_minutes is not None and total > row.week_minutes:
            over = total - row.week_minutes
            full = f"has {so_many(total, 'minute')} in the week, at most {row.week_minutes}"
            yield f"has {so_many(over, 'minute')} too many in the week (welfare file)", full, over, "minutes"
        load, _ = (0, 0) if row.week_load is None else _week_load(club, player, mine)
        if row.week_load is not None and load > row.week_load:
            full = f"has a planned load of {load}, at most {row.week_load}"
            yield "has more planned load than is allowed (welfare file)", full, load - row.week_load, "load"
        if row.sessions_a_week is not None and len(mine) > row.sessions_a_week:
            text = f"has {so_many(len(mine), 'session')} in the week, at most {row.sessions_a_week}"
            yield text, "", len(mine) - row.sessions_a_week, "sessions"

    def _load_unknown(self, club: Club, player: str, row: AgeRow, mine: Stays) -> bool:
        if row.week_load is None:
            return False
        load, missing = _week_load(club, player, mine)
        return load <= row.week_load and missing > 0

    def _days(self, club: Club, player: str, row: AgeRow, mine: Stays) -> Iterator[Found]:
        dates = [planned.date for planned, _ in mine]
        for date in sorted(set(dates)):
            if dates.count(date) > SESSIONS_A_DAY:
                text = f"has {dates.count(date)} sessions on {day_words(date)}, at most one"
                yield text, "", dates.count(date) - SESSIONS_A_DAY, "sessions"
        beside = {date for date, minutes, _ in _diary(club, player) if minutes}
        added = set(dates) - beside
        free = sum(1 for date in club.dates if date not in beside and date not in dates)
        if row.rest_days is not None and free < row.rest_days and added:
            full, short = f"rests on {_days_words(free)}, at least {row.rest_days}", row.rest_days - free
            yield f"has {_days_words(short)} of rest too few (welfare file)", full, short, "days"
        if row.days_in_a_row is None:
            return
        run: list[dt.date] = []
        day = club.dates[0] - dt.timedelta(days=DAYS_BEFORE)
        last = club.dates[-1] + dt.timedelta(days=DAYS_AFTER + 1)
        while day <= last:
            if day < last and (day in beside or day in added):
                run.append(day)
            else:
                if len(run) > row.days_in_a_row and added & set(run):
                    full = (
                        f"plays {_days_words(len(run))} in a row from {day_words(run[0])}, at most {row.days_in_a_row}"
                    )
                    over = len(run) - row.days_in_a_row
                    yield f"plays {_days_words(over)} too many in a row (welfare file)", full, over, "days"
                run = []
            day += dt.timedelta(days=1)


def _diary(club: Club, player: str) -> list[tuple[dt.date, int, int | None]]:
    """Matches and sport elsewhere of one child, whatever the date, down the rows of both sheets."""
    matches = [(match.date, match.minutes, match.rpe) for match in club.matches if plays_in(club, match, player)]
    return matches + [(row.date, row.minutes, row.rpe) for row in club.elsewhere if row.player == player]


def _days_words(days: int) -> str:
    return "one day" if days == 1 else f"{days} days"


def _week_load(club: Club, player: str, mine: Stays) -> tuple[int, int]:
    """The planned load of a child's week, and the minutes whose RPE is missing."""
    inside = [(minutes, rpe) for date, minutes, rpe in _diary(club, player) if date in club.dates]
    parts = [_load(club, planned, player, spans) for planned, spans in mine]
    load = sum(minutes * (rpe or 0) for minutes, rpe in inside) + sum(load for load, _ in parts)
    return load, sum(minutes for minutes, rpe in inside if rpe is None) + sum(missing for _, missing in parts)


def _load(club: Club, planned: PlannedSession, player: str, spans: tuple[Span, ...]) -> tuple[int, int]:
    """Planned load of one child in one session, RPE x minutes there, and the minutes whose RPE is missing.

    Side by side counts the station the child is at; before there are places, the hardest.
    """
    load = missing = 0
    for block in blocks_of(club, planned):
        rpes = [club.practice(at.practice).rpe for at in stations_of(club, planned, block, player)]
        minutes = sum(max(0, min(span.end, block.end) - max(span.start, block.start)) for span in spans)
        load += max((rpe or 0 for rpe in rpes), default=0) * minutes
        missing += minutes if None in rpes else 0
    return load, missing
