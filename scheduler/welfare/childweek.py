"""What one child does in the week and beside it: sessions, matches and sport elsewhere, day by day. Plain arithmetic.

Decided here: a day is a calendar date of the club's own time zone and minutes are those of the wall clock, so a clock
change neither lengthens nor shortens a day's sport. A child in two teams has one week: everything is added up by child.
A match counts in full for the players it names, or for its whole team, except whoever is absent throughout.
Headers count for every rep a child has a place in, rests included: the cautious side.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from scheduler.club.club import Club
from scheduler.club.people import Match
from scheduler.club.programme import Contact, Practice
from scheduler.club.when import Span
from scheduler.plan.plan import Block, PlannedSession, Station, WeekPlan
from scheduler.plan.presence import can_come, in_rep, minutes_there, there
from scheduler.plan.skeleton import lay_blocks
from scheduler.plan.timeline import station_of, timeline
from scheduler.welfare.loads import session_load

DAYS_BEFORE = 7
DAYS_AFTER = 1


class What(StrEnum):
    """Which kind of sport an activity is."""

    SESSION = "session"
    MATCH = "match"
    ELSEWHERE = "elsewhere"


@dataclass(frozen=True)
class Activity:
    """One stretch of sport. `load` is a least figure where an RPE is missing; `until` None where no end is known."""

    date: dt.date
    what: What
    name: str
    minutes: int
    load: int
    rpe_missing: bool = False
    until: int | None = None
    headers: int = 0
    heading_minutes: int = 0
    contact_blocks: int = 0
    heading_blocks: int = 0
    age_group: int | None = None


@dataclass(frozen=True)
class ChildWeek:
    """A child's sport from 7 days before the Monday to 1 day after the Sunday, in order of date.

    `known_before`: whether anything at all is known of the seven days before the Monday.
    """

    player: str
    week: tuple[dt.date, ...]
    activities: tuple[Activity, ...]
    known_before: bool

    @property
    def inside(self) -> tuple[Activity, ...]:
        """What falls in the week itself."""
        return tuple(one for one in self.activities if one.date in self.week)

    @property
    def sessions(self) -> tuple[Activity, ...]:
        """The club's own sessions of the week."""
        return tuple(one for one in self.inside if one.what is What.SESSION)

    @property
    def active(self) -> frozenset[dt.date]:
        """Every date with at least a minute of sport, the days around the week included."""
        return frozenset(one.date for one in self.activities if one.minutes > 0)

    @property
    def minutes(self) -> int:
        """Minutes of the week, matches and sport elsewhere included."""
        return sum(one.minutes for one in self.inside)

    @property
    def load(self) -> int:
        """Planned load of the week as far as RPEs are known."""
        return sum(one.load for one in self.inside)

    @property
    def without_rpe(self) -> int:
        """How many activities of the week are missing an RPE, so that the load is a least figure."""
        return sum(1 for one in self.inside if one.rpe_missing)

    @property
    def rest_days(self) -> int:
        """Days of the week without any sport."""
        return sum(1 for date in self.week if date not in self.active)

    def loads_by_day(self) -> tuple[int, ...]:
        """Seven daily loads, Monday first."""
        return tuple(sum(one.load for one in self.inside if one.date == date) for date in self.week)

    def sessions_on_the_fullest_day(self) -> int:
        """The most sessions of the club on one date."""
        return max((sum(1 for one in self.sessions if one.date == date) for date in self.week), default=0)

    def days_in_a_row(self) -> int:
        """The longest run of days with sport that reaches into the week, known days around it included."""
        longest = run = 0
        touches = False
        first = self.week[0] - dt.timedelta(days=DAYS_BEFORE)
        for offset in range(DAYS_BEFORE + len(self.week) + DAYS_AFTER):
            date = first + dt.timedelta(days=offset)
            run, touches = (run + 1, touches or date in self.week) if date in self.active else (0, False)
            longest = max(longest, run if touches else 0)
        return longest


def load_of(club: Club, rpe: int | None, minutes: int) -> tuple[int, bool]:
    """RPE x minutes, and whether the RPE is missing (or off the club's scale), so that it counts as 0."""
    if minutes == 0 or rpe is None:
        return 0, minutes > 0
    try:
        return session_load(rpe, minutes, club.rpe_scale), False
    except ValueError:
        return 0, True


def blocks_of(club: Club, planned: PlannedSession) -> tuple[Block, ...]:
    """The blocks of a planned session, laid out from its session plan where the rotation is not made yet."""
    return planned.blocks or lay_blocks(club, planned).blocks


def stations_of(club: Club, planned: PlannedSession, block: Block, player: str) -> tuple[Station, ...]:
    """The station a child is at in a block; every station where the child's group is not known."""
    if len(block.stations) == 1:
        return block.stations
    for station in block.stations:
        if any(place.player == player for rep in station.reps for place in rep.places):
            return (station,)
    groups = (
        place.group
        for other in planned.blocks
        for station in other.stations
        for rep in station.reps
        for place in rep.places
        if place.player == player
    )
    group = next(groups, None)
    layout = {time.block: time for time in timeline(club, planned.session)}
    if group is None or block.block not in layout:
        return block.stations
    number = station_of(layout[block.block], group)
    return tuple(station for station in block.stations if station.station == number) or block.stations


def _block_load(club: Club, practices: list[Practice], minutes: int) -> tuple[int, bool]:
    """The load of a block: of several stations the hardest, and whether the RPE of any is missing."""
    loads = [load_of(club, practice.rpe, minutes) for practice in practices]
    return max((load for load, _ in loads), default=0), any(missing for _, missing in loads)


def _headers(club: Club, planned: PlannedSession, station: Station, player: str) -> tuple[int, int]:
    """Headers and minutes of heading practice of one child at one station."""
    practice = club.practice(station.practice)
    if practice.headers_a_rep == 0:
        return 0, 0
    spans = there(club, planned, player)
    placed = any(rep.places for rep in station.reps)
    reps = [
        rep
        for rep in station.reps
        if (any(place.player == player for place in rep.places) if placed else in_rep(spans, practice, rep.span))
    ]
    return practice.headers_a_rep * len(reps), sum(rep.span.minutes for rep in reps)


def _age_group(club: Club, planned: PlannedSession, player: str) -> int:
    """The age group a child trains in: the youngest of the child's own teams there, of all teams there for a guest."""
    of = club.player(player)
    own = [team for team in planned.teams if team == of.team or team in of.also_plays_for]
    return min(club.team(team).age_group for team in own or planned.teams)


def of_session(club: Club, planned: PlannedSession, player: str) -> Activity:
    """One child's part in one session; a block's load is its RPE x the minutes the child is there."""
    spans = there(club, planned, player)
    loads: list[tuple[int, bool]] = []
    headers = heading_minutes = contact = heading = 0
    for block in blocks_of(club, planned):
        minutes = sum(both.minutes for span in spans if (both := span.cut(block.span)) is not None)
        if minutes == 0:
            continue
        stations = stations_of(club, planned, block, player)
        practices = [club.practice(station.practice) for station in stations]
        loads.append(_block_load(club, practices, minutes))
        most = max(_headers(club, planned, station, player) for station in stations)
        headers, heading_minutes = headers + most[0], heading_minutes + most[1]
        contact += any(practice.contact is not Contact.NONE for practice in practices)
        heading += any(practice.headers_a_rep > 0 for practice in practices)
    return Activity(
        date=planned.date,
        what=What.SESSION,
        name=planned.session,
        minutes=minutes_there(club, planned, player),
        load=sum(load for load, _ in loads),
        rpe_missing=any(missing for _, missing in loads),
        until=max((span.end for span in spans), default=None),
        headers=headers,
        heading_minutes=heading_minutes,
        contact_blocks=contact,
        heading_blocks=heading,
        age_group=_age_group(club, planned, player),
    )


def plays_in(club: Club, match: Match, player: str) -> bool:
    """Whether a match counts for a child: named for it, or of its team, and not absent throughout."""
    if not (player in match.players if match.players else club.player(player).team == match.team):
        return False
    span = Span(match.kick_off, match.kick_off + match.minutes)
    return bool(can_come(club, player, match.date, span))


def _outside(club: Club, player: str) -> Iterator[Activity]:
    for match in club.matches:
        if plays_in(club, match, player):
            load, missing = load_of(club, match.rpe, match.minutes)
            end = match.kick_off + match.minutes
            yield Activity(match.date, What.MATCH, f"match, {match.team}", match.minutes, load, missing, end)
    for row in club.elsewhere:
        if row.player == player:
            load, missing = load_of(club, row.rpe, row.minutes)
            yield Activity(row.date, What.ELSEWHERE, row.what or "elsewhere", row.minutes, load, missing)


def child_week(club: Club, plan: WeekPlan, player: str) -> ChildWeek:
    """Everything known of one child in the week and around it. A row of 0 minutes is no sport, yet something known."""
    found = list(_outside(club, player))
    mine = [planned for planned in plan.sessions if player in planned.players]
    found += [of_session(club, planned, player) for planned in mine if club.has("session", planned.session)]
    first = club.dates[0] - dt.timedelta(days=DAYS_BEFORE)
    last = club.dates[-1] + dt.timedelta(days=DAYS_AFTER)
    near = sorted((one for one in found if first <= one.date <= last), key=lambda one: (one.date, one.what, one.name))
    before = any(one.date < club.dates[0] for one in near)
    return ChildWeek(player, club.dates, tuple(one for one in near if one.minutes > 0), before)
