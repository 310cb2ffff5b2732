"""Which adults are at which session: the part of the booking model about coaches and helpers."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.booking.lacking import Staffing
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot


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
        self._staffing: Staffing | None = None
        self._lent: dict[str, int] = {}

    def narrow_like(self, other: Adults) -> None:
        """Take over what rules said to another model of the same club."""
        self._kept, self._staffing = dict(other._kept), other._staffing

    def staffed_by(self, staffing: Staffing) -> None:
        """Say how to count the adults a session has too few of its own."""
        self._staffing = staffing

    def count_own(self) -> dict[str, set[Slot]]:
        """Before there are variables: the slots in which sessions that nobody helps would have too few of their own.

        A session that has too few in every slot is helped in all of them.
        """
        short: dict[str, set[Slot]] = {}
        if self._staffing is None:
            return short
        for ask in self._booking.club.sessions:
            lacks = self._staffing.lacks(self._booking, ask.id)
            self._lent[ask.id] = max(0, min(lacks.values(), default=0))
            if not self._is_helped(ask.id) and ask.id not in self._kept:
                short[ask.id] = {slot for slot, lack in lacks.items() if lack > 0}
        return short

    def _is_helped(self, session: str) -> bool:
        return self.outsiders or session in self._widened or self.least_lent(session) > 0

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
        return self._lent.get(session, 0)

    def make(self) -> None:
        """Make the variables: every adult who may be at a session, its teams' own first."""
        club, model = self._booking.club, self._booking.model
        for ask in club.sessions:
            others = [coach.id for coach in club.coaches] if self._is_helped(ask.id) else []
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
