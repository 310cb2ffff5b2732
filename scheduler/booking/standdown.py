"""Who is stood down from which part of a booked session, as far as it follows from the limits alone.

Blocks first (contact, headers, years between children, a return after a blow to the head) and what heat cuts off, then
the minutes: presence counts from arrival, blocks stood down from do not count, and whoever has used up the minutes is
stood down from that minute on.
Which sessions a child is left out of to hold a day's or a week's limit is the booking's choice, not made here.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence

from scheduler.booking.agegap import too_far_in_age
from scheduler.club.club import Club
from scheduler.club.people import AfterMatch, Match
from scheduler.club.programme import Contact
from scheduler.club.when import Span
from scheduler.plan.plan import PlannedSession, StoodDown
from scheduler.plan.presence import can_come, cut_out, in_rep
from scheduler.plan.timeline import BlockTime, timeline
from scheduler.welfare.childweek import plays_in
from scheduler.welfare.returns import stand_down_spans
from scheduler.welfare.weather import cut_short

OWN_LIMIT, AGE_LIMIT, WEEK_LIMIT, REST = "own limit", "age limit", "week limit", "rest"
SESSION_THAT_DAY, MATCH_THAT_DAY = "another session that day", "a match that day"
HARD_CONTACT_FROM_AGE = 13

BlockRule = Callable[[Club, PlannedSession, str], Iterator[StoodDown]]
SessionRule = Callable[[Club, PlannedSession], Iterable[StoodDown]]


def played_matches(club: Club, player: str, date: dt.date) -> tuple[Match, ...]:
    """The matches of one date that count for a child."""
    return tuple(m for m in club.matches if m.date == date and m.minutes > 0 and plays_in(club, m, player))


def _block_span(planned: PlannedSession, block: BlockTime) -> Span:
    return Span(planned.start + block.span.start, planned.start + block.span.end)


def _down(planned: PlannedSession, player: str, why: str, block: BlockTime) -> StoodDown:
    span = _block_span(planned, block)
    return StoodDown(player=player, why=why, start=span.start, end=span.end)


def _contact(block: BlockTime, least: tuple[Contact, ...]) -> bool:
    """Whether any station of the block has this much contact; the child's station is not known yet."""
    return any(station.practice.contact in least for station in block.stations)


def own_no_contact(club: Club, planned: PlannedSession, player: str) -> Iterator[StoodDown]:
    """A child's own `no contact`: out of every block with contact, there for the others."""
    if club.player(player).limits.no_contact:
        for block in timeline(club, planned.session):
            if _contact(block, (Contact.SOME, Contact.HARD)):
                yield _down(planned, player, OWN_LIMIT, block)


def own_no_heading(club: Club, planned: PlannedSession, player: str) -> Iterator[StoodDown]:
    """A child's own `no heading`: out of every block with headers."""
    if club.player(player).limits.no_heading:
        for block in timeline(club, planned.session):
            if any(station.practice.headers_a_rep for station in block.stations):
                yield _down(planned, player, OWN_LIMIT, block)


def around_matches(club: Club, planned: PlannedSession, player: str) -> Iterator[StoodDown]:
    """The day after a match without contact where the age row says so; no hard contact the day before, from 13 up."""
    row = club.age_row(club.player(player))
    after = row is not None and row.after_match is AfterMatch.NO_CONTACT
    after = after and bool(played_matches(club, player, planned.date - dt.timedelta(days=1)))
    before = club.limit_age(club.player(player)) >= HARD_CONTACT_FROM_AGE
    before = before and (row is None or row.after_match is not AfterMatch.ANY)
    before = before and bool(played_matches(club, player, planned.date + dt.timedelta(days=1)))
    kinds = (Contact.SOME, Contact.HARD) if after else (Contact.HARD,) if before else ()
    for block in timeline(club, planned.session) if kinds else ():
        if _contact(block, kinds):
            yield _down(planned, player, REST, block)


FROM_BLOCKS: tuple[BlockRule, ...] = (own_no_contact, own_no_heading, around_matches, too_far_in_age)
"""What closes blocks to one child; a new reason is one more function here."""

FROM_SESSIONS: tuple[SessionRule, ...] = (stand_down_spans, cut_short)
"""What closes parts of a session to some of its children at once."""


def headers_of(block: BlockTime, spans: Iterable[Span], start: int) -> int:
    """Headers of one child in a block, reps by presence; of several stations the one with most."""
    there = tuple(spans)
    return max(
        station.practice.headers_a_rep
        * sum(1 for rep in station.reps if in_rep(there, station.practice, Span(start + rep.start, start + rep.end)))
        for station in block.stations
    )


def _over_headers(club: Club, planned: PlannedSession, player: str, left: int | None, closed: list[StoodDown]
                  ) -> Iterator[tuple[StoodDown | None, int]]:  # fmt: skip
    """For each block with headers the stand-down (where they no longer fit) and the headers done."""
    if left is None:
        return
    spans = cut_out(can_come(club, player, planned.date, planned.span), (down.span for down in closed))
    for block in timeline(club, planned.session):
        wanted = headers_of(block, spans, planned.start)
        if wanted == 0:
            continue
        if wanted > left:
            yield _down(planned, player, AGE_LIMIT if left == _headers_cap(club, player) else WEEK_LIMIT, block), 0
        else:
            left -= wanted
            yield None, wanted


def _headers_cap(club: Club, player: str) -> int | None:
    row = club.age_row(club.player(player))
    return None if row is None else row.headers_a_week


def _over_minutes(club: Club, planned: PlannedSession, player: str, closed: list[StoodDown]) -> Iterator[StoodDown]:
    own, row = club.player(player).limits.max_minutes, club.age_row(club.player(player))
    age = None if row is None else row.session_minutes
    caps = [cap for cap in (own, age) if cap is not None]
    if not caps:
        return
    left = min(caps)
    why = OWN_LIMIT if own is not None and own == left else AGE_LIMIT
    for span in cut_out(can_come(club, player, planned.date, planned.span), (down.span for down in closed)):
        if span.minutes > left:
            yield StoodDown(player=player, why=why, start=span.start + left, end=planned.end)
            return
        left -= span.minutes


def limits_of(
    club: Club, planned: PlannedSession, player: str, headers_left: int | None, shared: Iterable[StoodDown] = ()
) -> tuple[tuple[StoodDown, ...], int]:
    """One child's stand-downs in one session, in order of time, and the headers left to the child in it.

    `headers_left` None: no number is given. `shared` are stand-downs from FROM_SESSIONS.
    """
    closed = [down for down in shared if down.player == player]
    closed += [down for rule in FROM_BLOCKS for down in rule(club, planned, player)]
    done = 0
    for down, headers in list(_over_headers(club, planned, player, headers_left, closed)):
        done += headers
        if down is not None:
            closed.append(down)
    closed += _over_minutes(club, planned, player, closed)
    return joined(closed), done


def joined(downs: Iterable[StoodDown]) -> tuple[StoodDown, ...]:
    """Stand-downs of one child in order of time without overlap; neighbours for one reason made one."""
    found: list[StoodDown] = []
    for down in sorted(downs, key=lambda one: (one.start, -one.end)):
        if found and down.start <= found[-1].end and (down.why == found[-1].why or down.end <= found[-1].end):
            last = found[-1]
            found[-1] = last.model_copy(update={"end": max(last.end, down.end)})
        elif found and down.start < found[-1].end:
            found.append(down.model_copy(update={"start": found[-1].end}))
        else:
            found.append(down)
    return tuple(found)


def stand_downs(club: Club, planned: Sequence[PlannedSession]) -> tuple[tuple[StoodDown, ...], ...]:
    """For each session (any order) the stand-downs of its players that follow from limits alone.

    Headers of the week are used up in order of time; where they are too few for all of a child's sessions, the
    children of a team begin with different ones, so that somebody is left for each. Children left out of a session by
    the booking are not in its `players` and are not named here.
    """
    ordered = sorted(planned, key=lambda one: (one.date, one.start, one.session))
    shared = {one.session: [down for rule in FROM_SESSIONS for down in rule(club, one)] for one in ordered}
    found: dict[tuple[str, str], tuple[StoodDown, ...]] = {}
    for player in dict.fromkeys(player for one in ordered for player in one.players):
        left = _headers_cap(club, player)
        for session in _as_headers_go(club, player, left, [one for one in ordered if player in one.players]):
            found[session.session, player], done = limits_of(club, session, player, left, shared[session.session])
            left = None if left is None else left - done
    return tuple(tuple(down for player in one.players for down in found[one.session, player]) for one in planned)


def _as_headers_go(club: Club, player: str, most: int | None, mine: list[PlannedSession]) -> list[PlannedSession]:
    """A child's sessions in the order in which its headers of the week go to them."""
    wanted = {one.session: _headers_in(club, one) for one in mine} if most is not None else {}
    heading = [one for one in mine if wanted.get(one.session)]
    if most is None or len(heading) < 2 or sum(wanted.values()) <= most:
        return mine
    team = [one.id for one in club.players if one.team == club.player(player).team]
    first = team.index(player) % len(heading)
    return [*heading[first:], *heading[:first], *(one for one in mine if one not in heading)]


def _headers_in(club: Club, planned: PlannedSession) -> int:
    whole = (Span(0, planned.span.minutes),)
    return sum(headers_of(block, whole, 0) for block in timeline(club, planned.session))
