"""Every child against every limit: what is planned, the cap, the word for it and where the cap comes from.

Decided here: the age is whole years on the Monday, so a birthday inside the week changes nothing until the next week;
a child born on 29 February turns a year older on 1 March in other years. The row of the age table is the child's own,
also in an older team or a pooled session. A child in two teams has one report, under the own team.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.club.people import AgeRow
from scheduler.club.when import hhmm
from scheduler.plan.ledger import minutes_by_role
from scheduler.plan.plan import WeekPlan
from scheduler.welfare.childweek import ChildWeek, What, child_week
from scheduler.welfare.judged import Judgement, judge_heading, judge_loads
from scheduler.welfare.loads import monotony, strain
from scheduler.welfare.rulesets import BY_AGE, NATA, Chosen, chosen
from scheduler.welfare.sleep import SLEEP_ID, Evening, end_by
from scheduler.welfare.words import Word, against_clock, against_least, against_most

NOTHING_BEFORE = "nothing is known of the days before Monday"


@dataclass(frozen=True)
class Line:
    """One limit of one child. `planned` None: nothing of the kind this week; `cap` None: no number given.

    `entered`: a limit of the club's own (age row, one session a day, the child's own); otherwise a published figure
    that stands beside it. `least`: the figure may not fall short of the cap, else it may not exceed it.
    """

    limit: str
    planned: int | None
    cap: int | None
    unit: str
    word: Word
    source: str
    note: str = ""
    entered: bool = True
    least: bool = False

    def shown(self, value: int | None) -> str:
        """A figure of this line as printed: a time of day, or a number with its unit."""
        if value is None:
            return "-"
        if self.unit in ("time", "load"):
            return hhmm(value) if self.unit == "time" else str(value)
        return f"{value} {self.unit.removesuffix('s') if value == 1 else self.unit}"

    def sentence(self) -> str:
        """As `rest days: 1 day planned, at least 2 days`."""
        bound = "at least" if self.least else "at latest" if self.unit == "time" else "at most"
        return f"{self.limit}: {self.shown(self.planned)} planned, {bound} {self.shown(self.cap)}"


@dataclass(frozen=True)
class ChildReport:
    """One child's week. `judgements` are the chosen published sets, which stand beside the lines."""

    player: str
    name: str
    team: str
    age: int
    age_known: bool
    phase: str
    week: ChildWeek
    lines: tuple[Line, ...]
    judgements: tuple[Judgement, ...]
    monotony: float | None
    strain: float | None
    roles: dict[str, int]
    stood_down_minutes: int

    def of(self, word: Word) -> tuple[Line, ...]:
        """The lines of limits entered with this word."""
        return tuple(line for line in self.lines if line.word is word and line.entered)

    @property
    def worst(self) -> Word:
        """Over before not known before close before room, of the limits entered."""
        words = {line.word for line in self.lines if line.entered}
        return next((word for word in (Word.OVER, Word.NOT_KNOWN, Word.CLOSE) if word in words), Word.ROOM)

    def line(self, limit: str) -> Line:
        """The line of one limit; KeyError where the child has none of that name."""
        found = next((line for line in self.lines if line.limit == limit), None)
        if found is None:
            raise KeyError(limit)
        return found


def _age_lines(club: Club, week: ChildWeek, row: AgeRow | None) -> Iterator[Line]:
    age = club.limit_age(club.player(week.player))
    empty = AgeRow(phase="", from_age=0, to_age=99)
    of = row or empty
    source = f"age row {of.phase}" if row else f"no age row holds {age} years"

    def most(limit: str, planned: int, cap: int | None, unit: str, note: str = "") -> Line:
        return Line(limit, planned, cap, unit, against_most(planned, cap), source, note)

    yield most(
        "session minutes, longest", max((s.minutes for s in week.sessions), default=0), of.session_minutes, "min"
    )
    fullest = week.sessions_on_the_fullest_day()
    yield Line("sessions a day", fullest, 1, "sessions", against_most(fullest, 1), "one a day, our choice")
    yield most("sessions a week", len(week.sessions), of.sessions_a_week, "sessions")
    yield most("week minutes", week.minutes, of.week_minutes, "min", "with matches and sport elsewhere")
    free = against_least(week.rest_days, of.rest_days)
    yield Line("rest days", week.rest_days, of.rest_days, "days", free, source, least=True)
    before = "" if week.known_before else NOTHING_BEFORE
    yield most("days in a row", week.days_in_a_row(), of.days_in_a_row, "days", before)
    yield _load_line(week, of.week_load, source)
    headers = sum(session.headers for session in week.sessions)
    yield most("headers a week", headers, of.headers_a_week, "headers", "in training")
    latest = max((session.until for session in week.sessions if session.until is not None), default=None)
    yield Line("finish by", latest, of.finish_by, "time", against_clock(latest, of.finish_by), source)


def _load_line(week: ChildWeek, cap: int | None, source: str) -> Line:
    word, note = against_most(week.load, cap), "planned, RPE x minutes"
    if week.without_rpe:
        note = f"at least so much: {week.without_rpe} without an RPE"
        word = word if word in (Word.OVER, Word.NO_NUMBER) else Word.NOT_KNOWN
    return Line("week load", week.load, cap, "load", word, source, note)


def _published_lines(club: Club, week: ChildWeek, evening: Evening) -> Iterator[Line]:
    """Hours against age, and the end of the day against sleep."""
    age = club.limit_age(club.player(week.player))
    hours = next(line for line in judge_loads(club, week, NATA) if line.limit == BY_AGE)
    note = "all organised sport entered"
    yield Line(BY_AGE, hours.planned, hours.cap, "min", hours.word, NATA.id, note, False)
    ends = [one.until for one in week.inside if one.until is not None and one.what is not What.ELSEWHERE]
    latest, by = max(ends, default=None), end_by(age, evening)
    note = f"up {hhmm(evening.wake)}, home {evening.way_home} min, wind down {evening.wind_down} min"
    yield Line("finish by, for sleep", latest, by, "time", against_clock(latest, by), SLEEP_ID, note, False)


def _own_lines(club: Club, week: ChildWeek) -> Iterator[Line]:
    own, source = club.player(week.player).limits, "the child's own limit, club workbook"
    if own.max_minutes is not None:
        longest = max((session.minutes for session in week.sessions), default=0)
        word = against_most(longest, own.max_minutes)
        yield Line("own limit, session minutes", longest, own.max_minutes, "min", word, source)
    if own.no_contact:
        blocks = sum(session.contact_blocks for session in week.sessions)
        yield Line("own limit, no contact", blocks, 0, "blocks", against_most(blocks, 0), source)
    if own.no_heading:
        blocks = sum(session.heading_blocks for session in week.sessions)
        yield Line("own limit, no heading", blocks, 0, "blocks", against_most(blocks, 0), source)


def _report(
    club: Club, plan: WeekPlan, week: ChildWeek, sets: Chosen, evening: Evening, roles: dict[str, int]
) -> ChildReport:
    player = club.player(week.player)
    row = club.age_row(player)
    lines = (*_age_lines(club, week, row), *_own_lines(club, week), *_published_lines(club, week, evening))
    judged = [line for rules in sets.loads for line in judge_loads(club, week, rules)]
    judged += [judge_heading(club, week, rules) for rules in sets.heading]
    days = week.loads_by_day()
    downs = [down for planned in plan.sessions for down in planned.stood_down if down.player == player.id]
    return ChildReport(
        player=player.id,
        name=player.name,
        team=player.team,
        age=club.limit_age(player),
        age_known=club.age(player) is not None,
        phase=row.phase if row else "none",
        week=week,
        lines=lines,
        judgements=tuple(judged),
        monotony=monotony(days),
        strain=strain(days),
        roles=roles,
        stood_down_minutes=sum(down.span.minutes for down in downs),
    )


def children(club: Club, plan: WeekPlan) -> tuple[ChildReport, ...]:
    """A report a child, in the club's order, whoever trains or not."""
    sets, roles = chosen(club), minutes_by_role(plan)
    return tuple(
        _report(
            club,
            plan,
            child_week(club, plan, player.id),
            sets,
            Evening(club.wake, club.way_home, club.wind_down),
            roles.get(player.id, {}),
        )
        for player in club.players
    )
