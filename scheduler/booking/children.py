"""Who comes to which session and for how long: the part of the booking model about children.

A squad (children alike for the booking) has ways to attend: subsets of its sessions with a count of children each. Most
squads have the one way, everybody to everything; others only where a rule said beforehand that a limit may bite.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from scheduler.booking.slots import Slot
from scheduler.booking.squads import Squad, Stay, Stays, squads_of
from scheduler.plan.timeline import timeline

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


class Children:
    """The children of one booking model."""

    def __init__(self, booking: BookingModel, free: bool, certain_only: bool) -> None:
        self._booking = booking
        self._certain_only = certain_only
        self._stays = Stays(booking.club)
        alone = {player.id for player in booking.club.players} if free else set()
        self.squads: tuple[Squad, ...] = squads_of(booking.club, alone)
        self._choosing: set[Squad] = set(self.squads) if free else set()
        self._cuttable: set[Squad] = set(self.squads) if free else set()
        self._most_sessions: dict[Squad, int] = {}
        self._most_minutes: dict[Squad, int] = {}
        self._there: dict[tuple[Squad, str], frozenset[Slot]] = {}
        self._once_a_day = False
        self.counted = False
        self._ways: dict[Squad, tuple[Way, ...]] = {}
        self._cuts: dict[tuple[Squad, tuple[str, ...], str], IntVar] = {}
        self._coming: dict[tuple[Squad, str], Linear] = {}
        self._groups: dict[tuple[Squad, str], dict[Stay, list[Slot]]] = {}

    # before there are variables

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

    def may_be_cut(self, squad: Squad, minutes: int | None = None) -> None:
        """Minutes may run out: let the model also end a session early for these children, one by one.

        `minutes`: whatever the slots, no child can be there for more than so many in the week.
        """
        if squad not in self.squads:
            return
        if minutes is not None:
            self._most_minutes.update({Squad((player,), squad.sessions): minutes for player in squad.players})
        singles = tuple(Squad((player,), squad.sessions) for player in squad.players)
        if squad in self._most_sessions:
            self._most_sessions.update(dict.fromkeys(singles, self._most_sessions[squad]))
        at = self.squads.index(squad)
        self.squads = (*self.squads[:at], *singles, *self.squads[at + 1 :])
        self._choosing |= set(singles)
        self._cuttable |= set(singles)

    # ways

    def make(self) -> None:
        """Make the variables of every squad that has a choice."""
        model = self._booking.model
        for squad in self.squads:
            certain = squad in self._cuttable or self.least_lost(squad) > 0
            if squad not in self._choosing or (self._certain_only and not certain):
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
        stays = {session: list(self.groups(squad, session)) for session in squad.sessions}
        can = {session: min((stay.can for stay in of), default=0) for session, of in stays.items()}
        down = {session: min((stay.can - stay.minutes for stay in of), default=0) for session, of in stays.items()}
        most = self._most_sessions.get(squad, len(squad.sessions))
        saved = sorted((max(0, can[session] - down[session]) for session in squad.sessions), reverse=True)
        least = sum(can.values()) - sum(saved[:most])
        if squad in self._most_minutes:
            least = max(least, sum(can.values()) - self._most_minutes[squad])
        return squad.size * least

    # minutes and loads of one child

    def cut(self, way: Way, session: str) -> IntVar | int:
        """Minutes cut off the end of a session; 0 where no limit of minutes can bite."""
        if way.squad not in self._cuttable:
            return 0
        key = (way.squad, way.sessions, session)
        if key not in self._cuts:
            model = self._booking.model
            stays = self.staying(way.squad, session)
            longest = max((stay.minutes for stay, _ in stays), default=0)
            cut = model.new_int_var(0, max(0, longest - 1), f"cut[{way.squad.first}|{len(self._cuts)}|{session}]")
            model.add(cut <= sum(max(0, stay.minutes - 1) * literal for stay, literal in stays))
            model.add(cut <= longest * way.used)
            self._cuts[key] = cut
        return self._cuts[key]

    def minutes(self, way: Way, session: str) -> Linear:
        """Minutes one child attending in this way is there in a session."""
        stays = self.staying(way.squad, session)
        return sum(stay.minutes * literal for stay, literal in stays) - self.cut(way, session)

    def load(self, way: Way, session: str) -> Linear:
        """At least the planned load (RPE x minutes, block by block) of one child attending in this way."""
        stays, cut = self.staying(way.squad, session), self.cut(way, session)
        if isinstance(cut, int):
            return sum(self._loads(session, stay)[0] * literal for stay, literal in stays)
        model = self._booking.model
        most = max((self._loads(session, stay)[0] for stay, _ in stays), default=0)
        load = model.new_int_var(0, most, f"load[{way.squad.first}|{way.sessions}|{session}]")
        for stay, literal in stays:
            table = self._loads(session, stay)
            table += [0] * (max(0, max(s.minutes for s, _ in stays)) - len(table) + 1)
            after = model.new_int_var(0, most, f"after[{way.squad.first}|{way.sessions}|{session}|{len(stay.blocks)}]")
            model.add_element(cut, table, after)
            row = model.add(load >= after)
            if not isinstance(literal, int):
                row.only_enforce_if(literal)
        return load

    def _loads(self, session: str, stay: Stay) -> list[int]:
        """The load of a stay with 0, 1, 2 ... minutes cut off its end."""
        blocks = timeline(self._booking.club, session)
        rpes = [max((station.practice.rpe or 0 for station in block.stations), default=0) for block in blocks] + [0]
        by_minute = [rpe for rpe, minutes in zip(rpes, stay.blocks, strict=True) for _ in range(minutes)]
        loads = [sum(by_minute)]
        for rpe in reversed(by_minute):
            loads.append(loads[-1] - rpe)
        return loads

    def full_load(self, session: str) -> int:
        """The planned load of a child who is there for all of a session."""
        blocks = timeline(self._booking.club, session)
        return self._loads(session, Stay(0, (*(block.span.minutes for block in blocks), 0)))[0]

    def leaves(self, squad: Squad, session: str, slot: Slot) -> int:
        """The minute of the day at which a child of the squad leaves a session held in a slot; 0: never there."""
        stay = self.stay(squad, session, slot)
        return slot.start + stay.leaves if stay.minutes else 0

    # how many come

    def attending(self, squad: Squad, session: str) -> Linear:
        """How many children of a squad are to come to a session, if its slot lets them."""
        ways = self.ways(squad)
        if len(ways) == 1:
            return squad.size
        return sum(way.count for way in ways if session in way.sessions)

    def coming(self, squad: Squad, session: str) -> Linear:
        """How many children of a squad come to a session for at least a minute."""
        key = (squad, session)
        if key not in self._coming:
            here, count = self.is_there(squad, session), self.attending(squad, session)
            if isinstance(count, int):
                self._coming[key] = count * here
            elif isinstance(here, int):
                self._coming[key] = count if here else 0
            else:
                come = self._booking.model.new_int_var(0, squad.size, f"come[{squad.first}|{session}]")
                self._booking.model.add(come <= count)
                self._booking.model.add(come <= squad.size * here)
                self._booking.model.add(come >= count - squad.size * (1 - here))
                self._coming[key] = come
        return self._coming[key]

    def headcount(self, session: str) -> Linear:
        """How many children come to a session, those stood down from a part of it included."""
        return sum(self.coming(squad, session) for squad in self.squads_in(session))

    def least_headcount(self, session: str) -> int:
        """The fewest who come to a session that is held, by those alone who have no choice."""
        return sum(
            squad.size
            for squad in self.squads_in(session)
            if len(self.ways(squad)) == 1 and self._surely_there(squad, session)
        )

    # what is lost

    def lost(self, squad: Squad, session: str) -> Linear:
        """Minutes that the children of a squad are stood down from a session, limits and choice together."""
        self.counted = True
        model, ways = self._booking.model, self.ways(squad)
        cuts = [self.cut(way, session) for way in ways if session in way.sessions]
        cut: Linear = sum(cuts)
        count, stays = self.attending(squad, session), self.staying(squad, session)
        if isinstance(count, int) or len(stays) == 1:
            if isinstance(count, int):
                return sum((squad.size * stay.can - count * stay.minutes) * here for stay, here in stays) + cut
            stay, here = stays[0]
            if isinstance(here, int):
                return squad.size * stay.can - count * stay.minutes + cut
        most = squad.size * max((stay.can for stay, _ in stays), default=0)
        lost = model.new_int_var(0, most, f"lost[{squad.first}|{session}]")
        for stay, here in stays:
            row = model.add(lost >= squad.size * stay.can - count * stay.minutes)
            if not isinstance(here, int):
                row.only_enforce_if(here)
        return lost + cut

    def stood_down(self, squad: Squad) -> Linear:
        """How many children of a squad are stood down from anything in the week."""
        model, ways = self._booking.model, self.ways(squad)
        reasons: list[Linear] = []
        for session in squad.sessions:
            reasons += [here for stay, here in self.staying(squad, session) if stay.can > stay.minutes]
        for way in ways:
            for session in way.sessions:
                cut = self.cut(way, session)
                if not isinstance(cut, int):
                    cutting = model.new_bool_var(f"cutting[{squad.first}|{way.sessions}|{session}]")
                    model.add(cut <= 120 * 12 * cutting)
                    reasons.append(cutting)
        if len(ways) == 1 and not reasons:
            return 0
        down = model.new_int_var(0, squad.size, f"down[{squad.first}]")
        model.add(down >= squad.size - ways[0].count)
        for reason in reasons:
            model.add(down >= squad.size * reason)
        return down
