"""What would make a conflict go away: the cheapest changes a club can decide, each tried out on the booking."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from scheduler.booking.build import build_booking
from scheduler.booking.slots import Slot
from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.outcome import Clash, Demand
from scheduler.plan.plan import WeekPlan
from scheduler.reasons.arithmetic import impossible, listed
from scheduler.reasons.changes import Way, candidates, opened
from scheduler.reasons.feasible import Feasible, small, some_booking
from scheduler.reasons.together import Together
from scheduler.rotation.setting import settings
from scheduler.rotation.shortages import shortages
from scheduler.solving import make_solver

MOST_WAYS, MOST_OF_A_KIND = 6, 3
MOST_TRIES, MOST_OPEN_TRIES = 6, 3  # of one kind, with all other sessions in their slots, and with all of them open
FEW = 8  # sessions in one conflict for which a model of them alone is quick
SOLVED = ("OPTIMAL", "FEASIBLE")
A_TRY, AN_OPEN_TRY = 5.0, 1.0  # deterministic seconds, with the others in their slots and with all of them open


@dataclass(frozen=True)
class Base:
    """Lawful bookings found on the way: of all sessions in no conflict, and of all but one of each conflict.

    `widened`: sessions that may need adults of other teams, or children who stay away, to be held.
    """

    plans: tuple[WeekPlan, ...] = ()
    widened: frozenset[str] = frozenset()


def with_ways_out(
    club: Club, clashes: Sequence[Clash], rules: Sequence[Rule], limit: float, base: Base
) -> tuple[Clash, ...]:
    """The conflicts, each with its ways out; each is tried with the sessions of the other conflicts left aside."""
    from scheduler.reasons.why import sessions_in

    found = []
    of = [sessions_in(club, clash) for clash in clashes]
    week = Week(club, rules, base, tuple(dict.fromkeys(session for sessions in of for session in sessions)), limit)
    for clash, mine in zip(clashes, of, strict=True):
        ways = Trial(week, mine, clash.demands).ways_out()
        found.append(replace(clash, ways_out=tuple(way.text for way in ways)))
    return tuple(found)


class Week:
    """What the ways out of all conflicts of one week share. `left`: deterministic seconds still to spend."""

    def __init__(self, club: Club, rules: Sequence[Rule], base: Base, clashing: tuple[str, ...], limit: float) -> None:
        self.club, self.rules, self.base, self.clashing = club, rules, base, clashing
        self.left = limit
        self._open: Together | None = None
        self._open_feasible = Feasible(opened(club, clashing), rules, limit)

    def without_one(self, sessions: Sequence[str]) -> set[str]:
        """Which of the sessions of a conflict was seen to leave a lawful plan when left out, all others held."""
        found = set()
        for plan in self._playable:
            missing = [session for session in sessions if session not in plan.by_session]
            if len(missing) == 1:
                found.add(missing[0])
        return found

    @cached_property
    def _playable(self) -> list[WeekPlan]:
        return [plan for plan in self.base.plans if self.can_be_played(_held_in(self.club, plan), plan)]

    def can_be_played(self, club: Club, plan: WeekPlan) -> bool:
        """Whether every turn of a plan of all sessions of a club can be filled, if need be with more children there."""
        lawful, spent = _played(club, plan, self.rules, self.base.widened.union(self.clashing), min(A_TRY, self.left))
        self.left -= spent
        return lawful

    def in_open(self, way: Way, slots: Mapping[str, Sequence[Slot]]) -> bool:
        """Whether a change of times gives a lawful plan, in which the sessions of the conflict have these slots.

        One model serves all such questions: in it every session in conflict may be at any time that is offered. The
        search starts from a plan that lacks only what is to be added.
        """
        limit = min(AN_OPEN_TRY, self.left)
        self._open_feasible.left = limit
        if self._open is None:
            self._open = Together(self._open_feasible, self.base.widened.union(self.clashing), enough=True)
        lacking = [known for known in self.base.plans if way.about not in known.by_session]
        for known in (*lacking, *self.base.plans)[:1]:
            self._open.start_from(known)
        plan = self._open.among([ask.id for ask in way.club.sessions], slots)
        self.left -= limit - self._open_feasible.left
        return plan is not None and self.can_be_played(way.club, plan)


def _held_in(club: Club, plan: WeekPlan) -> Club:
    asks = tuple(ask for ask in club.sessions if ask.id in plan.by_session)
    return club.model_copy(update={"sessions": asks})


class Trial:
    """The changes about the sessions of one conflict, tried out with the sessions of other conflicts left aside."""

    def __init__(self, week: Week, sessions: Sequence[str], demands: Sequence[Demand]) -> None:
        from scheduler.reasons.why import ASKED, without_sessions

        self._week, self._sessions = week, sessions
        others = [session for session in week.clashing if session not in sessions]
        self._club = without_sessions(week.club, others)
        solved = any(demand.rule == ASKED for demand in demands)  # then these demands and no others clash
        ways = sorted(candidates(self._club, sessions), key=lambda one: one.rank)
        self._ways = [way for way in ways if not solved or way.could_help(demands)]
        self._shown = week.without_one(sessions)
        self._held = next((_kept(plan, week.clashing) for plan in week.base.plans), None)
        self._alone: dict[str, dict[str, list[Slot]] | None] = {}

    def ways_out(self) -> list[Way]:
        """A few changes that each give a lawful booking, cheapest first; one a session and kind of change.

        Other times are tried with all sessions open; other changes with the others in the slots they have, which is
        quick, then with those open that are held on a day these could have. Where nothing helps so, with all of them
        open and with every choice; where no change helps, the fewest sessions that would have to be left out.
        """
        quick = self._held is not None and len(self._sessions) <= FEW
        found = self._tried(self._quickly, MOST_TRIES) if quick else []
        found = found or self._tried(lambda way, _: self._lawful(way, None, None), MOST_OPEN_TRIES)
        return found or self._fewest_left_out()

    def _tried(self, helps: Callable[[Way, dict[str, list[Slot]]], bool], most: int) -> list[Way]:
        found: list[Way] = []
        tries: dict[int, int] = {}
        for way in self._ways:
            kind = [one for one in found if one.rank == way.rank]
            if len(kind) >= MOST_OF_A_KIND or any(one.about == way.about for one in kind):
                continue
            if len(found) == MOST_WAYS or self._week.left <= 0:
                break
            if way.without in self._shown:
                found.append(way)
                continue
            slots = self._slots_alone(way) if tries.get(way.rank, 0) < most else None
            if slots is None:
                continue
            tries[way.rank] = tries.get(way.rank, 0) + 1
            if helps(way, slots):
                found.append(way)
        return found

    def _quickly(self, way: Way, slots: dict[str, list[Slot]]) -> bool:
        if way.only_times:
            return self._week.in_open(way, slots)
        held, widened = self._held, self._week.base.widened.union(self._sessions)
        if held is None or self._lawful(way, held, widened):
            return held is not None
        dates = {slot.date for of in slots.values() for slot in of}
        elsewhere = tuple(planned for planned in held.sessions if planned.date not in dates)
        return self._lawful(way, held.model_copy(update={"sessions": elsewhere}), widened)

    def _lawful(self, way: Way, beside: WeekPlan | None, widened: frozenset[str] | None) -> bool:
        lawful, spent = is_lawful(way.club, self._week.rules, min(A_TRY, self._week.left), beside, widened)
        self._week.left -= spent
        return lawful

    def _fewest_left_out(self) -> list[Way]:
        """The fewest sessions without which the others can be held in the slots found, and every turn be filled."""
        club, week = self._club, self._week
        if week.left <= 0:
            return []
        model = build_booking(club, week.rules, wishes=False, may_cancel=True)
        off = [(ask.id, literal) for ask in club.sessions if (literal := model.cancelled(ask.id)) is not None]
        model.model.minimize(sum(literal for _, literal in off))
        solver = make_solver(week.left, linearization=2)
        status = solver.solve(model.model).name
        week.left -= float(solver.response_proto.deterministic_time)
        names = [session for session, literal in off if status in SOLVED and solver.boolean_value(literal)]
        if not names:
            return []
        plan = model.read(solver)
        way = Way(9, names[0], f"leave out {listed(names)} this week", _held_in(club, plan))
        lawful, spent = is_lawful(way.club, week.rules, week.left, plan.model_copy(update={"cancelled": ()}))
        week.left -= spent
        return [way] if lawful else []

    def _slots_alone(self, way: Way) -> dict[str, list[Slot]] | None:
        """The slots of the sessions of the conflict; None where they could not be held even if there were no others.

        A model of a few sessions, so most changes that do not help cost next to nothing.
        """
        if way.text not in self._alone:
            asks = tuple(ask for ask in way.club.sessions if ask.id in self._sessions)
            self._alone[way.text] = self._slots_of(way.club.model_copy(update={"sessions": asks}))
        return self._alone[way.text]

    def _slots_of(self, alone: Club) -> dict[str, list[Slot]] | None:
        if impossible(alone):
            return None
        if len(self._sessions) > FEW:
            return {}
        every = small(frozenset(self._sessions))
        model = build_booking(alone, self._week.rules, wishes=False, relaxed=True, **every)
        found, spent = some_booking(model, min(A_TRY, self._week.left))
        self._week.left -= spent
        return None if found is None else model.narrowed


def _kept(plan: WeekPlan, without: Sequence[str]) -> WeekPlan:
    """The booking without the sessions whose slots are open."""
    sessions = tuple(planned for planned in plan.sessions if planned.session not in without)
    return plan.model_copy(update={"sessions": sessions})


def is_lawful(
    club: Club,
    rules: Sequence[Rule],
    limit: float,
    beside: WeekPlan | None = None,
    widened: frozenset[str] | None = None,
) -> tuple[bool, float]:
    """Whether counting finds nothing wrong and a lawful booking was found in which every turn can be filled by number.

    And what was spent of the limit. `beside`: sessions that are held in these slots; `widened` as in `Feasible`.
    """
    if beside is None and impossible(club):
        return False, 0.0
    feasible = Feasible(club, rules, limit)
    plan = feasible.booking(club, beside, widened)
    if not isinstance(plan, WeekPlan):
        return False, limit - feasible.left
    every = frozenset(ask.id for ask in club.sessions) if widened is None else widened
    lawful, spent = _played(club, plan, rules, every, feasible.left)
    return lawful, limit - feasible.left + spent


def _played(
    club: Club, plan: WeekPlan, rules: Sequence[Rule], widened: frozenset[str], limit: float
) -> tuple[bool, float]:
    """Whether every turn of a booked week can be filled by number, if need be with more children; the time spent."""
    if _can_be_played(club, plan, rules):
        return True, 0.0
    feasible = Feasible(club, rules, limit)
    fuller = feasible.fuller(club, plan, widened)
    played = fuller is not plan and isinstance(fuller, WeekPlan) and _can_be_played(club, fuller, rules)
    return played, limit - feasible.left


def _can_be_played(club: Club, plan: WeekPlan, rules: Sequence[Rule]) -> bool:
    """Whether every turn of a booked week can be filled by number."""
    return not any(shortages(club, ring, rules) for ring in settings(club, plan))
