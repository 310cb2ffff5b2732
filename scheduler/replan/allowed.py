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
from scheduler.plan.presence import can_come
from scheduler.replan.attendance import minute_of
from scheduler.rotation.setting import settings
from scheduler.rotation.shortages import too_few

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel

Reasons = Mapping[tuple[dt.date, str], Sequence[tuple[None, Callable[[Slot], bool]]]]
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
            ask = self._club.session(session)
            wide = [
                slot
                for slot in slots_of(self._club, ask)
                if slot.date.weekday() in ask.days
                and ask.earliest <= slot.start
                and slot.end <= ask.latest
                and slot.start >= minute_of(self._now, slot.date)
            ]
            left = self.at({session: wide})[session]
            self._known[session] = [slot for slot in left if not self.is_short(session, slot)]
        return self._known[session]

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
                (player.id, tuple((one.start - span.start, one.end - span.start) for one in spans))
                for player in self._club.members(session)
                if (spans := self._presence(player, date, span))
            )
            if (session, who) not in self._short:
                self._short[session, who] = self._shortages(session, date, span, who)
            self._then[session, date, span] = self._short[session, who]
        return self._then[session, date, span]

    def _presence(self, player: Player, date: dt.date, span: Span) -> tuple[Span, ...]:
        spans, until = can_come(self._club, player.id, date, span), Span(0, self.home_by(player))
        return tuple(left for one in spans if (left := one.cut(until)) is not None)

    def _shortages(self, session: str, date: dt.date, span: Span, who: Presence) -> tuple[Demand, ...]:
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
        return tuple(
            demand for ring in settings(self._club, alone) for demand in too_few(self._club, ring, self._rules)
        )
