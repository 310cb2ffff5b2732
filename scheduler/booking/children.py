"""Who comes to which session and for how long: the part of the booking model about children, counted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.booking.slots import Slot
from scheduler.booking.squads import Squad, Stay
from scheduler.booking.ways import Way, Ways
from scheduler.club.when import Span
from scheduler.plan.timeline import timeline

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.booking.model import BookingModel
    from scheduler.booking.ways import Linear


class Children(Ways):
    """The children of one booking model: minutes, loads, how many come and what they lose."""

    def __init__(
        self, booking: BookingModel, free: bool, certain_only: bool, widened: frozenset[str] = frozenset()
    ) -> None:
        super().__init__(booking, free, certain_only, widened)
        self.counted = False
        self._late: dict[tuple[Squad, str, int], Linear] = {}
        self._cuts: dict[tuple[Squad, tuple[str, ...], str], IntVar] = {}
        self._coming: dict[tuple[Squad, str], Linear] = {}

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
            return sum(self._stays.loads(session, stay)[0] * literal for stay, literal in stays)
        model = self._booking.model
        most = max((self._stays.loads(session, stay)[0] for stay, _ in stays), default=0)
        load = model.new_int_var(0, most, f"load[{way.squad.first}|{way.sessions}|{session}]")
        for stay, literal in stays:
            table = self._stays.loads(session, stay)
            table += [0] * (max(0, max(s.minutes for s, _ in stays)) - len(table) + 1)
            after = model.new_int_var(0, most, f"after[{way.squad.first}|{way.sessions}|{session}|{len(stay.blocks)}]")
            model.add_element(cut, table, after)
            row = model.add(load >= after)
            if not isinstance(literal, int):
                row.only_enforce_if(literal)
        return load

    def full_load(self, session: str) -> int:
        """The planned load of a child who is there for all of a session."""
        blocks = timeline(self._booking.club, session)
        return self._stays.loads(session, Stay(0, (*(block.span.minutes for block in blocks), 0)))[0]

    def late(self, squad: Squad, session: str, by: int) -> Linear:
        """Minutes after a minute of the day at which the children of a squad would leave; 0 where never later."""
        key = (squad, session, by)
        if key not in self._late:
            beyond: dict[int, set[Slot]] = {}
            for slot in self._booking.slots(session):
                stay = self.stay(squad, session, slot)
                over = slot.start + stay.leaves - by if stay.minutes else 0
                if over > 0:
                    beyond.setdefault(over, set()).add(slot)
            self._late[key] = sum(
                over * self._booking.is_where(session, slots.__contains__) for over, slots in beyond.items()
            )
        return self._late[key]

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

    def throughout(self, squad: Squad, session: str, stretch: Span) -> Linear:
        """At most how many children of a squad are there for all of a stretch (minutes from the session's start)."""
        after: dict[int, list[Slot]] = {}
        for spans, slots in self.presences(squad, session).items():
            if any(span.holds(stretch) for span in spans):
                later = sum(max(0, span.end - max(span.start, stretch.end)) for span in spans)
                after.setdefault(later, []).extend(slots)
        there = frozenset(slot for slots in after.values() for slot in slots)
        here = self._booking.is_where(session, there.__contains__)
        model, total = self._booking.model, 0 * here
        for way in (way for way in self.ways(squad) if session in way.sessions):
            cut = self.cut(way, session)
            if isinstance(way.count, int) and isinstance(cut, int):
                total += way.count * here
                continue
            come = model.new_int_var(0, squad.size, f"throughout[{squad.first}|{way.sessions}|{session}|{stretch}]")
            model.add(come <= way.count)
            model.add(come <= squad.size * here)
            if not isinstance(cut, int):  # of one child alone: the last minutes may be cut off, but not these
                most = self._booking.club.session(session).minutes
                spare = sum(n * self._booking.is_where(session, set(slots).__contains__) for n, slots in after.items())
                model.add(cut + most * come <= most + spare)
            total += come
        return total

    def surely_throughout(self, squad: Squad, session: str, stretch: Span) -> bool:
        """Whether a squad is there for all of a stretch in every slot and has no choice."""
        ways = self.ways(squad)
        return (
            len(ways) == 1
            and isinstance(self.cut(ways[0], session), int)
            and all(any(span.holds(stretch) for span in spans) for spans in self.presences(squad, session))
        )

    def headcount(self, session: str) -> Linear:
        """How many children come to a session, those stood down from a part of it included."""
        return sum(self.coming(squad, session) for squad in self.squads_in(session))

    def least_headcount(self, session: str) -> int:
        """The fewest who come to a session that is held, by those alone who have no choice."""
        return sum(squad.size for squad in self.sure_of(session))

    def sure_of(self, session: str) -> list[Squad]:
        """The squads that have no choice but to come to a session that is held."""
        return [
            squad
            for squad in self.squads_in(session)
            if not self.has_choice(squad) and self._surely_there(squad, session)
        ]

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
