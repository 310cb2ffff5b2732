"""When and where each session of a booking model is held: its slots, and literals for days, sites and moments."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Container, Mapping, Sequence
from typing import TYPE_CHECKING

from scheduler.booking.ground import Ground
from scheduler.booking.slots import Moment, Slot, slots_of
from scheduler.club.club import Club
from scheduler.club.when import DAY_MINUTES
from scheduler.solver import cp_model

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar, LinearExpr

    Linear = LinearExpr | int


class Times:
    """The slots that are left of each session of a club, and variables that say which one it has."""

    def __init__(self, club: Club, slots: Mapping[str, list[Slot]] | None = None) -> None:
        self.club = club
        self.model = cp_model.CpModel()
        self.ground = Ground(club, False)
        self._slots = _every_slot(club) if slots is None else dict(slots)
        self._x: dict[str, dict[Slot, IntVar]] = {}
        self._cancelled: dict[str, IntVar] = {}
        self._any: dict[tuple[str, tuple[int, ...]], Linear] = {}
        self._pairs: dict[tuple[str, str], dict[tuple[dt.date, dt.date], Linear]] = {}
        self._on_day: dict[tuple[str, dt.date], Linear] = {}
        self._minutes: dict[str, IntVar] = {}
        self._moments: dict[str, dict[Moment, Linear]] = {}

    def at(self, session: str, slot: Slot) -> IntVar | None:
        """The literal of a session in a slot; None where that slot was left out."""
        return self._x[session].get(self.ground.stand_in(session, slot))

    def held(self, session: str) -> Linear:
        """1 where the session is held: a plain 1 unless sessions may be cancelled."""
        return ~self._cancelled[session] if session in self._cancelled else 1

    def cancelled(self, session: str) -> IntVar | None:
        """The literal of a cancelled session, where that is allowed."""
        return self._cancelled.get(session)

    def allowed_but(self, out: Container[int]) -> Callable[[str, Slot], bool]:
        """A test of slots: those of a session but the ones whose literals, by their index, are out."""

        def allowed(session: str, slot: Slot) -> bool:
            literal = self.at(session, slot)
            return literal is not None and literal.index not in out

        return allowed

    def where(self, session: str, test: Callable[[Slot], bool]) -> list[IntVar]:
        """The literals of the slots for which the test holds; at most one of them is 1."""
        return [literal for slot, literal in self._x[session].items() if test(slot)]

    def is_where(self, session: str, test: Callable[[Slot], bool]) -> Linear:
        """One literal for all slots for which the test holds (0 where there are none), made once."""
        return self._one_of(session, tuple(i for i, slot in enumerate(self._slots[session]) if test(slot)))

    def may_be_where(self, session: str, test: Callable[[Slot], bool]) -> bool:
        """Whether the test holds for any slot of a session, those that others stand in for included."""
        return any(
            test(slot._replace(pitch=pitch))
            for slot in self._slots[session]
            for pitch in self.ground.pitches(session, slot)
        )

    def _one_of(self, session: str, indexes: tuple[int, ...]) -> Linear:
        slots, key = self._slots[session], (session, indexes)
        if key not in self._any:
            literals = [self._x[session][slots[i]] for i in key[1]]
            if len(literals) <= 1:
                self._any[key] = literals[0] if literals else 0
            elif len(literals) == len(slots):
                self._any[key] = self.held(session)
            else:
                made = self.model.new_bool_var(f"where[{session}|{len(self._any)}]")
                self.model.add(sum(literals) == made)
                self._any[key] = made
        return self._any[key]

    def on_day(self, session: str, date: dt.date) -> Linear:
        """1 where the session is held on this date."""
        if (session, date) not in self._on_day:
            self._on_day[session, date] = self.is_where(session, lambda slot: slot.date == date)
        return self._on_day[session, date]

    def at_site(self, session: str, site: str) -> Linear:
        """1 where the session is held at this site."""
        return self.is_where(session, lambda slot: slot.site == site)

    def moments(self, session: str) -> dict[Moment, Linear]:
        """For each day, start and site the literal that the session is held then and there, in order."""
        if session not in self._moments:
            found: dict[Moment, list[int]] = {}
            for index, slot in enumerate(self._slots[session]):
                found.setdefault(slot.moment, []).append(index)
            self._moments[session] = {m: self._one_of(session, tuple(indexes)) for m, indexes in found.items()}
        return self._moments[session]

    def minute(self, session: str) -> IntVar:
        """The minute of the week at which a session starts; 0 where it is cancelled."""
        if session not in self._minutes:
            made = self.model.new_int_var(0, 7 * DAY_MINUTES, f"minute[{session}]")
            terms = [
                ((moment.date - self.club.week).days * DAY_MINUTES + moment.start) * literal
                for moment, literal in self.moments(session).items()
            ]
            self.model.add(sum(terms) == made)
            self._minutes[session] = made
        return self._minutes[session]

    def day_pairs(self, one: str, other: str) -> dict[tuple[dt.date, dt.date], Linear]:
        """For each pair of dates of two sessions the literal that they are held on these; exactly one is 1.

        One choice of a pair, not two choices of a day, is what makes the bounds of the linear relaxation tight.
        """
        if (one, other) not in self._pairs:
            days = {s: [d for d in self.club.dates if not _never(self.on_day(s, d))] for s in (one, other)}
            pairs: dict[tuple[dt.date, dt.date], Linear] = {
                (first, second): self.model.new_bool_var(f"days[{one}|{first}|{other}|{second}]")
                for first in days[one]
                for second in days[other]
            }
            for first in days[one]:
                row = sum(pairs[first, second] for second in days[other])
                self._link(row, self.on_day(one, first), other)
            for second in days[other]:
                row = sum(pairs[first, second] for first in days[one])
                self._link(row, self.on_day(other, second), one)
            self._pairs[one, other] = pairs
        return self._pairs[one, other]

    def any_of(self, name: str, literals: Sequence[Linear]) -> Linear:
        """A literal that is 1 where any of the others is."""
        if len(literals) == 1:
            return literals[0]
        made = self.model.new_bool_var(name)
        for literal in literals:
            self.model.add(made >= literal)
        self.model.add(made <= sum(literals))
        return made

    def beyond(self, name: str, terms: Sequence[Linear], allowed: int) -> Linear:
        """At least how far the terms add up beyond what is allowed, never below 0."""
        made = self.model.new_int_var(0, len(terms), name)
        self.model.add(made >= sum(terms) - allowed)
        return made

    def _link(self, row: Linear, held: Linear, other: str) -> None:
        """A row of day pairs adds up to the day's literal; where the other session is cancelled there is no pair."""
        if other in self._cancelled:
            self.model.add(row <= held)
            self.model.add(row >= held - self._cancelled[other])
            self.model.add(row <= self.held(other))
        else:
            self.model.add(row == held)


def _every_slot(club: Club) -> dict[str, list[Slot]]:
    """The slots of each session; sessions as long and as wide as each other have the same, worked out once."""
    alike: dict[tuple[int, int | None], list[Slot]] = {}
    for ask in club.sessions:
        if (ask.minutes, ask.zones) not in alike:
            alike[ask.minutes, ask.zones] = slots_of(club, ask)
    return {ask.id: alike[ask.minutes, ask.zones] for ask in club.sessions}


def _never(literal: Linear) -> bool:
    return isinstance(literal, int) and literal == 0
