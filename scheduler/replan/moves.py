"""Which sessions go where so that as few as possible move: a search over slots, no solver.

What cannot stay must move. With no other moved, then with one other, then with two, slots are looked for: first by
ground alone, so that finding nothing shows that more must move, then with days, adults and children too, the least far
from where the sessions were. What is found is judged by the audit afterwards.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count
from typing import NamedTuple

from scheduler.booking.slots import Slot, slot_of
from scheduler.club.club import Club
from scheduler.plan.plan import PlannedSession, WeekPlan

MOST_STEPS = 3_000  # slots tried in one search
MOST_OTHERS = 2  # sessions moved beside those that cannot stay
MOST_WAYS = 4  # kept of one search, the least far first
FAR_DAY, FAR_START, FAR_PITCH = 3000, 2000, 1000  # as the model weighs the same wishes


class Choice(NamedTuple):
    """One slot of a session with the adults there, how far it is from what was, and who must make room for it."""

    session: str
    slot: Slot
    coaches: tuple[str, ...]
    cost: int
    others: frozenset[str]


@dataclass(frozen=True)
class Way:
    """Where the sessions that move go; `others` of them could have stayed."""

    to: Mapping[str, Choice]
    others: int
    cost: int


Adults = Callable[[str, Slot, Mapping[str, Choice], frozenset[str]], "tuple[tuple[str, ...], int] | None"]


class TooFar(Exception):
    """More slots than a search may try."""


@dataclass
class _Found:
    """The best ways of one search."""

    ways: list[Way] = field(default_factory=list)

    @property
    def bound(self) -> int | None:
        """What a further way must cost less than."""
        return self.ways[-1].cost if len(self.ways) == MOST_WAYS else None

    def add(self, way: Way) -> None:
        """Keep a way if it is among the best."""
        self.ways = sorted([*self.ways, way], key=lambda one: one.cost)[:MOST_WAYS]


class Moves:
    """One week and the sessions that cannot stay. `slots` gives the slots open to a session, `adults` who would come
    there and what that costs, None where too few could. Sessions of `fixed` have begun."""

    def __init__(
        self,
        club: Club,
        plan: WeekPlan,
        hit: Sequence[str],
        fixed: Sequence[str],
        slots: Callable[[str], list[Slot]],
        adults: Adults,
    ) -> None:
        self._club, self._plan, self._hit = club, plan, tuple(hit)
        self._fixed = frozenset(fixed)
        self._slots, self._adults = slots, adults
        self._ready: dict[tuple[str, bool], list[Choice]] = {}
        self._steps = count()
        self._strict = False

    def least_others(self) -> int | None:
        """How many others must move at least, by ground alone; None where that was not found out."""
        for others in range(MOST_OTHERS + 1):
            try:
                if self._search(others, strict=False, most=1):
                    return others
            except TooFar:
                return None
        return MOST_OTHERS + 1

    def ways(self, others: int) -> list[Way]:
        """Ways in which so many others move at most, the least far first."""
        try:
            return self._search(others, strict=True, most=MOST_WAYS)
        except TooFar:
            return []

    def _search(self, others: int, *, strict: bool, most: int) -> list[Way]:
        self._steps, self._strict = count(), strict
        found = _Found()
        options = {session: self._still({}, self._choices(session), frozenset(self._hit), others)
                   for session in self._hit}  # fmt: skip
        for way in self._from(options, {}, frozenset(self._hit), others, 0, found):
            found.add(way)
            if len(found.ways) == most == 1:
                break
        return found.ways

    def _from(self, options: Mapping[str, list[Choice]], placed: dict[str, Choice], out: frozenset[str], spare: int,
              cost: int, found: _Found) -> Iterator[Way]:  # fmt: skip
        """Place the session with the fewest slots left, the least far first."""
        if not options:
            yield Way(dict(placed), len(placed) - len(self._hit), cost)
            return
        session = min(options, key=lambda one: len(options[one]))
        for choice in self._with_adults(session, options[session], placed, out):
            if found.bound is not None and cost + choice.cost >= found.bound:
                return
            new = choice.others - out
            away, left = out | new, spare - len(new)
            now = {**placed, session: choice}
            after = {
                one: self._still({session: choice}, choices, away, left)
                for one, choices in options.items()
                if one != session
            } | {one: self._still(now, self._choices(one), away, left) for one in sorted(new)}
            if next(self._steps) > MOST_STEPS:
                if found.ways:
                    return
                raise TooFar
            if all(after.values()):
                yield from self._from(after, now, away, left, cost + choice.cost, found)

    def _still(
        self, placed: Mapping[str, Choice], choices: list[Choice], out: frozenset[str], spare: int
    ) -> list[Choice]:
        """The slots that fit beside those placed, with at most so many others making room."""
        return [
            choice
            for choice in choices
            if len(choice.others - out) <= spare
            and not any(self.clash(choice.session, choice.slot, other, at.slot) for other, at in placed.items())
        ]

    def _with_adults(
        self, session: str, choices: list[Choice], placed: Mapping[str, Choice], out: frozenset[str]
    ) -> Iterator[Choice]:
        """The slots with those who would come there; in a search by ground alone just the slots."""
        if not self._strict:
            yield from choices
            return
        found = []
        for choice in choices:
            adults = self._adults(session, choice.slot, placed, out | choice.others)
            if adults is not None:
                found.append(choice._replace(coaches=adults[0], cost=choice.cost + adults[1]))
        yield from sorted(found, key=lambda one: (one.cost, one.slot))

    def _choices(self, session: str) -> list[Choice]:
        """The slots of a session but its own, with the others in the way; the least far first."""
        if (session, self._strict) not in self._ready:
            planned = self._plan.by_session[session]
            own = slot_of(self._club, planned) if self._club.has("pitch", planned.pitch) else None
            found = []
            for slot in self._slots(session):
                others = self._in_the_way(session, slot)
                if slot != own and len(others) <= MOST_OTHERS and not others & self._fixed:
                    found.append(Choice(session, slot, planned.coaches, far(planned, slot), others))
            self._ready[session, self._strict] = sorted(found, key=lambda one: (one.cost, one.slot))
        return self._ready[session, self._strict]

    def _in_the_way(self, session: str, slot: Slot) -> frozenset[str]:
        return frozenset(
            other.session
            for other in self._plan.sessions
            if other.date == slot.date
            and other.session != session
            and other.session not in self._hit
            and self.clash(session, slot, other.session, slot_of(self._club, other))
        )

    def clash(self, session: str, slot: Slot, other: str, there: Slot) -> bool:
        """Whether two sessions cannot both be held so: the same ground at a time.

        In a search with children too one team is not held twice on a day either, though no rule forbids that.
        """
        if slot.date != there.date:
            return False
        if self._strict and set(self._club.session(session).teams) & set(self._club.session(other).teams):
            return True
        around = self._club.set_up + self._club.pack_up + self._club.gap
        if min(slot.end, there.end) - max(slot.start, there.start) + around <= 0:
            return False
        if slot.pitch == there.pitch:
            return bool(set(slot.zones) & set(there.zones))
        return (
            self._club.pitch(slot.pitch).lies_on == there.pitch or self._club.pitch(there.pitch).lies_on == slot.pitch
        )


def far(planned: PlannedSession, slot: Slot) -> int:
    """How far a slot is from what was planned: another day, another start, another pitch, then by how much."""
    cost = FAR_DAY * (slot.date != planned.date) + FAR_START * (slot.start != planned.start)
    cost += FAR_PITCH * (slot.pitch != planned.pitch)
    away = min((abs(zone - slot.zones[0]) for zone in planned.zones), default=0)
    return cost + 20 * abs((slot.date - planned.date).days) + abs(slot.start - planned.start) // 5 + away
