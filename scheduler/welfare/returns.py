"""The way back after a blow to the head: dates before which nothing may happen, and the blocks each step may join.

A date here is "not before", never a clearance: contact always needs a qualified person's separate yes as well, and
local association rules and medical advice come first. Dates count calendar days, injury is day 0; the hour is not kept,
so "24 hours" leaves out the day of the injury and the day after. Symptoms that have not ended give no date at all.

Which blocks have no risk of a blow to the head is our choice, on the cautious side: practices that everybody does
together, without contact and without headers. Areas with opponents or goals wait for the contact date and the yes.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

from scheduler.club.club import Club
from scheduler.club.people import Return
from scheduler.club.programme import Contact, Kind, Practice
from scheduler.club.when import Span
from scheduler.contract import Source
from scheduler.plan.plan import Block, PlannedSession, StoodDown
from scheduler.plan.presence import can_come
from scheduler.welfare.childweek import blocks_of, stations_of

NEUTRAL = "own limit"
ASK_AFTER_DAYS = 28


class Step(IntEnum):
    """What a child may join on a date."""

    STAY_OUT = 0
    NO_HEAD_RISK = 1
    EVERYTHING = 2


@dataclass(frozen=True)
class Protocol:
    """One published way back. Days None: it gives no number for that; a number for contact alone may be missing.

    `contact_free` and `match_free` are days after the end of symptoms, `match_injury` days after the injury, with
    another number for children where `match_injury_child` is given (under `child_until` years). The first two count
    from `rest_days` after the injury where symptoms ended sooner.
    """

    id: str
    source: Source
    contact_free: int | None
    match_free: int | None
    match_injury: int | None
    match_injury_child: int | None = None
    child_until: int = 0
    rest_days: int = 0
    text: str = ""


UK = Protocol(
    "UK grassroots",
    Source("UK Concussion Guidelines for Grassroots Sport", "April 2023, updated November 2024"),
    contact_free=14,
    match_free=14,
    match_injury=21,
    text="no sport within 24 hours; no training with a risk of a head injury until 14 days without symptoms at rest; "
    "no competition before day 21, and only with 14 such days; symptoms for more than 28 days: see a professional",
)
PROTOCOLS: tuple[Protocol, ...] = (
    UK,
    Protocol(
        "New Zealand",
        Source("ACC and New Zealand Rugby concussion guidance"),
        contact_free=None,
        match_free=None,
        match_injury=21,
        match_injury_child=23,
        child_until=19,
        text="23 days under 19, 21 days from 19; gives no earlier day for contact training, so the same day holds here",
    ),
    Protocol(
        "Berlin 2017",
        Source("Concussion in sport group, Berlin consensus, Br J Sports Med", "2017"),
        contact_free=4,
        match_free=5,
        match_injury=None,
        rest_days=2,
        text="six steps of at least 24 hours each after 24 to 48 hours of rest, one step back when it gets worse; the "
        "first step counted from the end of symptoms and from 48 hours after the injury, whichever is later",
    ),
)


@dataclass(frozen=True)
class NotBefore:
    """Dates before which a child does not come, has no contact, plays no match. None: no date can be given."""

    light: dt.date | None
    contact: dt.date | None
    match: dt.date | None


def protocol_of(club: Club) -> Protocol:
    """The protocol named first in the club's `Rule set`, else the UK grassroots one."""
    wanted = [part.strip().casefold() for part in (club.rule_set or "").split(";")]
    return next((one for name in wanted for one in PROTOCOLS if one.id.casefold() == name), UK)


def not_before(protocol: Protocol, row: Return, age: int) -> NotBefore:
    """The earliest dates for one child (whole years); all None while symptoms have not ended.

    UK: injured 1 March, symptoms ended 5 March: contact 19 March, match 22 March; ended 12 March: both 26 March.
    """
    if row.symptoms_ended is None:
        return NotBefore(None, None, None)
    ended = max(row.symptoms_ended, row.injured)
    light = max(row.injured + dt.timedelta(days=2), ended + dt.timedelta(days=1))
    child = protocol.match_injury_child is not None and age < protocol.child_until
    days = protocol.match_injury_child if child else protocol.match_injury
    matches = [] if days is None else [row.injured + dt.timedelta(days=days)]
    free_from = max(ended, row.injured + dt.timedelta(days=protocol.rest_days))
    if protocol.match_free is not None:
        matches.append(free_from + dt.timedelta(days=protocol.match_free))
    match = max([light, *matches])
    contact = match if protocol.contact_free is None else free_from + dt.timedelta(days=protocol.contact_free)
    return NotBefore(light, max(light, contact), max(match, contact))


def step_on(row: Return, dates: NotBefore, date: dt.date) -> Step:
    """The step a child is at on a date; contact needs both the date and the separate yes."""
    if date < row.injured:
        return Step.EVERYTHING
    if dates.light is None or date < dates.light:
        return Step.STAY_OUT
    if dates.contact is not None and date >= dates.contact and row.cleared:
        return Step.EVERYTHING
    return Step.NO_HEAD_RISK


def may_join(step: Step, practice: Practice) -> bool:
    """Whether a step may take part in a practice."""
    if step is Step.NO_HEAD_RISK:
        return practice.kind is Kind.TOGETHER and practice.contact is Contact.NONE and practice.headers_a_rep == 0
    return step is Step.EVERYTHING


def child_step(club: Club, player: str, date: dt.date) -> Step:
    """The lowest step of a child's rows on a date; everything where there is no row."""
    protocol, age = protocol_of(club), club.limit_age(club.player(player))
    rows = [row for row in club.returns if row.player == player]
    return min((step_on(row, not_before(protocol, row, age), date) for row in rows), default=Step.EVERYTHING)


def _blocked(club: Club, planned: PlannedSession, block: Block, player: str, step: Step) -> bool:
    """Whether a block is closed to a step; where the child's station is not known yet, unless every one is open."""
    stations = stations_of(club, planned, block, player)
    return any(not may_join(step, club.practice(station.practice)) for station in stations)


def stand_down_spans(club: Club, planned: PlannedSession) -> tuple[StoodDown, ...]:
    """The parts of a session each returning child is left out of, in neutral words, neighbouring blocks joined.

    Of the session's players; of all who belong to it where none are named yet.
    """
    found: list[StoodDown] = []
    for player in dict.fromkeys(row.player for row in club.returns):
        member = planned.players or tuple(one.id for one in club.members(planned.session))
        if player not in member or not can_come(club, player, planned.date, planned.span):
            continue
        step = child_step(club, player, planned.date)
        if step is Step.STAY_OUT:
            found.append(StoodDown(player=player, why=NEUTRAL, start=planned.start, end=planned.end))
        elif step is Step.NO_HEAD_RISK:
            closed = [b.span for b in blocks_of(club, planned) if _blocked(club, planned, b, player, step)]
            spans = _joined(closed)
            found += [StoodDown(player=player, why=NEUTRAL, start=span.start, end=span.end) for span in spans]
    return tuple(found)


def _joined(spans: list[Span]) -> Iterator[Span]:
    """Spans in order of time with neighbours joined."""
    open_span: Span | None = None
    for span in sorted(spans):
        if open_span is not None and span.start <= open_span.end:
            open_span = Span(open_span.start, max(open_span.end, span.end))
            continue
        if open_span is not None:
            yield open_span
        open_span = span
    if open_span is not None:
        yield open_span


@dataclass(frozen=True)
class OnTheWayBack:
    """One returning child as the welfare officer reads it, confidential."""

    player: str
    row: Return
    dates: NotBefore
    step: Step
    remarks: tuple[str, ...]


def on_the_way_back(club: Club) -> tuple[OnTheWayBack, ...]:
    """Every row of the club's returns with its dates, the step on the last day of the week, and what to ask."""
    protocol, last = protocol_of(club), club.dates[-1]
    found = []
    for row in club.returns:
        dates = not_before(protocol, row, club.limit_age(club.player(row.player)))
        remarks = ["clearance entered" if row.cleared else "no clearance entered: a qualified person decides"]
        since = ((row.symptoms_ended or last) - row.injured).days
        if since > ASK_AFTER_DAYS:
            remarks.append(f"symptoms for more than {ASK_AFTER_DAYS} days: see a professional")
        if row.symptoms_ended is None:
            remarks.append("symptoms not ended: no date can be given")
        for match in club.matches:
            early = dates.match is None or match.date < dates.match or not row.cleared
            if row.player in match.players and row.injured <= match.date and early:
                remarks.append(f"listed for the match on {match.date}, which is too early or not cleared")
        found.append(OnTheWayBack(row.player, row, dates, step_on(row, dates, last), tuple(remarks)))
    return tuple(found)
