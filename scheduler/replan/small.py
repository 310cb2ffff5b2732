"""A small model of a week's slots for replanning: where sessions go so that as few as possible are cancelled and moved.

Ground and the teams' own adults, session by session: every lawful booking has a coach of each team there and nobody in
two places, so that fewer moves than these need are impossible. Where own adults are too few, others are asked
afterwards. That a team trains once a day is no rule: where it has children enough, some may come to one session and the
others to another. It is held here all the same, for weeks in which nobody misses a session, but shows nothing to be the
fewest there.
What this model gives is likely lawful; the audit judges it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from scheduler.booking.slots import Slot, slot_of
from scheduler.club.club import Club
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.replan.adults import Spare
from scheduler.replan.allowed import Allowed
from scheduler.replan.children import children_of_two
from scheduler.replan.moments import Moments
from scheduler.replan.moves import Choice
from scheduler.solver import cp_model
from scheduler.solving import make_solver

Linear = cp_model.LinearExpr | int
SOON, FIND, SHOW = 1.0, 3.0, 1.0  # reproducible seconds: for the fewest from the bound upward, else; for their proof
NEAR, WIDE = 0.15, 0.05  # for the nearest booking with those moved that were, and with so many
SOLVED = (cp_model.OPTIMAL, cp_model.FEASIBLE)
ADULT, LENT, LATE = 10, 200, 100_000  # what a change of adult, an adult of others and a late end cost beside distance
FEWER = 10_000_000  # a move less, beside everything


@dataclass(frozen=True)
class Answer:
    """Where sessions that change are held, by whom, and which are cancelled.

    `fewest`: no lawful booking cancels fewer, nor moves fewer beside those.
    """

    to: Mapping[str, Choice]
    cancelled: tuple[str, ...]
    fewest: bool


class Small:
    """One week; `away` cannot stay, `fixed` have begun. `allowed` knows the slots of a session, its own included."""

    def __init__(
        self,
        club: Club,
        plan: WeekPlan,
        away: Sequence[str],
        fixed: Sequence[str],
        allowed: Allowed,
        finish_by: Callable[[PlannedSession], int],
        spare: Spare,
    ) -> None:
        self._club, self._plan, self._away, self._allowed, self._spare = club, plan, away, allowed, spare
        self._finish_by = finish_by
        self._model = cp_model.CpModel()
        self._at: dict[str, dict[Slot, cp_model.IntVar]] = {}
        self._off: dict[str, cp_model.IntVar] = {}
        self._with: dict[str, dict[str, cp_model.IntVar]] = {}
        allowed.look_at([planned.session for planned in plan.sessions if planned.session not in fixed])
        self._moments = Moments(club)
        for planned in plan.sessions:
            self._place(planned, fixed)
        self._moments.post(self._model, self._at)
        self._once = self._model.new_bool_var("")  # every team trains once a day
        self._twice = False  # some team could
        self._days()
        self._lent: list[Linear] = []
        self._own_adults()
        self._forbids = False
        self.least: tuple[int, int] | None = None  # cancelled, and cancelled or moved

    # by ground and days

    def _place(self, planned: PlannedSession, fixed: Sequence[str]) -> None:
        own = slot_of(self._club, planned)
        stays = planned.session in fixed
        slots = [own] if stays else self._allowed.slots(planned.session)
        if planned.session in self._away:
            slots = [slot for slot in slots if slot != own]
        at = {slot: self._model.new_bool_var("") for slot in self._moments.choices(planned, slots, own)}
        off = self._off[planned.session] = self._model.new_bool_var("")
        self._model.add_exactly_one([*at.values(), off])
        if stays:
            self._model.add(off == 0)
        self._at[planned.session] = at

    def _days(self) -> None:
        """A team trains once a day, where that is wanted, and where it has too few children to train twice."""
        for team in self._club.teams:
            mine = [planned.session for planned in self._plan.sessions if team.id in planned.teams]
            for date in self._club.dates if len(mine) > 1 else ():
                on = {one: [x for slot, x in self._at[one].items() if slot.date == date] for one in mine}
                self._model.add_at_most_one(x for there in on.values() for x in there).only_enforce_if(self._once)
                for one, other in combinations((one for one in mine if on[one]), 2):
                    if self._allowed.both_on(one, other, date):
                        self._twice = True
                    else:
                        self._model.add_at_most_one(*on[one], *on[other])

    def _once_a_day(self) -> cp_model.CpModel:
        """The model in which every team trains once a day."""
        model = self._model.clone()
        model.add(self._once == 1)
        return model

    def _changed(self) -> list[Linear]:
        """A literal or term for each session: 1 where it does not stay in its slot."""
        stays = [self._at[one.session].get(slot_of(self._club, one)) for one in self._plan.sessions]
        return [1 if literal is None else 1 - literal for literal in stays]

    def _cost(self, weight: int) -> cp_model.LinearExpr:
        """Sessions cancelled, each as dear as `weight` that are cancelled or moved."""
        off = [weight * literal for literal in self._off.values()]
        return cp_model.LinearExpr.sum([*off, *self._changed()])

    def _solve(
        self, limit: float, model: cp_model.CpModel, cost: Linear, *, upward: bool = False
    ) -> tuple[cp_model.CpSolver, cp_model.CpSolverStatus]:
        model.minimize(cost)
        solver = make_solver(
            limit, linearization=2, probing=0, cuts=False, inclusions=False, upward=upward, all_rows=True
        )
        return solver, solver.solve(model)

    # adults

    def _own_adults(self) -> None:
        """A coach of each team who can come; nobody in two places."""
        for planned in self._plan.sessions:
            self._adults(planned, self._at[planned.session])
        for one, other in combinations(self._plan.sessions, 2):
            shared = self._with[one.session].keys() & self._with[other.session].keys()
            if shared and not set(one.teams) & set(other.teams):
                self._not_both(one.session, other.session, sorted(shared))

    def _adults(self, planned: PlannedSession, at: Mapping[Slot, cp_model.IntVar]) -> None:
        teams = [self._club.team(team) for team in planned.teams]
        who = dict.fromkeys([*planned.coaches, *(coach for team in teams for coach in team.coaches)])
        literals = {coach: self._model.new_bool_var("") for coach in who if self._club.has("coach", coach)}
        for coach, literal in literals.items():
            unfree = [x for slot, x in at.items() if not self._spare.is_free(coach, slot)]
            if unfree:
                self._model.add_at_most_one([literal, *unfree])
        off = self._off[planned.session]
        needed = self._spare.needed(planned)
        lent = self._model.new_int_var(0, needed, "")
        self._model.add(sum(literals.values()) + lent + needed * off >= needed)
        self._lent.append(lent)
        for team in teams:
            lead = [x for coach, x in literals.items()
                    if coach in team.coaches and not self._club.coach(coach).helper_only]  # fmt: skip
            self._model.add_bool_or([*lead, off])
        self._with[planned.session] = literals

    def _not_both(self, one: str, other: str, coaches: Sequence[str]) -> None:
        together = self._model.new_bool_var("")
        covers = []
        for session in (one, other):
            cells: dict[tuple[object, int], list[cp_model.IntVar]] = {}
            for slot, literal in self._at[session].items():
                for minute in range(slot.start, slot.end, self._club.step):
                    cells.setdefault((slot.date, minute), []).append(literal)
            covers.append(cells)
        for cell in (cell for cell in covers[0] if cell in covers[1]):
            self._model.add(sum(covers[0][cell]) + sum(covers[1][cell]) - 1 <= together)
        for coach in coaches:
            self._model.add_bool_or([~self._with[one][coach], ~self._with[other][coach], ~together])

    def forbid(self, session: str, slot: Slot, coaches: Sequence[str]) -> None:
        """Never a session at the moment of this slot with no more than these adults again, on whatever ground."""
        self._forbids = True
        others = [x for coach, x in self._with[session].items() if coach not in coaches]
        self._model.add_bool_or([~self._at[session][self._moments.stand_in(session, slot)], *others])

    def answer(self) -> Answer | None:
        """The fewest cancelled and moved, then the nearest that a short search finds; None where nothing was found.

        What the first answer needs at least, every lawful booking needs; later ones are told what not to try again.
        """
        weight = len(self._plan.sessions) + 1
        cost = self._cost(weight)
        solver, status = self._fewest(cost)
        if status not in SOLVED:
            return None
        value = round(solver.objective_value)
        found = divmod(value, weight)
        if status == cp_model.OPTIMAL and not self._forbids and self._is_needed(value, cost):
            self.least = found
        return self._read(self._nearest(solver, cost, value), found == self.least)

    def _nearest(self, solver: cp_model.CpSolver, cost: Linear, most: int) -> cp_model.CpSolver:
        """A nearer booking than this with as few cancelled and moved, first of those that were; else this one.

        Where so few were not shown to be the fewest, it may have fewer still.
        """
        model = self._once_a_day()
        model.add(cost <= most)
        terms = [*self._distance(model), *children_of_two(model, self._plan.sessions, self._at)]
        among, distance = model.clone(), cp_model.LinearExpr.sum([FEWER * cost, *terms])
        for planned in self._plan.sessions:
            own = self._at[planned.session].get(slot_of(self._club, planned))
            if own is not None and solver.boolean_value(own):
                among.add(own == 1)
        nearer, status = self._solve(NEAR, among, distance)
        if status in SOLVED:
            solver = nearer
            for index, value in enumerate(solver.response_proto.solution):
                model.add_hint(model.get_int_var_from_proto_index(index), value)
        wider, status = self._solve(WIDE, model, distance)
        return wider if status in SOLVED else solver

    def _fewest(self, cost: Linear) -> tuple[cp_model.CpSolver, cp_model.CpSolverStatus]:
        """As few cancelled and moved as can be, none cancelled where that can be had.

        From the bound upward it is soon settled or not at all.
        """
        held = self._once_a_day()
        for off in self._off.values():
            held.add(off == 0)
        solver, status = self._solve(SOON, held, cost, upward=True)
        if status in (cp_model.UNKNOWN, cp_model.FEASIBLE):
            solver, status = self._solve(FIND, held, cost)
        return (solver, status) if status in SOLVED else self._solve(FIND, self._once_a_day(), cost)

    def _is_needed(self, value: int, cost: Linear) -> bool:
        """Whether no lawful booking costs less, given that none does in which every team trains once a day."""
        if any(one.start % self._club.step for one in self._plan.sessions):
            return False  # a session off the grid takes more of it here than it needs
        must = sum(slot_of(self._club, one) not in self._at[one.session] for one in self._plan.sessions)
        if value == must or not self._twice:
            return True
        less = self._model.clone()
        less.add(cost <= value - 1)
        return self._solve(SHOW, less, cost, upward=True)[1] == cp_model.INFEASIBLE

    def _distance(self, model: cp_model.CpModel) -> list[Linear]:
        terms: list[Linear] = [LENT * lent for lent in self._lent]
        terms += list(self._moments.distance(model, self._plan.sessions, self._at))
        for planned in self._plan.sessions:
            by, own = self._finish_by(planned), slot_of(self._club, planned)
            terms += [LATE * x for slot, x in self._at[planned.session].items() if slot.end > by and slot != own]
            terms += [ADULT * (1 - x if coach in planned.coaches else x)
                      for coach, x in self._with[planned.session].items()]  # fmt: skip
        return terms

    def _read(self, solver: cp_model.CpSolver, fewest: bool) -> Answer:
        off = tuple(session for session, literal in self._off.items() if solver.boolean_value(literal))
        is_true = solver.boolean_value
        chosen = {session: slot for session, at in self._at.items() for slot, x in at.items() if is_true(x)}
        held = self._moments.dealt(self._plan.sessions, chosen, is_true)
        come = {
            session: [coach for coach, x in coaches.items() if solver.boolean_value(x)]
            for session, coaches in self._with.items()
        }
        moved = [one for one in self._plan.sessions
                 if one.session in held and held[one.session] != slot_of(self._club, one)]  # fmt: skip
        stay = [one for one in self._plan.sessions if held.get(one.session) == slot_of(self._club, one)]
        away = frozenset((*(one.session for one in moved), *off))
        to = {one.session: self._choice(one, held[one.session], come[one.session]) for one in moved}
        for planned in (*stay, *moved):
            slot = held[planned.session]
            kept = [coach for coach in planned.coaches if self._spare.can_come(coach, planned.session, slot, to, away)]
            if planned.session in to or kept != list(planned.coaches):
                to[planned.session] = self._choice(planned, slot, self._staffed(planned, kept, come[planned.session]))
        for planned in (one for one in self._plan.sessions if one.session in to):
            choice = to[planned.session]
            more = self._spare.helped(planned, choice.slot, choice.coaches, to, away)
            to[planned.session] = self._choice(planned, choice.slot, more)
        return Answer(to, off, fewest)

    def _choice(self, planned: PlannedSession, slot: Slot, coaches: Sequence[str]) -> Choice:
        return Choice(planned.session, slot, tuple(coaches), 0, frozenset())

    def _staffed(self, planned: PlannedSession, kept: Sequence[str], come: Sequence[str]) -> list[str]:
        """Those who were there and can come, and of the model's others as many as are needed."""
        found = list(kept)
        for coach in come:
            if coach not in found and not self._spare.enough(planned, found):
                found.append(coach)
        return found
