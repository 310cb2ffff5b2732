"""What would make a conflict go away: the cheapest changes a club can decide, each tried out on the booking.

Physical facts (light, ground, where people are) and limits of age are never offered.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from scheduler.club.club import Club
from scheduler.club.people import Coach, KeeperWish
from scheduler.club.places import Opening
from scheduler.club.programme import SessionAsk
from scheduler.club.when import DAY_MINUTES, LONG_DAY_NAMES, Span, hhmm
from scheduler.contract import Rule
from scheduler.outcome import Clash
from scheduler.plan.plan import WeekPlan
from scheduler.reasons.arithmetic import impossible
from scheduler.solving import make_solver

MOST_WAYS, MOST_OF_A_KIND = 6, 3
MOST_TRIES, MOST_OPEN_TRIES = 6, 3  # of one kind, with all other sessions in their slots, and with all of them open
ADULTS = (5, 6)  # ranks of ways out that ask for one or two adults more
A_TRY = 5.0  # deterministic seconds
HOUR = 60


@dataclass(frozen=True)
class Way:
    """One change: its rank (cheap first), what it is about, a sentence, and the club as it would be."""

    rank: int
    about: str
    text: str
    club: Club


def with_ways_out(
    club: Club, clashes: Sequence[Clash], rules: Sequence[Rule], limit: float, beside: WeekPlan | None
) -> tuple[Clash, ...]:
    """The conflicts, each with its ways out; each is tried with the sessions of the other conflicts left aside.

    `beside`: a booking of all sessions in no conflict, where there is one.
    """
    from scheduler.reasons.why import sessions_in, without_sessions

    found = []
    left = limit
    for clash in clashes:
        mine = sessions_in(club, clash)
        others = [s for other in clashes if other is not clash for s in sessions_in(club, other) if s not in mine]
        held = None if beside is None else _kept(beside, (*mine, *others))
        ways, left = ways_out(without_sessions(club, others), mine, rules, left, held)
        found.append(replace(clash, ways_out=tuple(way.text for way in ways)))
    return tuple(found)


def ways_out(
    club: Club, sessions: Sequence[str], rules: Sequence[Rule], limit: float, beside: WeekPlan | None = None
) -> tuple[list[Way], float]:
    """A few changes about these sessions that each give a lawful booking, cheapest first, and the time left.

    One a session and kind of change; where no single change helps, the fewest sessions that would have to be left out.
    With the others in the slots of `beside` first, which is quick; where nothing helps so, with all of them open.
    """
    found: list[Way] = []
    left = limit
    for held, most in ((beside, MOST_TRIES), (None, MOST_OPEN_TRIES)):
        tried: dict[int, int] = {}
        for way in sorted(_candidates(club, sessions), key=lambda one: one.rank):
            kind = [one for one in found if one.rank == way.rank]
            if len(kind) >= MOST_OF_A_KIND or any(one.about == way.about for one in kind):
                continue
            if len(found) == MOST_WAYS or left <= 0:
                break
            if tried.get(way.rank, 0) == most:
                continue
            if impossible(_alone(way.club, sessions)):
                continue  # these sessions alone cannot be held even so
            tried[way.rank] = tried.get(way.rank, 0) + 1
            lawful, spent = is_lawful(way.club, rules, min(A_TRY, left), held, wide=held is None or way.rank in ADULTS)
            left -= spent
            if lawful:
                found.append(way)
        if found or beside is None:
            break
    if not found and left > 0:
        found = [*fewest_left_out(club, rules, left)]
    return found, left


def _kept(plan: WeekPlan, without: Sequence[str]) -> WeekPlan:
    """The booking without the sessions whose slots are open."""
    sessions = tuple(planned for planned in plan.sessions if planned.session not in without)
    return plan.model_copy(update={"sessions": sessions})


def _alone(club: Club, sessions: Sequence[str]) -> Club:
    return club.model_copy(update={"sessions": tuple(ask for ask in club.sessions if ask.id in sessions)})


def is_lawful(
    club: Club, rules: Sequence[Rule], limit: float, beside: WeekPlan | None = None, wide: bool = True
) -> tuple[bool, float]:
    """Whether counting finds nothing wrong and a lawful booking was found in which every turn can be filled by number.

    And what was spent of the limit. `beside`: sessions that are held in these slots; `wide` as in `Feasible`.
    """
    from scheduler.reasons.feasible import Feasible
    from scheduler.rotation.setting import settings
    from scheduler.rotation.shortages import shortages

    if beside is None and impossible(club):
        return False, 0.0
    feasible = Feasible(club, rules, limit)
    plan = feasible.booking(club, beside, wide)
    if not isinstance(plan, WeekPlan):
        return False, limit - feasible.left
    return not any(shortages(club, ring, rules) for ring in settings(club, plan)), limit - feasible.left


def fewest_left_out(club: Club, rules: Sequence[Rule], limit: float) -> Iterator[Way]:
    """The fewest sessions without which the others can be booked, where that was found."""
    from scheduler.booking.book import build_booking
    from scheduler.reasons.arithmetic import listed

    model = build_booking(club, rules, wishes=False, may_cancel=True)
    off = [(ask.id, literal) for ask in club.sessions if (literal := model.cancelled(ask.id)) is not None]
    model.model.minimize(sum(literal for _, literal in off))
    solver = make_solver(limit, linearization=2)
    if solver.solve(model.model).name in ("OPTIMAL", "FEASIBLE"):
        names = [session for session, literal in off if solver.boolean_value(literal)]
        if names:
            rest = tuple(ask for ask in club.sessions if ask.id not in names)
            yield Way(9, names[0], f"leave out {listed(names)} this week", club.model_copy(update={"sessions": rest}))


def _candidates(club: Club, sessions: Sequence[str]) -> Iterator[Way]:
    asks = [club.session(session) for session in sessions]
    for ask in asks:
        yield from _other_times(club, ask)
        yield from _other_days(club, ask)
        yield from _less_ground(club, ask)
        yield from _anywhere(club, ask)
        rest = tuple(other for other in club.sessions if other.id != ask.id)
        yield Way(9, ask.id, f"leave out {ask.id} this week", club.model_copy(update={"sessions": rest}))
    yield from _more_adults(club, asks)
    yield from _more_keepers(club, asks)
    yield from _more_kit(club)
    yield from _more_hours(club, asks)


def _with(club: Club, ask: SessionAsk, **changes: object) -> Club:
    new = ask.model_copy(update=changes)
    return club.model_copy(update={"sessions": tuple(new if one.id == ask.id else one for one in club.sessions)})


def _other_times(club: Club, ask: SessionAsk) -> Iterator[Way]:
    if ask.held_at is not None:
        yield Way(1, ask.id, f"do not hold {ask.id} at a place or time fixed by hand", _with(club, ask, held_at=None))
        return
    if ask.earliest > 0:
        earliest = max(0, ask.earliest - HOUR)
        yield Way(2, ask.id, f"let {ask.id} start from {hhmm(earliest)} on", _with(club, ask, earliest=earliest))
    if ask.latest < DAY_MINUTES:
        latest = min(DAY_MINUTES, ask.latest + HOUR)
        yield Way(2, ask.id, f"let {ask.id} end by {hhmm(latest)}", _with(club, ask, latest=latest))


def _other_days(club: Club, ask: SessionAsk) -> Iterator[Way]:
    for date in club.dates:
        day = date.weekday()
        if day not in ask.days and ask.held_at is None:
            text = f"let {ask.id} be on {LONG_DAY_NAMES[day]} too"
            yield Way(3, ask.id, text, _with(club, ask, days=ask.days | {day}))


def _less_ground(club: Club, ask: SessionAsk) -> Iterator[Way]:
    most = max((pitch.zones for pitch in club.pitches), default=1)
    now = ask.zones or most
    for zones in range(now - 1, max(0, now - 3), -1):
        what = "one zone" if zones == 1 else f"{zones} zones"
        yield Way(4, ask.id, f"let {ask.id} make do with {what}", _with(club, ask, zones=zones))


def _anywhere(club: Club, ask: SessionAsk) -> Iterator[Way]:
    if ask.sites or ask.pitches:
        yield Way(3, ask.id, f"let {ask.id} be on any pitch", _with(club, ask, sites=(), pitches=()))


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
        yield Way(4 + number, "", f"find {what} for these sessions", club.model_copy(
            update={"coaches": (*club.coaches, *helpers)}))  # fmt: skip
    coach = Coach(id="another coach", name="another coach", first_aid_until=last, checked_until=last, keeper_coach=True)
    for team in dict.fromkeys(team for ask in asks for team in ask.teams):
        teams = tuple(
            one.model_copy(update={"coaches": (*one.coaches, coach.id)}) if one.id == team else one
            for one in club.teams
        )
        update = {"coaches": (*club.coaches, coach), "teams": teams}
        yield Way(5, team, f"find one more coach who leads {team}", club.model_copy(update=update))


def _more_keepers(club: Club, asks: Sequence[SessionAsk]) -> Iterator[Way]:
    """One or two children more who say yes to keeping goal; whether they do is theirs to say."""
    for team in dict.fromkeys(team for ask in asks for team in ask.teams):
        unasked = [p.id for p in club.players if p.team == team and p.keeper is KeeperWish.NOT_ASKED]
        for more, words in ((1, "one more child"), (2, "two more children")):
            chosen = unasked[:more]
            players = tuple(
                player.model_copy(update={"keeper": KeeperWish.WILLING}) if player.id in chosen else player
                for player in club.players
            )
            if len(chosen) == more:
                text = f"find {words} of {team} willing to keep goal"
                yield Way(3 + more, team, text, club.model_copy(update={"players": players}))


def _more_kit(club: Club) -> Iterator[Way]:
    for row in club.kit:
        for more in (5, 20):
            new = row.model_copy(update={"count": row.count + more})
            kit = tuple(new if one is row else one for one in club.kit)
            text = f"bring up to {more} more of {row.item} to {row.site}"
            yield Way(5 + more // 20, row.item, text, club.model_copy(update={"kit": kit}))


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
                yield Way(6, pitch.id, text, club.model_copy(update={"pitches": pitches}))
