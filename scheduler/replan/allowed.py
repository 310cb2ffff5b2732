"""Where a session may still be held, as far as slot by slot can tell: what every rule rules out, and by counting who
could come. No solver. A slot left out here is unlawful whatever else moves; one that is left may still be.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, cast

from scheduler.booking.build import posting
from scheduler.booking.slots import Slot, slots_of
from scheduler.booking.standdown import AGE_LIMIT
from scheduler.club.club import Club
from scheduler.club.people import Player
from scheduler.club.when import DAY_MINUTES, Span
from scheduler.contract import Rule, is_narrowing_rule, sends_home
from scheduler.outcome import Demand
from scheduler.plan.plan import PlannedSession, StoodDown, WeekPlan
from scheduler.plan.presence import away_spans, can_come, cut_out
from scheduler.replan.attendance import minute_of
from scheduler.rotation.setting import Ring, settings
from scheduler.rotation.shortages import SIZES, fewest_there, too_few

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel

Reasons = Mapping[tuple[dt.date, str], Sequence[tuple[None, Callable[[Slot], bool]]]]
ONCE_A_DAY = "age-phase load"  # the rule by which every child trains once a day
Member = tuple[str, tuple[Span, ...], int]
Presence = tuple[tuple[str, tuple[tuple[int, int], ...]], ...]


class _Nobody:
    """Stands in for what a model knows of children and adults: nothing is left out for their sake here."""

    def __getattr__(self, name: str) -> Callable[..., None]:
        return lambda *_args, **_options: None


class _Narrowed:
    """What a rule narrows before there are variables: the slots of a few sessions, and nothing else."""

    switchable = False

    def __init__(self, slots: dict[str, list[Slot]]) -> None:
        self._slots = slots
        self.children = self.adults = _Nobody()

    def switch(self, _rule: str, _subject: str, _sentence: str = "") -> None:
        """Everything holds here."""

    def rule_out(self, _on: None, session: str, unlawful: Callable[[Slot], bool]) -> None:
        """Leave out every slot of a session for which the test holds."""
        self._slots[session] = [slot for slot in self._slots[session] if not unlawful(slot)]

    def rule_out_by_place(self, session: str, reasons: Reasons) -> None:
        """Leave out every slot of a session for which a test of its date and pitch holds."""
        self._slots[session] = [
            slot
            for slot in self._slots[session]
            if not any(unlawful(slot) for _, unlawful in reasons.get((slot.date, slot.pitch), ()))
        ]

    def slots(self, session: str) -> list[Slot]:
        """The slots that are left."""
        return self._slots[session]

    def squads(self) -> tuple[()]:
        """No child is looked at."""
        return ()

    def zones_are_used_once(self) -> None:
        """Of no use to single slots."""


class Allowed:
    """The slots of sessions, worked out when they are asked for."""

    def __init__(self, club: Club, rules: Sequence[Rule], now: dt.datetime | None) -> None:
        self._club, self._rules, self._now = club, rules, now
        self._known: dict[str, list[Slot]] = {}
        self._short: dict[tuple[str, Presence], tuple[Demand, ...]] = {}
        self._then: dict[tuple[str, dt.date, Span], tuple[Demand, ...]] = {}
        self._needs: dict[str, int] = {}
        self._of_date: dict[tuple[str, dt.date], tuple[Member, ...]] = {}
        self._send_home = [rule for rule in rules if sends_home(rule) and rule.off(club) is None]

    def at(self, slots: dict[str, list[Slot]]) -> dict[str, list[Slot]]:
        """Those of these slots that no rule excludes."""
        asks = tuple(self._club.session(session) for session in slots)
        part = self._club.model_copy(update={"sessions": asks})
        model = cast("BookingModel", cast("Any", _Narrowed(dict(slots))))
        for rule in posting(part, self._rules):
            if is_narrowing_rule(rule):
                rule.narrow(part, model)
        return {session: model.slots(session) for session in slots}

    def slots(self, session: str) -> list[Slot]:
        """The slots still to come of a session that are open to it and can be played with those who could come."""
        if session not in self._known:
            self.look_at([session])
        return self._known[session]

    def look_at(self, sessions: Sequence[str]) -> None:
        """Work out the slots of several sessions at once, which takes less than one after the other."""
        new = [session for session in sessions if session not in self._known]
        for session, left in self.at({session: self._wide(session) for session in new}).items():
            times = {(slot.date, slot.start): slot for slot in left}
            short = {time for time, slot in times.items() if self.is_short(session, slot)}
            self._known[session] = [slot for slot in left if (slot.date, slot.start) not in short]

    def _wide(self, session: str) -> list[Slot]:
        """The slots still to come that a session asks for."""
        ask = self._club.session(session)
        return [
            slot
            for slot in slots_of(self._club, ask)
            if slot.date.weekday() in ask.days
            and ask.earliest <= slot.start
            and slot.end <= ask.latest
            and slot.start >= minute_of(self._now, slot.date)
        ]

    def home_by(self, player: Player) -> int:
        """The minute of the day by which the rules have a child go home; the end of the day where they say nothing."""
        times = (rule.home_by(self._club, player) for rule in self._send_home)
        return min((time for time in times if time is not None), default=DAY_MINUTES)

    def is_short(self, session: str, slot: Slot) -> bool:
        """Whether a session cannot be played in a slot, even if everybody comes who is not away."""
        return bool(self.short(session, slot.date, slot.span))

    def short(self, session: str, date: dt.date, span: Span) -> tuple[Demand, ...]:
        """What cannot be met in a session held then, even if everybody comes who is not away, until they go home."""
        if (session, date, span) not in self._then:
            who = tuple(
                (player, tuple((one.start - span.start, one.end - span.start) for one in spans))
                for player, away, home in self._members(session, date)
                if (spans := _presence(span, away, home))
            )
            if (session, who) not in self._short:
                self._short[session, who] = self._shortages(session, date, span, who)
            self._then[session, date, span] = self._short[session, who]
        return self._then[session, date, span]

    def both_on(self, one: str, other: str, date: dt.date) -> bool:
        """Whether two sessions could be held on one day: every child comes to one of them at most."""
        club, sizes = self._club, {rule.name for rule in self._rules if rule.off(self._club) is None}
        if not {ONCE_A_DAY, SIZES} <= sizes:
            return True
        who = {player.id for session in (one, other) for player in club.members(session)}
        come = sum(1 for player in who if can_come(club, player, date, Span(0, DAY_MINUTES)))
        return come >= self._fewest(one) + self._fewest(other)

    def _fewest(self, session: str) -> int:
        """How many children a session needs at least."""
        if session not in self._needs:
            members = tuple((player.id, ((0, DAY_MINUTES),)) for player in self._club.members(session))
            rings = self._alone(session, self._club.week, Span(0, DAY_MINUTES), members)
            self._needs[session] = max((fewest_there(ring) for ring in rings), default=0)
        return self._needs[session]

    def _members(self, session: str, date: dt.date) -> tuple[Member, ...]:
        """Who could come to a session on a date: when they are away then, and when they go home."""
        if (session, date) not in self._of_date:
            self._of_date[session, date] = tuple(
                (player.id, away_spans(self._club, player.id, date), self.home_by(player))
                for player in self._club.members(session)
            )
        return self._of_date[session, date]

    def _shortages(self, session: str, date: dt.date, span: Span, who: Presence) -> tuple[Demand, ...]:
        rings = self._alone(session, date, span, who)
        return tuple(demand for ring in rings for demand in too_few(self._club, ring, self._rules))

    def _alone(self, session: str, date: dt.date, span: Span, who: Presence) -> tuple[Ring, ...]:
        """A session held then with these children, and nothing beside it."""
        ask = self._club.session(session)
        pitch = self._club.pitches[0]
        down = tuple(
            StoodDown(player=player, why=AGE_LIMIT, start=span.start + spans[-1][1], end=span.end)
            for player, spans in who
            if span.start + spans[-1][1] < span.end
        )
        planned = PlannedSession(
            session=session, teams=ask.teams, date=date, start=span.start, end=span.end, pitch=pitch.id, zones=(1,),
            coaches=(), players=tuple(player for player, _ in who), sides=("one", "other"), stood_down=down,
        )  # fmt: skip
        alone = WeekPlan(club="", week=self._club.week, timezone=self._club.timezone, sessions=(planned,))
        return tuple(settings(self._club, alone))


def _presence(span: Span, away: tuple[Span, ...], home: int) -> tuple[Span, ...]:
    """What is left of a span for somebody who is away then, until the way home."""
    spans = cut_out((span,), away) if away else (span,)
    return spans if home >= span.end else tuple(left for one in spans if (left := one.cut(Span(0, home))) is not None)
