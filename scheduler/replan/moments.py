"""When sessions could be held, and the ground dealt out to those who are there: pitches and runs of zones.

A session stays only where it keeps its own zones, so its own slot is a choice for itself. Elsewhere all that matters to
people is day, start and site, and sessions of the same length that could have the same runs of zones are all alike to
the ground: one slot of a session stands in for all at one moment, and a literal for each run says that one of those who
are there has it. Which of them is dealt out afterwards; that can always be done, so nothing is lost by it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple

from scheduler.booking.slots import Moment, Slot
from scheduler.club.club import Club
from scheduler.plan.plan import PlannedSession
from scheduler.replan.moves import FAR_PITCH, far
from scheduler.solver import cp_model

Run = tuple[str, tuple[int, ...]]  # a pitch and neighbouring zones of it
At = Mapping[str, Mapping[Slot, cp_model.IntVar]]
InUse = dict[int, list[cp_model.IntVar]]


class Shape(NamedTuple):
    """What of a slot matters to the ground: when it is, and the runs of zones it could have."""

    date: dt.date
    start: int
    end: int
    runs: tuple[Run, ...]


class User(NamedTuple):
    """A literal that takes zones of a pitch from one minute to another."""

    first: int
    last: int
    zones: tuple[int, ...]
    literal: cp_model.IntVar


class Moments:
    """One week's."""

    def __init__(self, club: Club) -> None:
        self._club = club
        self._between = club.gap + club.set_up + club.pack_up
        self._runs: dict[tuple[str, Slot], tuple[Run, ...]] = {}
        self._stand_in: dict[tuple[str, Slot], Slot] = {}
        self._has: dict[Shape, list[tuple[Run, cp_model.IntVar]]] = {}

    def choices(self, planned: PlannedSession, slots: Sequence[Slot], own: Slot) -> list[Slot]:
        """The slots of a session to choose from: its own, if that is among them, and the nearest of each moment."""
        alike: dict[Moment, list[Slot]] = {}
        for slot in slots:
            if slot != own:
                alike.setdefault(slot.moment, []).append(slot)
        found = [own] if own in slots else []
        for of in alike.values():
            nearest = min(of, key=lambda slot: _away(planned, (slot.pitch, slot.zones)))
            self._runs[planned.session, nearest] = tuple((slot.pitch, slot.zones) for slot in of)
            self._stand_in.update(((planned.session, slot), nearest) for slot in of)
            found.append(nearest)
        return found

    def stand_in(self, session: str, slot: Slot) -> Slot:
        """The slot that stands in for this one; itself where none does."""
        return self._stand_in.get((session, slot), slot)

    def _shape(self, session: str, slot: Slot) -> Shape:
        runs = self._runs.get((session, slot), ((slot.pitch, slot.zones),))
        return Shape(slot.date, slot.start, slot.end, runs)

    # rows

    def post(self, model: cp_model.CpModel, at: At) -> None:
        """Each zone is one session's at a time; a pitch that lies on another takes all of its zones."""
        alike: dict[Shape, list[cp_model.IntVar]] = {}
        for session, places in at.items():
            for slot, literal in places.items():
                alike.setdefault(self._shape(session, slot), []).append(literal)
        users: dict[tuple[dt.date, str], list[User]] = {}
        for shape, literals in alike.items():
            if len(shape.runs) > 1:
                has = self._has[shape] = [(run, model.new_bool_var("")) for run in shape.runs]
                model.add(cp_model.LinearExpr.sum(literals) == cp_model.LinearExpr.sum([taken for _, taken in has]))
            else:
                has = [(shape.runs[0], literal) for literal in literals]
            for (on, zones), literal in has:
                user = User(self._first(shape), shape.end + self._between, zones, literal)
                users.setdefault((shape.date, on), []).append(user)
        for evening in users.values():
            _once(model, evening)
        for pitch in self._club.pitches:
            for date in self._club.dates if pitch.lies_on is not None else ():
                _across(model, users.get((date, pitch.id), []), users.get((date, str(pitch.lies_on)), []))
        self._by_number(model, at)

    def _first(self, one: Slot | Shape) -> int:
        """The minute of the grid from which it takes ground."""
        return one.start - one.start % self._club.step

    def _by_number(self, model: cp_model.CpModel, at: At) -> None:
        """At every start no more runs of so many zones than fit beside each other at a site.

        The rows for single zones say as much, but it takes the solver half as long again to see it.
        """
        there: dict[tuple[dt.date, str], list[tuple[Slot, cp_model.IntVar]]] = {}
        for places in at.values():
            for slot, literal in places.items():
                there.setdefault((slot.date, slot.site), []).append((slot, literal))
        for (_, site), slots in there.items():
            zones = [pitch.zones for pitch in self._club.pitches if pitch.site == site]
            for minute in sorted({self._first(slot) for slot, _ in slots}):
                now = [
                    (len(slot.zones), literal)
                    for slot, literal in slots
                    if self._first(slot) <= minute < slot.end + self._between
                ]
                _at_most(model, zones, now)

    # how far, and dealt out

    def distance(self, model: cp_model.CpModel, planned: Sequence[PlannedSession], at: At
                     ) -> Iterator[cp_model.LinearExpr]:  # fmt: skip
        """How far sessions are from where they were, as far as that is seen before the ground is dealt out."""
        theirs: dict[tuple[Shape, str], list[cp_model.IntVar]] = {}
        for one in planned:
            for slot, literal in at[one.session].items():
                cost, shape = far(one, slot), self._shape(one.session, slot)
                if shape in self._has and slot.pitch == one.pitch:
                    theirs.setdefault((shape, one.pitch), []).append(literal)
                    cost += FAR_PITCH
                yield cost * literal
        for (shape, pitch), literals in theirs.items():
            taken = [literal for run, literal in self._has[shape] if run[0] == pitch]
            keep = model.new_int_var(0, min(len(literals), len(taken)), "")
            model.add(keep <= cp_model.LinearExpr.sum(literals))
            model.add(keep <= cp_model.LinearExpr.sum(taken))
            yield -FAR_PITCH * keep

    def dealt(self, planned: Sequence[PlannedSession], held: Mapping[str, Slot],
              is_true: Callable[[cp_model.IntVar], bool]) -> dict[str, Slot]:  # fmt: skip
        """Where sessions are held, with ground of their own: the nearest that is left goes to whom it is nearest."""
        left = {shape: [run for run, literal in has if is_true(literal)] for shape, has in self._has.items()}
        there: dict[Shape, list[PlannedSession]] = {}
        for one in planned:
            if one.session in held and (shape := self._shape(one.session, held[one.session])) in left:
                there.setdefault(shape, []).append(one)
        found = dict(held)
        for shape, sessions in there.items():
            while sessions:
                one, run = min(((one, run) for one in sessions for run in left[shape]), key=lambda pair: _away(*pair))
                sessions.remove(one)
                left[shape].remove(run)
                found[one.session] = held[one.session]._replace(pitch=run[0], zones=run[1])
        return found


def _once(model: cp_model.CpModel, users: Sequence[User]) -> None:
    """Each zone in use once. Whatever is in use at once is so when the last of it begins."""
    for minute in sorted({user.first for user in users}):
        for literals in _in_use(users, minute).values():
            if len(literals) > 1:
                model.add_at_most_one(literals)


def _across(model: cp_model.CpModel, users: Sequence[User], under: Sequence[User]) -> None:
    """Any zone of the one pitch keeps off any zone of the other."""
    for minute in sorted({user.first for user in (*users, *under)}):
        for literals in _in_use(users, minute).values():
            for others in _in_use(under, minute).values():
                model.add_at_most_one([*literals, *others])


def _at_most(model: cp_model.CpModel, zones: Sequence[int], users: Sequence[tuple[int, cp_model.IntVar]]) -> None:
    """Of those there at once, each with so many zones, no more than fit on pitches of so many zones."""
    for run in sorted({length for length, _ in users}):
        literals = [literal for length, literal in users if length >= run]
        times = [length // run for length, _ in users if length >= run]
        fit = sum(number // run for number in zones)
        if sum(times) > fit:
            model.add(cp_model.LinearExpr.weighted_sum(literals, times) <= fit)


def _in_use(users: Sequence[User], minute: int) -> InUse:
    """Who takes each zone at a minute."""
    zones: InUse = {}
    for user in users:
        if user.first <= minute < user.last:
            for zone in user.zones:
                zones.setdefault(zone, []).append(user.literal)
    return zones


def _away(planned: PlannedSession, run: Run) -> tuple[bool, int]:
    """How far a run is from what the session had: on another pitch or not, then by zones."""
    return run[0] != planned.pitch, min(abs(zone - run[1][0]) for zone in planned.zones)
