"""Changes a club could decide that may make a conflict go away, each with the club as it would be.

Physical facts (light, ground, where people are) and limits of age are never offered.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.club.people import Coach, KeeperWish
from scheduler.club.places import Opening
from scheduler.club.programme import SessionAsk
from scheduler.club.when import DAY_MINUTES, LONG_DAY_NAMES, Span, hhmm
from scheduler.outcome import Demand

HOUR = 60
HELD_AT = "held at"
TIMES, ADULTS_THERE, GROUND, KIT, PLAYERS = (
    "days and times asked for", "coach cover", "pitch bookings", "kit", "enough to play",
)  # fmt: skip


@dataclass(frozen=True)
class Way:
    """One change: its rank (cheap first), what it is about, a sentence, and the club as it would be.

    `touches`: the demands that the change could make milder, each a rule and how its subjects begin; none: any.
    `without`: the session that is left out by it.
    """

    rank: int
    about: str
    text: str
    club: Club
    touches: tuple[tuple[str, str], ...] = ()
    without: str = ""

    @property
    def only_times(self) -> bool:
        """Whether all that changes is which of the times offered to all that is opened a session may have."""
        return (
            bool(self.without)
            or bool(self.touches)
            and all(rule == TIMES and not start.endswith(HELD_AT) for rule, start in self.touches)
        )

    def could_help(self, demands: Sequence[Demand]) -> bool:
        """Whether it bears on any of these demands: if on none, they are as they were and clash as before."""
        return not self.touches or any(
            demand.rule == rule and demand.subject.startswith(start)
            for demand in demands
            for rule, start in self.touches
        )


def candidates(club: Club, sessions: Sequence[str]) -> Iterator[Way]:
    """Every change about these sessions that is worth trying, session by session; whether it helps is not known."""
    asks = [club.session(session) for session in sessions]
    for ask in asks:
        yield from _other_times(club, ask)
        yield from _other_days(club, ask)
        yield from _less_ground(club, ask)
        yield from _anywhere(club, ask)
        rest = tuple(other for other in club.sessions if other.id != ask.id)
        left = club.model_copy(update={"sessions": rest})
        yield Way(9, ask.id, f"leave out {ask.id} this week", left, without=ask.id)
    yield from _more_adults(club, asks)
    yield from _more_keepers(club, asks)
    yield from _more_kit(club)
    yield from _more_hours(club, asks)


def opened(club: Club, sessions: Sequence[str]) -> Club:
    """The club with some sessions at every time and place that any of the changes would give them."""
    new = {}
    for ask in (club.session(session) for session in sessions):
        times = {
            "earliest": max(0, ask.earliest - HOUR),
            "latest": min(DAY_MINUTES, ask.latest + HOUR),
            "days": frozenset(range(7)) if ask.held_at is None else ask.days,
            "sites": (),
            "pitches": (),
        }
        new[ask.id] = ask.model_copy(update=times)
    return club.model_copy(update={"sessions": tuple(new.get(ask.id, ask) for ask in club.sessions)})


def _asked(ask: SessionAsk, *columns: str) -> tuple[tuple[str, str], ...]:
    return tuple((TIMES, f"{ask.id}, {column}") for column in columns)


def _with(club: Club, ask: SessionAsk, **changes: object) -> Club:
    new = ask.model_copy(update=changes)
    return club.model_copy(update={"sessions": tuple(new if one.id == ask.id else one for one in club.sessions)})


def _other_times(club: Club, ask: SessionAsk) -> Iterator[Way]:
    if ask.held_at is not None:
        text = f"do not hold {ask.id} at a place or time fixed by hand"
        yield Way(1, ask.id, text, _with(club, ask, held_at=None), _asked(ask, HELD_AT))
        return
    if ask.earliest > 0:
        earliest = max(0, ask.earliest - HOUR)
        text = f"let {ask.id} start from {hhmm(earliest)} on"
        yield Way(2, ask.id, text, _with(club, ask, earliest=earliest), _asked(ask, "earliest"))
    if ask.latest < DAY_MINUTES:
        latest = min(DAY_MINUTES, ask.latest + HOUR)
        text = f"let {ask.id} end by {hhmm(latest)}"
        yield Way(2, ask.id, text, _with(club, ask, latest=latest), _asked(ask, "latest"))


def _other_days(club: Club, ask: SessionAsk) -> Iterator[Way]:
    for date in club.dates:
        day = date.weekday()
        if day not in ask.days and ask.held_at is None:
            text = f"let {ask.id} be on {LONG_DAY_NAMES[day]} too"
            yield Way(3, ask.id, text, _with(club, ask, days=ask.days | {day}), _asked(ask, "days"))


def _less_ground(club: Club, ask: SessionAsk) -> Iterator[Way]:
    most = max((pitch.zones for pitch in club.pitches), default=1)
    now = ask.zones or most
    for zones in range(now - 1, max(0, now - 3), -1):
        what = "one zone" if zones == 1 else f"{zones} zones"
        yield Way(4, ask.id, f"let {ask.id} make do with {what}", _with(club, ask, zones=zones), ((GROUND, ""),))


def _anywhere(club: Club, ask: SessionAsk) -> Iterator[Way]:
    if ask.sites or ask.pitches:
        new = _with(club, ask, sites=(), pitches=())
        yield Way(3, ask.id, f"let {ask.id} be on any pitch", new, _asked(ask, "sites", "pitches"))


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
            update={"coaches": (*club.coaches, *helpers)}), ((ADULTS_THERE, ""),))  # fmt: skip
    coach = Coach(id="another coach", name="another coach", first_aid_until=last, checked_until=last, keeper_coach=True)
    for team in dict.fromkeys(team for ask in asks for team in ask.teams):
        teams = tuple(
            one.model_copy(update={"coaches": (*one.coaches, coach.id)}) if one.id == team else one
            for one in club.teams
        )
        update = {"coaches": (*club.coaches, coach), "teams": teams}
        yield Way(5, team, f"find one more coach who leads {team}", club.model_copy(update=update),
                  ((ADULTS_THERE, ""),))  # fmt: skip


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
                goals = tuple((PLAYERS, f"{ask.id}, goals") for ask in asks if team in ask.teams)
                yield Way(3 + more, team, text, club.model_copy(update={"players": players}), goals)


def _more_kit(club: Club) -> Iterator[Way]:
    for row in club.kit:
        for more in (5, 20):
            new = row.model_copy(update={"count": row.count + more})
            kit = tuple(new if one is row else one for one in club.kit)
            text = f"bring up to {more} more of {row.item} to {row.site}"
            touches = ((KIT, f"{row.item} at {row.site}, "),)
            yield Way(5 + more // 20, row.item, text, club.model_copy(update={"kit": kit}), touches)


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
                yield Way(6, pitch.id, text, club.model_copy(update={"pitches": pitches}), ((GROUND, ""),))
