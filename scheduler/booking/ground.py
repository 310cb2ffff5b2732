"""Pitches and runs of zones that are alike to everybody but the ground, dealt out after the times, and exactly.

All that matters to people and wishes is when a session is held and on what kind of pitch. One slot stands in for every
run of zones on every pitch of a kind at one start. Sessions of one length that could have the same runs then are all
alike to the ground: a literal for each run says that one of them has it, and who has which is dealt out afterwards.
That can always be done, so nothing is lost by it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from scheduler.booking.slots import Slot, slot_of
from scheduler.club.club import Club
from scheduler.plan.plan import WeekPlan
from scheduler.solver import cp_model

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

Place = tuple[str, tuple[int, ...]]  # a pitch, and neighbouring zones of it

MOST_STEPS = 500  # to deal an evening out neatly


class Shape(NamedTuple):
    """What of a slot matters to the ground: when it is, and the places it could have."""

    date: dt.date
    start: int
    end: int
    places: tuple[Place, ...]

    @property
    def length(self) -> int:
        """How many zones each place has."""
        return len(self.places[0][1])


class Use(NamedTuple):
    """A literal that takes zones of a pitch on a date from one minute to another; `who`: of uses that go together."""

    date: dt.date
    start: int
    end: int
    pitch: str
    zones: tuple[int, ...]
    who: object
    literal: IntVar


class Ground:
    """Which slots of a club stand in for others. `shared` False: every slot for itself.

    `coarse`: pitches that differ in their quality alone are of one kind.
    """

    def __init__(self, club: Club, shared: bool, coarse: bool = False) -> None:
        self._club = club
        crossed = {pitch.id for pitch in club.pitches if pitch.lies_on is not None}
        crossed |= {pitch.lies_on for pitch in club.pitches if pitch.lies_on is not None}
        leave_out = {"id": "", "quality": None} if coarse else {"id": ""}
        self._kinds = {pitch.id: pitch.model_copy(update=leave_out) for pitch in club.pitches}
        self._crossed, self._shared = crossed, shared
        self._places: dict[tuple[str, Slot], list[Place]] = {}
        self._stand_in: dict[tuple[str, Slot], Slot] = {}
        self._alike: dict[Shape, list[tuple[str, IntVar]]] = {}
        self._has: dict[Shape, list[tuple[Place, IntVar]]] = {}

    def stand_ins(self, session: str, slots: Sequence[Slot]) -> list[Slot]:
        """The slots that are left of a session's once the first of a kind and a start stands in for every other."""
        first: dict[object, Slot] = {}
        for slot in slots:
            alike = self._shared and slot.pitch not in self._crossed
            key = (slot.date, slot.start, self._kinds[slot.pitch]) if alike else slot
            stands = first.setdefault(key, slot)
            self._stand_in[session, slot] = stands
            self._places.setdefault((session, stands), []).append((slot.pitch, slot.zones))
        return list(first.values())

    def stand_in(self, session: str, slot: Slot) -> Slot:
        """The slot that stands in for this one; itself where none does."""
        return self._stand_in.get((session, slot), slot)

    def pitches(self, session: str, slot: Slot) -> set[str]:
        """The pitches of all slots that a slot stands in for."""
        return {pitch for pitch, _ in self._places[session, slot]}

    def _shape(self, session: str, slot: Slot) -> Shape:
        return Shape(slot.date, slot.start, slot.end, tuple(self._places[session, slot]))

    # in the model

    def make(self, model: cp_model.CpModel, at: Mapping[str, Mapping[Slot, IntVar]]) -> None:
        """Literals for who has which place, from those for the slots of each session."""
        for session, of in at.items():
            for slot, literal in of.items():
                self._alike.setdefault(self._shape(session, slot), []).append((session, literal))
        for shape, who in self._alike.items():
            if len(shape.places) > 1:
                number = len(self._has)
                has = [(place, model.new_bool_var(f"has[{number}|{place}]")) for place in shape.places]
                taken, there = [literal for _, literal in has], [literal for _, literal in who]
                model.add(cp_model.LinearExpr.sum(there) == cp_model.LinearExpr.sum(taken))
                self._has[shape] = has

    def runs(self) -> Iterator[tuple[Shape, list[IntVar]]]:
        """Shapes with several places, and the literals of the sessions that have them."""
        for shape in self._has:
            yield shape, [literal for _, literal in self._alike[shape]]

    def uses(self) -> Iterator[Use]:
        """Every literal that takes ground."""
        for shape, who in self._alike.items():
            when = shape[:3]
            for (pitch, zones), literal in self._has.get(shape, ()):
                yield Use(*when, pitch, zones, literal.index, literal)
            if shape not in self._has:
                for session, literal in who:
                    yield Use(*when, *shape.places[0], session, literal)

    # whole plans

    def dealt(self, held: Mapping[str, Slot], value: Callable[[IntVar], int]) -> dict[str, Slot]:
        """Where sessions are held that have these stand-ins in a solved model.

        The first places come first, where that is soon found.
        """
        if not self._has:
            return dict(held)
        left = {shape: [place for place, literal in has if value(literal)] for shape, has in self._has.items()}
        found = dict(held)
        for session, slot in held.items():
            places = left.get(self._shape(session, slot))
            if places:
                pitch, zones = places.pop(0)
                found[session] = slot._replace(pitch=pitch, zones=zones)
        evenings: dict[tuple[dt.date, str], list[str]] = {}
        for session, slot in sorted(held.items(), key=lambda item: (item[1].start, -len(item[1].zones))):
            evenings.setdefault((slot.date, slot.site), []).append(session)
        for sessions in evenings.values():
            neat = self._neat([self._shape(session, held[session]) for session in sessions])
            for session, (pitch, zones) in zip(sessions, neat or (), strict=neat is not None):
                found[session] = held[session]._replace(pitch=pitch, zones=zones)
        return found

    def _neat(self, shapes: Sequence[Shape]) -> list[Place] | None:
        """The first place in order for each session of an evening, by start; None where that is not soon found.

        Depth first: where nothing is left for a session, the one before it takes its next place.
        """
        between = self._club.set_up + self._club.pack_up + self._club.gap
        chosen: list[int] = []
        at = 0
        for _ in range(MOST_STEPS):
            if len(chosen) == len(shapes):
                return [shape.places[number] for shape, number in zip(shapes, chosen, strict=True)]
            shape = shapes[len(chosen)]
            taken = {
                (pitch, zone)
                for earlier, number in zip(shapes, chosen, strict=False)
                if earlier.end + between > shape.start
                for pitch, zones in (earlier.places[number],)
                for zone in zones
            }
            free = (
                number
                for number, (pitch, zones) in enumerate(shape.places[at:], start=at)
                if all((pitch, zone) not in taken for zone in zones)
            )
            number = next(free, None)
            if number is not None:
                chosen.append(number)
                at = 0
            elif chosen:
                at = chosen.pop() + 1
            else:
                return None
        return None

    def values(self, plan: WeekPlan) -> Iterator[tuple[IntVar, int]]:
        """Each literal of a place with its value in a plan."""
        taken = set()
        for planned in plan.sessions:
            slot = slot_of(self._club, planned)
            stands = self.stand_in(planned.session, slot)
            if (planned.session, stands) in self._places:
                taken.add((self._shape(planned.session, stands), (slot.pitch, slot.zones)))
        for shape, has in self._has.items():
            for place, literal in has:
                yield literal, int((shape, place) in taken)


def most_at_once(club: Club, site: str, needs: Mapping[str, int]) -> int:
    """At most how much sessions held at a site at one time can need together, `needs` being what each needs.

    By room on the ground alone: the zones of the site dealt out to whoever needs most for each zone, the last one in
    part.
    """
    pitches = [pitch for pitch in club.pitches if pitch.site == site]
    room, total = sum(pitch.zones for pitch in pitches), 0
    asked = {}
    for session in needs:
        zones = club.session(session).zones
        asked[session] = min((pitch.zones for pitch in pitches), default=1) if zones is None else zones
    for session in sorted(needs, key=lambda one: -needs[one] / asked[one]):
        part = min(asked[session], room)
        total += -(-needs[session] * part // asked[session])
        room -= part
    return total
