"""Variables of the booking solve, reached in trade verbs. Rules post to this container, which knows none of them.

Each session is held in exactly one slot (or cancelled, where that is allowed): that is structure and posted here.
Everything else hangs on a switch named by the rule that posts it. Rules speak twice: `narrow` before there are
variables (which slots a rule excludes by itself, whom it might send home), then `post`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.booking.adults import Adults
from scheduler.booking.apart import keep_apart_by_moments, keep_apart_by_order
from scheduler.booking.children import Children
from scheduler.booking.ground import Ground, Use, most_at_once
from scheduler.booking.slots import Slot
from scheduler.booking.squads import Squad
from scheduler.booking.times import Times
from scheduler.solver import cp_model
from scheduler.switches import Switches

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import Constraint, IntVar, LinearExpr

    from scheduler.club.club import Club
    from scheduler.plan.plan import PlannedSession, WeekPlan
    from scheduler.solving import Solved

    Linear = LinearExpr | int
    Reasons = dict[tuple[dt.date, str], list[tuple[IntVar, Callable[[Slot], bool]]]]


@dataclass(frozen=True)
class Penalty:
    """What a wish costs: `amount` for each unit of `term`."""

    wish: str
    amount: int
    term: Linear
    about: tuple[str, ...]
    text: str


class BookingModel(Times):
    """The container that rules post to.

    `switchable`: every constraint hangs on its switch and no slot is left out beforehand (for conflicts and tests);
    else all switches are on from the start, which makes the rows tight. `free`: every child by itself, and whoever is
    a child may be left out. `outsiders`: adults of other teams may help. `certain_only`: nobody is left out but those
    who must miss something whatever the slots. `widened`: sessions with every choice of adults and children all the
    same. `earlier`: the plan few changes count from. `relaxed`: one slot stands in for all runs of zones at one start
    on pitches of one kind, and rows that hardly ever bind wait until a plan breaks them; every plan must go through
    `mended` (never with `earlier`). `coarse`: relaxed, and it knows nothing of the quality of pitches. `like`: a model
    of the same club, not switchable, that rules have narrowed; they need not do so again. `slots`: the only ones that
    each session may have, and fewer than that model's.
    """

    def __init__(
        self,
        club: Club,
        *,
        switchable: bool = False,
        free: bool = False,
        outsiders: bool = True,
        certain_only: bool = False,
        widened: frozenset[str] = frozenset(),
        may_cancel: bool = False,
        earlier: WeekPlan | None = None,
        wishes: bool = True,
        relaxed: bool = False,
        coarse: bool = False,
        like: BookingModel | None = None,
        slots: Mapping[str, list[Slot]] | None = None,
    ) -> None:
        super().__init__(club, like.narrowed if like is not None and slots is None else slots)
        self.earlier, self.switchable = earlier, switchable
        self.switches = Switches(self.model)
        self.penalties: list[Penalty] = []
        self.wishes = wishes
        self._may_cancel = may_cancel
        self.relaxed = relaxed and not switchable and earlier is None
        self.coarse = coarse and self.relaxed
        self.partly: set[str] = set()  # wishes of which a coarse model knows only a part
        self.ground = Ground(club, self.relaxed, self.coarse)
        self.room_is_counted = False
        self.implied: set[int] = set()  # rows, by their number, that others say as well
        self._apart: dict[tuple[str, str, bool], IntVar] = {}
        self._checks: list[Callable[[WeekPlan], WeekPlan | None]] = []
        self._excluded: list[tuple[IntVar, str, list[Slot]]] = []
        self.children = Children(self, free, certain_only, widened)
        self.adults = Adults(self, outsiders, widened)
        self.narrowed: dict[str, list[Slot]] = {}
        if like is not None:
            self.room_is_counted = like.room_is_counted
            self.children.narrow_like(like.children)
            self.adults.narrow_like(like.adults)

    # before there are variables

    def switch(self, rule: str, subject: str, sentence: str = "") -> IntVar:
        """The switch of a rule and a subject; `sentence` says the demand in trade words."""
        return self.switches.get(rule, subject, sentence)

    def rule_out(self, on: IntVar, session: str, unlawful: Callable[[Slot], bool]) -> None:
        """Exclude every slot of a session for which the test holds, while the switch is on."""
        if self._x or self.switchable:
            slots = [slot for slot in self.slots(session) if unlawful(slot)]
            if not slots:
                return
            if self._x:
                self.at_most(on, [self._x[session][slot] for slot in slots], 0)
            else:
                self._excluded.append((on, session, slots))
        else:
            self._slots[session] = [slot for slot in self._slots[session] if not unlawful(slot)]

    def rule_out_by_place(self, session: str, reasons: Reasons) -> None:
        """Exclude every slot of a session for which a test of its date and pitch holds, each under its own switch."""
        if not (self._x or self.switchable):
            self._slots[session] = [
                slot
                for slot in self._slots[session]
                if not any(unlawful(slot) for _, unlawful in reasons.get((slot.date, slot.pitch), ()))
            ]
            return
        at: dict[tuple[dt.date, str], list[Slot]] = {}
        for slot in self._slots[session]:
            at.setdefault((slot.date, slot.pitch), []).append(slot)
        for place, of in reasons.items():
            for on, unlawful in of:
                self.rule_out(on, session, {slot for slot in at.get(place, ()) if unlawful(slot)}.__contains__)

    def zones_are_used_once(self) -> None:
        """Say that some rule keeps every zone to one session at a time, so that a site has room for only so many."""
        self.room_is_counted = not self.switchable

    def most_at_once(self, site: str, needs: Mapping[str, int]) -> int:
        """At most how much sessions held at a site at one time can need together, `needs` being what each needs."""
        return most_at_once(self.club, site, needs) if self.room_is_counted else sum(needs.values())

    def keep_slot(self, session: str, slot: Slot) -> None:
        """Leave a session this slot alone, before there are variables; none where it is no slot of the session."""
        self._slots[session] = [one for one in self._slots[session] if one == slot]

    def slots(self, session: str) -> list[Slot]:
        """The slots of a session that are left, in order of date, start, pitch and zones."""
        return self._slots[session]

    def end_narrowing(self) -> None:
        """Keep the slots as they are left; `narrow` is over from here on."""
        self.narrowed = dict(self._slots)

    def make(self) -> None:
        """Make the variables."""
        self.end_narrowing()
        if not self.adults.outsiders:
            self._leave_out_unstaffed()
        for session in self._slots:
            slots = self._slots[session] = self.ground.stand_ins(session, self._slots[session])
            of = {slot: self.model.new_bool_var(f"at[{session}|{slot}]") for slot in slots}
            self._x[session] = of
            literals = list(of.values())
            if self._may_cancel:
                self._cancelled[session] = self.model.new_bool_var(f"cancelled[{session}]")
                literals.append(self._cancelled[session])
            self.model.add(sum(literals) == 1)
        self.ground.make(self.model, self._x)
        for on, session, slots in self._excluded:
            self.at_most(on, [self._x[session][slot] for slot in slots], 0)
        self.children.make()
        self.adults.make()
        for session, literal in self._cancelled.items():
            self.penalise("sessions cancelled", 1, literal, (session,), f"{session} cannot be held")

    def _leave_out_unstaffed(self) -> None:
        """Leave out slots in which sessions that nobody helps have too few adults; fewer slots make tighter rows."""
        short = self.adults.count_own()
        if any(short.values()):
            self.children.forget_slots()
            for session, slots in short.items():
                self._slots[session] = [slot for slot in self._slots[session] if slot not in slots]

    def uses(self) -> Iterator[Use]:
        """Every literal that takes zones of a pitch from one minute to another."""
        return self.ground.uses()

    def when_read(self, check: Callable[[WeekPlan], WeekPlan | None]) -> None:
        """A check of every plan of a relaxed model: it posts the rows that the plan breaks and gives None.

        Else it gives the plan.
        """
        if self.relaxed:
            self._checks.append(check)

    def mended(self, plan: WeekPlan) -> WeekPlan | None:
        """The plan with its zones dealt out; None where it breaks rows that had waited and are posted now."""
        lawful: WeekPlan | None = plan
        for check in self._checks:
            found = check(plan if lawful is None else lawful)
            lawful = None if lawful is None else found
        return lawful

    def apart(self, one: str, other: str, with_travel: bool) -> IntVar:
        """A literal that, where 1, keeps two sessions apart in time (and leaves minutes to get from site to site)."""
        key = (min(one, other), max(one, other), with_travel)
        if key not in self._apart:
            literal = self._apart[key] = self.model.new_bool_var(f"apart[{key}]")
            asks = [self.club.session(session) for session in (one, other)]
            coaches = [{coach for team in ask.teams for coach in self.club.team(team).coaches} for ask in asks]
            if not with_travel or coaches[0] & coaches[1]:
                keep_apart_by_moments(self, literal, one, other, with_travel)
            else:
                keep_apart_by_order(self, literal, one, other)
        return self._apart[key]

    # rows

    def at_most(self, on: IntVar, terms: Sequence[Linear], bound: Linear, given: Iterable[Linear] = ()) -> None:
        """The terms add up to at most the bound while the switch is on and every given literal is 1."""
        self._hang(self.model.add(cp_model.LinearExpr.sum(list(terms)) - bound <= 0), on, given)

    def at_most_besides(self, on: IntVar, terms: Sequence[Linear], bound: int) -> None:
        """The same of terms that add up to no more by other rows already, so that the solver sees it sooner.

        HiGHS is better off without.
        """
        self.implied.add(len(self.model.proto.constraints))
        self.at_most(on, terms, bound)

    def at_least(self, on: IntVar, terms: Sequence[Linear], bound: Linear, given: Iterable[Linear] = ()) -> None:
        """The terms add up to at least the bound while the switch is on and every given literal is 1."""
        self._hang(self.model.add(cp_model.LinearExpr.sum(list(terms)) - bound >= 0), on, given)

    def _hang(self, row: Constraint, on: IntVar, given: Iterable[Linear]) -> None:
        literals = [literal for literal in given if not isinstance(literal, int)]
        if self.switchable:
            literals.append(on)
        if literals:
            row.only_enforce_if(literals)

    def penalise(self, wish: str, amount: int, term: Linear, about: tuple[str, ...], text: str) -> None:
        """Let a wish cost `amount` for each unit of a literal or expression."""
        if self.wishes:
            self.penalties.append(Penalty(wish, amount, term, about, text))

    def squads(self) -> tuple[Squad, ...]:
        """The squads of the club, in its order."""
        return self.children.squads

    # whole plans

    def fix(self, plan: WeekPlan) -> None:
        """Allow this plan's bookings, adults and players alone; a plan the variables cannot say allows nothing."""
        from scheduler.booking.whole import values

        known = values(self, plan)
        if known is None:
            self.model.add_bool_or([])
        for variable, value in known or ():
            self.model.add(variable == value)

    def stay(self, on: IntVar, planned: PlannedSession) -> None:
        """A session is held where and when it is planned, or is cancelled where that is allowed."""
        from scheduler.booking.slots import slot_of

        literal = self.at(planned.session, slot_of(self.club, planned))
        self.at_least(on, [] if literal is None else [literal], self.held(planned.session))

    def hint(self, plan: WeekPlan) -> None:
        """Start the search from this plan."""
        from scheduler.booking.whole import values

        for variable, value in values(self, plan) or ():
            self.model.add_hint(variable, value)

    def forbid(self, plan: WeekPlan, *, then: bool = False) -> None:
        """Never this booking again, nor another in which the same players are there for the same minutes.

        `then`: only such others as have every session at the same time.
        """
        from scheduler.booking.whole import same_people, same_times

        same = same_people(self, plan)
        if same is not None:
            same += same_times(self, plan) if then else []
            self.model.add(cp_model.LinearExpr.sum(same) <= len(same) - 1)

    def read(self, solver: Solved) -> WeekPlan:
        """The plan of a solved model, sessions without blocks, in order of date, start, pitch and zones."""
        from scheduler.booking.whole import read

        return read(self, solver)
