"""A small model of a week's slots for replanning: where sessions go so that as few as possible are cancelled and moved.

Ground, days and the teams' own adults, session by session. By ground and days alone it shows how few moves any lawful
booking needs; with adults and finishing times too it gives bookings that are likely lawful. The audit judges them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from scheduler.booking.slots import Slot, slot_of
from scheduler.club.club import Club
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.replan.adults import Spare
from scheduler.replan.moves import Choice, far
from scheduler.solver import cp_model
from scheduler.solving import make_solver

Linear = cp_model.LinearExpr | int
SHOW, FIND, NEAR = 2.0, 3.0, 0.5  # reproducible seconds: for the fewest by ground, for a booking, for a nearer one
ADULT = 10


@dataclass(frozen=True)
class Answer:
    """Where sessions that change are held, by whom, and which are cancelled.

    `fewest`: no lawful booking cancels fewer, nor moves fewer beside those.
    """

    to: Mapping[str, Choice]
    cancelled: tuple[str, ...]
    fewest: bool


class Small:
    """One week; `away` cannot stay, `fixed` have begun. `slots` are those open to a session, its own included."""

    def __init__(
        self,
        club: Club,
        plan: WeekPlan,
        away: Sequence[str],
        fixed: Sequence[str],
        slots: Callable[[str], list[Slot]],
        finish_by: Callable[[PlannedSession], int],
        spare: Spare,
    ) -> None:
        self._club, self._plan, self._away, self._spare = club, plan, away, spare
        self._finish_by = finish_by
        self._model = cp_model.CpModel()
        self._at: dict[str, dict[Slot, cp_model.IntVar]] = {}
        self._off: dict[str, cp_model.IntVar] = {}
        self._with: dict[str, dict[str, cp_model.IntVar]] = {}
        for planned in plan.sessions:
            self._place(planned, fixed, slots)
        self._ground()
        self._days()
        self._solution: list[int] = []
        self.least: tuple[int, int] | None = None  # cancelled, and cancelled or moved

    # by ground and days

    def _place(self, planned: PlannedSession, fixed: Sequence[str], slots: Callable[[str], list[Slot]]) -> None:
        own = slot_of(self._club, planned)
        stays = planned.session in fixed
        places = [own] if stays else [slot for slot in slots(planned.session) if self._may(planned, slot, own)]
        at = {slot: self._model.new_bool_var("") for slot in places}
        off = self._off[planned.session] = self._model.new_bool_var("")
        self._model.add_exactly_one([*at.values(), off])
        if stays:
            self._model.add(off == 0)
        self._model.add_hint(off, 0)
        for slot, literal in at.items():
            self._model.add_hint(literal, int(slot == own))
        self._at[planned.session] = at

    def _may(self, planned: PlannedSession, slot: Slot, own: Slot) -> bool:
        return slot != own or planned.session not in self._away

    def _ground(self) -> None:
        """Each zone is one session's at a time; a pitch that lies on another takes all of its zones."""
        cells: dict[tuple[object, ...], list[cp_model.IntVar]] = {}
        around = self._club.gap + self._club.set_up + self._club.pack_up
        for places in self._at.values():
            for slot, literal in places.items():
                for minute in range(slot.start - slot.start % self._club.step, slot.end + around, self._club.step):
                    for zone in slot.zones:
                        cells.setdefault((slot.date, slot.pitch, zone, minute), []).append(literal)
        for literals in cells.values():
            if len(literals) > 1:
                self._model.add_at_most_one(literals)

    def _days(self) -> None:
        """A team trains once a day."""
        for team in self._club.teams:
            mine = [planned for planned in self._plan.sessions if team.id in planned.teams]
            for date in self._club.dates if len(mine) > 1 else ():
                there = [x for one in mine for slot, x in self._at[one.session].items() if slot.date == date]
                if there:
                    self._model.add_at_most_one(there)

    def _changed(self) -> list[Linear]:
        """A literal or term for each session: 1 where it does not stay in its slot."""
        stays = [self._at[one.session].get(slot_of(self._club, one)) for one in self._plan.sessions]
        return [1 if literal is None else 1 - literal for literal in stays]

    def _cost(self, weight: int) -> cp_model.LinearExpr:
        """Sessions cancelled, each as dear as `weight` that are cancelled or moved."""
        off = [weight * literal for literal in self._off.values()]
        return cp_model.LinearExpr.sum([*off, *self._changed()])

    def _solve(self, limit: float, model: cp_model.CpModel, cost: Linear
               ) -> tuple[cp_model.CpSolver, str]:  # fmt: skip
        model.minimize(cost)
        if self._solution:
            model.proto.solution_hint.vars.clear()
            model.proto.solution_hint.values.clear()
            for index, value in enumerate(self._solution):
                model.add_hint(model.get_bool_var_from_proto_index(index), value)
        solver = make_solver(limit, linearization=2, probing=0)
        status = str(solver.solve(model).name)
        if status in ("OPTIMAL", "FEASIBLE"):
            self._solution = list(solver.response_proto.solution)
        return solver, status

    def show_least(self) -> tuple[int, int] | None:
        """The fewest cancelled, and the fewest cancelled or moved with those, by ground and days alone; None: unknown.

        Every lawful booking keeps to ground and days, so that none can do with fewer.
        """
        weight = len(self._plan.sessions) + 1
        cost = self._cost(weight)
        solver, status = self._solve(SHOW, self._model, cost)
        on_grid = all(one.start % self._club.step == 0 for one in self._plan.sessions)
        if status == "OPTIMAL" and on_grid:  # a session off the grid takes more of it here than it needs
            self.least = divmod(round(solver.objective_value), weight)
        return self.least

    # with adults too

    def with_adults(self) -> None:
        """Own adults who can come, as many as needed; nobody in two places; children home in time."""
        for planned in self._plan.sessions:
            at = self._at[planned.session]
            own = slot_of(self._club, planned)
            late = [x for slot, x in at.items() if slot.end > self._finish_by(planned) and slot != own]
            self._model.add(sum(late) == 0)
            self._adults(planned, at)
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
        needed = min(self._spare.needed(planned), len(planned.coaches))
        self._model.add(sum(literals.values()) + needed * off >= needed)
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
        for cell in covers[0].keys() & covers[1].keys():
            self._model.add(sum(covers[0][cell]) + sum(covers[1][cell]) - 1 <= together)
        for coach in coaches:
            self._model.add_bool_or([~self._with[one][coach], ~self._with[other][coach], ~together])

    def forbid(self, session: str, slot: Slot, coaches: Sequence[str]) -> None:
        """Never a session in this slot with no more than these adults again."""
        others = [x for coach, x in self._with[session].items() if coach not in coaches]
        self._model.add_bool_or([~self._at[session][slot], *others])

    def answer(self) -> Answer | None:
        """The fewest cancelled and moved, then the nearest that a short search finds; None where nothing was found."""
        weight = len(self._plan.sessions) + 1
        cost = self._cost(weight)
        solver, status = self._solve(FIND, self._model, cost)
        if status not in ("OPTIMAL", "FEASIBLE"):
            return None
        found = divmod(round(solver.objective_value), weight)
        nearer = self._model.clone()
        nearer.add(cost <= round(solver.objective_value))
        better, status = self._solve(NEAR, nearer, self._distance())
        return self._read(better if status in ("OPTIMAL", "FEASIBLE") else solver, found == self.least)

    def _distance(self) -> Linear:
        terms: list[Linear] = []
        for planned in self._plan.sessions:
            terms += [far(planned, slot) * x for slot, x in self._at[planned.session].items()]
            terms += [ADULT * (1 - x if coach in planned.coaches else x)
                      for coach, x in self._with[planned.session].items()]  # fmt: skip
        return cp_model.LinearExpr.sum(terms)

    def _read(self, solver: cp_model.CpSolver, fewest: bool) -> Answer:
        to: dict[str, Choice] = {}
        off = tuple(session for session, literal in self._off.items() if solver.boolean_value(literal))
        for planned in self._plan.sessions:
            held = [slot for slot, x in self._at[planned.session].items() if solver.boolean_value(x)]
            come = [coach for coach, x in self._with[planned.session].items() if solver.boolean_value(x)]
            kept = [coach for coach in planned.coaches if coach in come]
            coaches = (*kept, *(coach for coach in come if coach not in kept))
            if held and (held[0] != slot_of(self._club, planned) or set(coaches) != set(planned.coaches)):
                to[planned.session] = Choice(planned.session, held[0], coaches, 0, frozenset())
        return Answer(to, off, fewest)
