"""What would make a conflict go away: the cheapest changes a club can decide, each tried out on the booking.

Physical facts (light, ground, where people are) and limits of age are never offered.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from scheduler.club.club import Club
from scheduler.club.people import Coach
from scheduler.club.places import Opening
from scheduler.club.programme import SessionAsk
from scheduler.club.when import DAY_MINUTES, LONG_DAY_NAMES, Span, hhmm
from scheduler.contract import Rule
from scheduler.outcome import Clash
from scheduler.solving import make_solver

MOST_WAYS, MOST_TRIES = 4, 40
A_TRY = 5.0  # deterministic seconds
HOUR = 60


@dataclass(frozen=True)
class Way:
    """One change, what it costs beside others (its rank), and the club as it would be."""

    rank: int
    text: str
    club: Club


def with_ways_out(club: Club, clashes: Sequence[Clash], rules: Sequence[Rule], limit: float) -> tuple[Clash, ...]:
    """The conflicts, each with its ways out; each is tried with the sessions of the other conflicts left aside."""
    from scheduler.reasons.why import sessions_in, without_sessions

    found = []
    left = limit
    for clash in clashes:
        mine = sessions_in(club, clash)
        others = [s for other in clashes if other is not clash for s in sessions_in(club, other) if s not in mine]
        ways, left = ways_out(without_sessions(club, others), mine, rules, left)
        found.append(replace(clash, ways_out=tuple(way.text for way in ways)))
    return tuple(found)


def ways_out(club: Club, sessions: Sequence[str], rules: Sequence[Rule], limit: float) -> tuple[list[Way], float]:
    """Up to four changes about these sessions that give a lawful booking, cheapest first, and the time left."""
    found: list[Way] = []
    left = limit
    candidates = sorted(_candidates(club, sessions), key=lambda way: way.rank)
    for way in candidates[:MOST_TRIES]:
        if len(found) == MOST_WAYS or left <= 0:
            break
        lawful, spent = is_bookable(way.club, rules, min(A_TRY, left))
        left -= spent
        if lawful:
            found.append(way)
    return found, left


def is_bookable(club: Club, rules: Sequence[Rule], limit: float) -> tuple[bool, float]:
    """Whether a lawful booking was found within the limit, and what was spent of it."""
    from scheduler.booking.book import build_booking

    model = build_booking(club, rules, wishes=False)
    solver = make_solver(limit, linearization=2)
    status = solver.solve(model.model).name
    return status in ("OPTIMAL", "FEASIBLE"), float(solver.response_proto.deterministic_time)


def _candidates(club: Club, sessions: Sequence[str]) -> Iterator[Way]:
    asks = [club.session(session) for session in sessions]
    for ask in asks:
        yield from _other_times(club, ask)
        yield from _other_days(club, ask)
        yield from _less_ground(club, ask)
        yield from _anywhere(club, ask)
        rest = tuple(other for other in club.sessions if other.id != ask.id)
        yield Way(9, f"leave out {ask.id} this week", club.model_copy(update={"sessions": rest}))
    yield from _more_adults(club, asks)
    yield from _more_kit(club)
    yield from _more_hours(club, asks)


def _with(club: Club, ask: SessionAsk, **changes: object) -> Club:
    new = ask.model_copy(update=changes)
    return club.model_copy(update={"sessions": tuple(new if one.id == ask.id else one for one in club.sessions)})


def _other_times(club: Club, ask: SessionAsk) -> Iterator[Way]:
    if ask.held_at is not None:
        yield Way(1, f"do not hold {ask.id} at a place or time fixed by hand", _with(club, ask, held_at=None))
        return
    if ask.earliest > 0:
        earliest = max(0, ask.earliest - HOUR)
        yield Way(2, f"let {ask.id} start from {hhmm(earliest)} on", _with(club, ask, earliest=earliest))
    if ask.latest < DAY_MINUTES:
        latest = min(DAY_MINUTES, ask.latest + HOUR)
        yield Way(2, f"let {ask.id} end by {hhmm(latest)}", _with(club, ask, latest=latest))


def _other_days(club: Club, ask: SessionAsk) -> Iterator[Way]:
    for date in club.dates:
        day = date.weekday()
        if day not in ask.days and ask.held_at is None:
            text = f"let {ask.id} be on {LONG_DAY_NAMES[day]} too"
            yield Way(3, text, _with(club, ask, days=ask.days | {day}))


def _less_ground(club: Club, ask: SessionAsk) -> Iterator[Way]:
    most = max((pitch.zones for pitch in club.pitches), default=1)
    now = ask.zones or most
    for zones in range(now - 1, max(0, now - 3), -1):
        what = "one zone" if zones == 1 else f"{zones} zones"
        yield Way(4, f"let {ask.id} make do with {what}", _with(club, ask, zones=zones))


def _anywhere(club: Club, ask: SessionAsk) -> Iterator[Way]:
    if ask.sites or ask.pitches:
        yield Way(3, f"let {ask.id} be on any pitch", _with(club, ask, sites=(), pitches=()))


def _more_adults(club: Club, asks: Sequence[SessionAsk]) -> Iterator[Way]:
    """One more adult, as a helper anywhere, or as a coach of one of the teams."""
    last = club.dates[-1]
    for number in (1, 2):
        helpers = tuple(
            Coach(id=f"another adult {i}", name=f"another adult {i}", helper_only=True, first_aid_until=last,
                  checked_until=last)
            for i in range(number)
        )  # fmt: skip
        what = "one more adult" if number == 1 else "two more adults"
        yield Way(4 + number, f"find {what} for these sessions", club.model_copy(
            update={"coaches": (*club.coaches, *helpers)}))  # fmt: skip
    coach = Coach(id="another coach", name="another coach", first_aid_until=last, checked_until=last, keeper_coach=True)
    for team in dict.fromkeys(team for ask in asks for team in ask.teams):
        teams = tuple(
            one.model_copy(update={"coaches": (*one.coaches, coach.id)}) if one.id == team else one
            for one in club.teams
        )
        update = {"coaches": (*club.coaches, coach), "teams": teams}
        yield Way(5, f"find one more coach who leads {team}", club.model_copy(update=update))


def _more_kit(club: Club) -> Iterator[Way]:
    for row in club.kit:
        for more in (5, 20):
            new = row.model_copy(update={"count": row.count + more})
            kit = tuple(new if one is row else one for one in club.kit)
            text = f"bring up to {more} more of {row.item} to {row.site}"
            yield Way(5 + more // 20, text, club.model_copy(update={"kit": kit}))


def _more_hours(club: Club, asks: Sequence[SessionAsk]) -> Iterator[Way]:
    """An hour or a session more on a lit pitch on one of the days asked for."""
    days = sorted({day for ask in asks for day in ask.days})
    longest = max((ask.minutes for ask in asks), default=HOUR)
    for pitch in club.pitches:
        for day in days:
            rows = [row for row in pitch.openings if day in row.days and row.lit and row.lights_out is None]
            for row in rows[-1:]:
                end = min(DAY_MINUTES, row.span.end + longest)
                later = Opening(days=frozenset({day}), span=Span(row.span.start, end))
                pitches = tuple(
                    one.model_copy(update={"openings": (*one.openings, later)}) if one.id == pitch.id else one
                    for one in club.pitches
                )
                text = f"book {pitch.id} on {LONG_DAY_NAMES[day]} until {hhmm(end)}"
                yield Way(6, text, club.model_copy(update={"pitches": pitches}))
