"""Which adults are at which session: the part of the booking model about coaches and helpers."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.booking.model import BookingModel


class Adults:
    """The adults of one booking model. Without `outsiders`, help comes only where own coaches are surely too few.

    And to the sessions of `widened`, whatever is said of the others.
    """

    def __init__(self, booking: BookingModel, outsiders: bool, widened: frozenset[str] = frozenset()) -> None:
        self._booking = booking
        self.outsiders, self._widened = outsiders, widened
        self._z: dict[str, dict[str, IntVar]] = {}
        self._own: dict[str, tuple[str, ...]] = {}
        self._kept: dict[str, tuple[str, ...]] = {}
        self._lack: Callable[[BookingModel, str], int] = lambda *_: 0

    def narrow_like(self, other: Adults) -> None:
        """Take over what rules said to another model of the same club."""
        self._kept, self._lack = dict(other._kept), other._lack

    def may_lack(self, lack: Callable[[BookingModel, str], int]) -> None:
        """Say how many adults a session of a model surely has too few of its own.

        Asked once the children's variables are made.
        """
        self._lack = lack

    def keep(self, session: str, coaches: tuple[str, ...]) -> None:
        """Leave a session these adults alone, before there are variables."""
        self._kept[session] = coaches

    def own(self, session: str) -> tuple[str, ...]:
        """The coaches of a session's teams, first of the first team first."""
        if session not in self._own:
            self._own[session] = self._booking.club.own_coaches(session)
        return self._own[session]

    def least_lent(self, session: str) -> int:
        """How many adults of other teams a session needs at least, since it has too few of its own."""
        return max(0, self._lack(self._booking, session))

    def make(self) -> None:
        """Make the variables: every adult who may be at a session, its teams' own first."""
        club, model = self._booking.club, self._booking.model
        for ask in club.sessions:
            lent = self.outsiders or ask.id in self._widened or self.least_lent(ask.id) > 0
            others = [coach.id for coach in club.coaches] if lent else []
            self._z[ask.id] = {}
            for coach in self._kept.get(ask.id) or tuple(dict.fromkeys([*self.own(ask.id), *others])):
                literal = model.new_bool_var(f"adult[{ask.id}|{coach}]")
                self._z[ask.id][coach] = literal
                cancelled = self._booking.cancelled(ask.id)
                if cancelled is not None:
                    model.add_implication(cancelled, ~literal)

    def possible(self, session: str) -> dict[str, IntVar]:
        """The literal of every adult who may be at a session, its teams' own first."""
        return self._z[session]

    def at(self, session: str, coach: str) -> IntVar | None:
        """The literal of an adult at a session; None where the model leaves that adult out."""
        return self._z[session].get(coach)

    def sessions_of(self, coach: str) -> list[str]:
        """The sessions an adult may be at."""
        return [session for session, adults in self._z.items() if coach in adults]

    def keep_from(self, on: IntVar, session: str, coach: str, player: str) -> None:
        """No adult with a child in one session, while the switch is on."""
        literal = self.at(session, coach)
        squad = next((s for s in self._booking.children.squads_in(session) if player in s.players), None)
        if literal is None or squad is None:
            return
        for way in self._booking.children.ways(squad):
            if session in way.sessions:
                there = self._booking.children.is_there(squad, session)
                self._booking.at_most(on, [literal, way.used, there], 2)
