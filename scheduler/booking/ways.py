"""Ways to attend, before anything is counted: which children go together and for how long a slot lets them stay.

A squad (children alike for the booking) has ways to attend: subsets of its sessions with a count of children each. Most
squads have the one way, everybody to everything; others only where a rule said beforehand that a limit may bite.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

from scheduler.booking.losses import Caps, Worth, least_lost
from scheduler.booking.slots import Slot
from scheduler.booking.squads import Squad, Stay, Stays, squads_of
from scheduler.club.when import Span

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar, LinearExpr

    from scheduler.booking.model import BookingModel

    Linear = LinearExpr | int


@dataclass(frozen=True)
class Way:
    """One way for a squad to attend: the sessions, how many children, and whether anybody does (1: always)."""

    squad: Squad
    sessions: tuple[str, ...]
    count: IntVar | int
    used: IntVar | int


class Ways:
    """The ways to attend of one booking model. `certain_only` does not hold for the sessions of `widened`."""

    def __init__(
        self, booking: BookingModel, free: bool, certain_only: bool, widened: frozenset[str] = frozenset()
    ) -> None:
        self._booking = booking
        self._certain_only, self._widened = certain_only, widened
        self._stays = Stays(booking.club)
        alone = {player.id for player in booking.club.players} if free else set()
        self.squads: tuple[Squad, ...] = squads_of(booking.club, alone)
        self._choosing: set[Squad] = set(self.squads) if free else set()
        self._cuttable: set[Squad] = set(self.squads) if free else set()
        self._most_sessions: dict[Squad, int] = {}
        self._caps: dict[Squad, Caps] = {}
        self._there: dict[tuple[Squad, str], frozenset[Slot]] = {}
        self._once_a_day = False
        self._ways: dict[Squad, tuple[Way, ...]] = {}
        self._presences: dict[tuple[Squad, str], dict[tuple[Span, ...], frozenset[Slot]]] = {}
        self._groups: dict[tuple[Squad, str], dict[Stay, list[Slot]]] = {}
        self._least_lost: dict[Squad, int] = {}

    # before there are variables

    def narrow_like(self, other: Ways) -> None:
        """Take over what rules said to another model of the same club."""
        self._stays, self.squads, self._once_a_day = other._stays, other.squads, other._once_a_day
        self._choosing, self._cuttable = set(other._choosing), set(other._cuttable)
        self._most_sessions, self._caps = dict(other._most_sessions), dict(other._caps)

    def choose_like(self, other: Ways) -> None:
        """Leave whoever has a choice in a model of more sessions the same choice here, where it may seem needless."""
        left_out = {player for squad in other._choosing for player in squad.players}
        cut = {player for squad in other._cuttable for player in squad.players}
        for squad in self.squads:
            if squad not in self._cuttable and not cut.isdisjoint(squad.players):
                self.may_be_cut(squad)
            elif not left_out.isdisjoint(squad.players):
                self.may_be_left_out(squad)

    def may_be_left_out(self, squad: Squad) -> None:
        """A limit may bite: let the model choose which sessions these children come to."""
        self._choosing.add(squad)

    def comes_to_at_most(self, squad: Squad, sessions: int) -> None:
        """Whatever the slots, no child of the squad can come to more sessions than this."""
        self._most_sessions[squad] = min(sessions, self._most_sessions.get(squad, sessions))

    def come_once_a_day(self) -> None:
        """Say that some rule keeps every child to one session a day."""
        self._once_a_day = not self._booking.switchable

    def never_on_one_day(self, one: str, other: str, squad: Squad | None = None) -> bool:
        """Whether one session a day alone keeps two sessions on different days, for a squad or for everybody."""
        if not self._once_a_day:
            return False
        return squad is not None or any(
            len(self.ways(both)) == 1 and all(self._surely_there(both, session) for session in (one, other))
            for both in self.squads_in(one)
            if other in both.sessions
        )

    def may_be_cut(self, squad: Squad, minutes: int | None = None, load: int | None = None) -> None:
        """Minutes may run out: let the model also end a session early for these children, one by one.

        `minutes`, `load`: whatever the slots, no child can have more than so much in the week.
        """
        if squad not in self.squads:
            return
        self._caps.update({Squad((player,), squad.sessions): Caps(None, minutes, load) for player in squad.players})
        singles = tuple(Squad((player,), squad.sessions) for player in squad.players)
        if squad in self._most_sessions:
            self._most_sessions.update(dict.fromkeys(singles, self._most_sessions[squad]))
        at = self.squads.index(squad)
        self.squads = (*self.squads[:at], *singles, *self.squads[at + 1 :])
        self._choosing |= set(singles)
        self._cuttable |= set(singles)

    def forget_slots(self) -> None:
        """Look at the slots of sessions anew, some being left out from here on; what is lost at least stays."""
        for squad in self.squads:
            self.least_lost(squad)
        for known in (self._there, self._presences, self._groups):
            known.clear()

    def has_choice(self, squad: Squad) -> bool:
        """Whether the model may choose which sessions the children of a squad come to."""
        open_all = not self._certain_only or not self._widened.isdisjoint(squad.sessions)
        return squad in self._choosing and (open_all or squad in self._cuttable or self.least_lost(squad) > 0)

    # ways

    def make(self) -> None:
        """Make the variables of every squad that has a choice."""
        model = self._booking.model
        for squad in self.squads:
            if not self.has_choice(squad):
                self._ways[squad] = (Way(squad, squad.sessions, squad.size, 1),)
                continue
            made: list[Way] = []
            for number in range(len(squad.sessions), -1, -1):
                for sessions in combinations(squad.sessions, number):
                    used = model.new_bool_var(f"way[{squad.first}|{sessions}]")
                    count = used
                    if squad.size > 1:
                        count = model.new_int_var(0, squad.size, f"count[{squad.first}|{sessions}]")
                        model.add(count >= used)
                        model.add(count <= squad.size * used)
                    made.append(Way(squad, sessions, count, used))
            model.add(sum(way.count for way in made) == squad.size)
            self._ways[squad] = tuple(made)

    def ways(self, squad: Squad) -> tuple[Way, ...]:
        """The ways of a squad, the one with every session first."""
        return self._ways[squad]

    def squads_in(self, session: str) -> tuple[Squad, ...]:
        """The squads that belong to a session."""
        return tuple(squad for squad in self.squads if session in squad.sessions)

    # stays

    def stay(self, squad: Squad, session: str, slot: Slot) -> Stay:
        """How long each child of the squad would be there in a slot."""
        return self._stays.of(squad, session, slot)

    def presences(self, squad: Squad, session: str) -> dict[tuple[Span, ...], frozenset[Slot]]:
        """The slots of a session by when a child of the squad would be there, in minutes from the session's start."""
        key = (squad, session)
        if key not in self._presences:
            found: dict[tuple[Span, ...], list[Slot]] = {}
            for slot in self._booking.slots(session):
                found.setdefault(self._stays.spans(squad, session, slot), []).append(slot)
            self._presences[key] = {spans: frozenset(slots) for spans, slots in found.items()}
        return self._presences[key]

    def groups(self, squad: Squad, session: str) -> dict[Stay, list[Slot]]:
        """The slots of a session by the stay of a squad in them, in order of first appearance."""
        key = (squad, session)
        if key not in self._groups:
            found: dict[Stay, list[Slot]] = {}
            for slot in self._booking.slots(session):
                found.setdefault(self.stay(squad, session, slot), []).append(slot)
            self._groups[key] = found
        return self._groups[key]

    def staying(self, squad: Squad, session: str) -> list[tuple[Stay, Linear]]:
        """Each stay of a squad in a session with the literal that the session is in such a slot."""
        found: list[tuple[Stay, Linear]] = []
        for stay, slots in self.groups(squad, session).items():
            found.append((stay, self._booking.is_where(session, set(slots).__contains__)))
        return found

    def _slots_there(self, squad: Squad, session: str) -> frozenset[Slot]:
        key = (squad, session)
        if key not in self._there:
            groups = self.groups(squad, session)
            self._there[key] = frozenset(slot for stay, slots in groups.items() if stay.minutes > 0 for slot in slots)
        return self._there[key]

    def _surely_there(self, squad: Squad, session: str) -> bool:
        return len(self._slots_there(squad, session)) == len(self._booking.slots(session))

    def there_on(self, squad: Squad, session: str, date: dt.date) -> Linear:
        """1 where the session is on this date and whoever comes is there for at least a minute."""
        there = self._slots_there(squad, session)
        if self._surely_there(squad, session):
            return self._booking.on_day(session, date)
        return self._booking.is_where(session, lambda slot: slot.date == date and slot in there)

    def is_there(self, squad: Squad, session: str) -> Linear:
        """1 where the session's slot lets whoever comes be there for at least a minute."""
        there = self._slots_there(squad, session)
        if there and self._surely_there(squad, session):
            return self._booking.held(session)
        return self._booking.is_where(session, there.__contains__)

    def least_lost(self, squad: Squad) -> int:
        """Minutes that the children of a squad lose at least, by counting alone, whatever the slots."""
        if squad not in self._least_lost:
            worths = {}
            for session in squad.sessions:
                stays = list(self.groups(squad, session))
                can = min((stay.can for stay in stays), default=0)
                down = min((stay.can - stay.minutes for stay in stays), default=0)
                loads = tuple(self._stays.loads(session, stays[0])) if len(stays) == 1 else ()
                worths[session] = Worth(can, max(0, can - down), loads)
            caps = replace(self._caps.get(squad, Caps()), sessions=self._most_sessions.get(squad))
            self._least_lost[squad] = squad.size * least_lost(worths, caps)
        return self._least_lost[squad]
