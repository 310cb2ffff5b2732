"""What children lose at least where that hangs on few sessions: each knot of them by itself, the rest of the club away.

A knot is the sessions of some children who may have to miss some, nearly always those of two teams. By itself it has
all the ground and every adult of the club for help, so that it loses no more than in any week of the whole. No child is
counted in two knots, nor are the adults of a session, so that what they come to adds up.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from math import ceil
from typing import TYPE_CHECKING, NamedTuple

from scheduler.booking.unmet import unmet_of
from scheduler.club.part import part_of
from scheduler.contract import Rule
from scheduler.priorities import BOOKING_ORDER
from scheduler.solver import cp_model
from scheduler.solving import make_solver

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel, Linear
    from scheduler.booking.slots import Slot
    from scheduler.booking.squads import Squad
    from scheduler.plan.plan import WeekPlan

MINUTES, CHILDREN, ADULTS = "fewest minutes stood down", "fewest children stood down", "own coaches first"
FIRST_AID = "Coaches.First aid until"
A_SOLVE = 1.0  # reproducible seconds for one question, at most
OVERHEAD = 0.005  # reproducible seconds that a session of a model costs beside the solve
SHARE = 0.05  # of the limit; from then on the rest is left to counting


class Knot(NamedTuple):
    """Some sessions and the children who belong to no others, and what they pay at least, each given those before.

    `staffed`: the sessions whose adults are counted here.
    """

    sessions: tuple[str, ...]
    players: frozenset[str]
    staffed: frozenset[str]
    minutes: int = 0
    children: int = 0
    adults: int = 0

    def holds(self, squad: Squad) -> bool:
        """Whether the children of a squad are counted here."""
        return self.players.issuperset(squad.players)

    def cost(self, model: BookingModel, wish: str) -> Linear:
        """What a model of these sessions, or of more, pays here for a wish about people."""
        terms = [
            penalty.amount * penalty.term
            for penalty in model.penalties
            if penalty.wish == wish
            and (penalty.about[0] in self.staffed if wish == ADULTS else self.players.issuperset(penalty.about))
        ]
        return cp_model.LinearExpr.sum(terms)


class Knots:
    """The knots of a club. `spent`: reproducible seconds that they took and are not paid for.

    `known`: those of which counting does not say all. `plain`: the others, with what counting says. `rules`: without
    the wishes that come after those about people.
    """

    def __init__(self, narrowed: BookingModel, rules: Sequence[Rule], limit: float) -> None:
        later = set(BOOKING_ORDER) - {ADULTS}
        self._narrowed, self.rules = narrowed, [rule for rule in rules if rule.name not in later]
        self.spent, self._most = 0.0, SHARE * limit
        self.known, self.plain = list[Knot](), list[Knot]()
        self._models: dict[tuple[str, ...], BookingModel] = {}
        for sessions in tied(narrowed):
            if self.spent < self._most:
                self._look_at(sessions)

    @property
    def sessions(self) -> frozenset[str]:
        """The sessions of all of them."""
        return frozenset(session for knot in self.known for session in knot.sessions)

    def look_after(self, plan: WeekPlan) -> None:
        """Look at the sessions of children who lose more in a plan than counting says, too."""
        club, children = self._narrowed.club, self._narrowed.children
        lost = Counter[str]()
        for row in unmet_of(club, plan, [rule for rule in self.rules if not rule.firm]):
            if row.wish == MINUTES:
                lost[row.about[0]] += int(row.by)
        for squad in children.squads:
            most = max((lost[player] for player in squad.players), default=0)
            known = any(set(squad.sessions) <= set(knot.sessions) for knot in (*self.known, *self.plain))
            if most * squad.size > children.least_lost(squad) and not known and self.spent < self._most:
                self._look_at(squad.sessions)

    def bill(self) -> float:
        """The reproducible seconds spent, to be paid once."""
        spent, self.spent = self.spent, 0.0
        return spent

    def _look_at(self, sessions: tuple[str, ...]) -> None:
        children = self._narrowed.children
        within = [
            squad
            for squad in children.squads
            if set(squad.sessions) <= set(sessions) and not any(knot.holds(squad) for knot in self.known)
        ]
        losing = [squad for squad in within if children.least_lost(squad) > 0]
        knot = Knot(
            sessions,
            players=frozenset(player for squad in within for player in squad.players),
            staffed=frozenset(sessions).difference(*(other.staffed for other in self.known)),
            minutes=sum(children.least_lost(squad) for squad in losing),
            children=sum(squad.size for squad in losing),
        )
        model = self._model(sessions, helped=False)
        counted = knot._replace(adults=sum(model.adults.least_lent(session) for session in knot.staffed))
        if self._is_reached(counted, model):
            self.plain.append(counted)
        else:
            model = self._model(sessions, helped=True)
            self.known.append(self._solved(knot, model))
        self._models[sessions] = model

    def _is_reached(self, knot: Knot, model: BookingModel) -> bool:
        """Whether a model has a week in which no more is paid here than counting says."""
        for wish, least in ((MINUTES, knot.minutes), (CHILDREN, knot.children), (ADULTS, knot.adults)):
            model.model.add(knot.cost(model, wish) <= least)
        return self._least(model, 0)[1] in ("OPTIMAL", "FEASIBLE")

    def _solved(self, knot: Knot, model: BookingModel) -> Knot:
        """The knot with what it pays at least, as far as that is found in time; the model keeps to that."""
        for wish, field in ((MINUTES, "minutes"), (CHILDREN, "children"), (ADULTS, "adults")):
            cost = knot.cost(model, wish)
            least, status = self._least(model, cost)
            knot = knot._replace(**{field: max(least, getattr(knot, field))})
            if status != "OPTIMAL":
                break
            model.model.add(cost <= least)
        return knot

    def cheapest(self, knot: Knot, prices: Mapping[str, Mapping[Slot, int]]) -> dict[str, Slot]:
        """The slots of a week in which a knot pays no more than it must, at the lowest price in all; none if not found.

        `prices`: of the slots of each of its sessions.
        """
        model, cheap = self._models[knot.sessions], dict[int, "tuple[str, Slot]"]()
        for session in knot.sessions:
            for slot in sorted(prices[session], key=prices[session].__getitem__):
                literal = model.at(session, slot)
                if literal is not None:
                    cheap.setdefault(literal.index, (session, slot))
        literals = [model.at(*choice) for choice in cheap.values()]
        cost = [prices[session][slot] for session, slot in cheap.values()]
        model.model.minimize(cp_model.LinearExpr.weighted_sum(literals, cost))
        solver = make_solver(A_SOLVE, probing=0)
        status = str(solver.solve(model.model).name)
        self.spent += float(solver.response_proto.deterministic_time)
        if status not in ("OPTIMAL", "FEASIBLE"):
            return {}
        return dict(cheap[at] for at in cheap if solver.response_proto.solution[at])

    def _model(self, sessions: tuple[str, ...], *, helped: bool) -> BookingModel:
        """The model of these sessions alone; `helped`: by everybody, with every choice of who comes.

        First aid is left out, which adults of other sessions at the same site may give. Children who are in others'
        sessions too may have to miss these for those.
        """
        from scheduler.booking.build import build_booking

        club = self._narrowed.club
        small = part_of(club, sessions, {coach.id for coach in club.coaches})
        small = small.model_copy(update={"blank": small.blank | {FIRST_AID}})
        self.spent += OVERHEAD * len(sessions)
        return build_booking(
            small, self.rules, outsiders=helped, certain_only=not helped, relaxed=True,
            slots={session: self._narrowed.narrowed[session] for session in sessions},
            choices=self._narrowed.children if helped else None,
        )  # fmt: skip

    def _least(self, model: BookingModel, cost: Linear) -> tuple[int, str]:
        """What is shown of a cost, and the status in CP-SAT's words."""
        model.model.minimize(cost)
        solver = make_solver(A_SOLVE, probing=0)
        status = str(solver.solve(model.model).name)
        self.spent += float(solver.response_proto.deterministic_time)
        return max(0, ceil(solver.best_objective_bound - 1e-6)) if status != "INFEASIBLE" else 0, status


def tied(narrowed: BookingModel) -> list[tuple[str, ...]]:
    """The sessions of children who are in more than one team's, or must lose something in any case; largest sets alone.

    Of a club whose slots have been narrowed.
    """
    club, children = narrowed.club, narrowed.children
    sets = dict.fromkeys(
        squad.sessions
        for squad in children.squads
        if len(squad.sessions) > 1
        and children.has_choice(squad)
        and (len({club.session(session).teams for session in squad.sessions}) > 1 or children.least_lost(squad) > 0)
    )
    return [one for one in sets if not any(set(one) < set(other) for other in sets)]


def least_paid(model: BookingModel, knots: Sequence[Knot]) -> dict[str, int]:
    """What every plan pays at least for the wishes about people, each given those before, by knots and by counting.

    Adults: of a model where nobody of other teams helps without need.
    """
    children = model.children
    losing = [
        squad
        for squad in children.squads
        if children.least_lost(squad) > 0 and not any(knot.holds(squad) for knot in knots)
    ]
    staffed = {session for knot in knots for session in knot.staffed}
    lent = sum(model.adults.least_lent(ask.id) for ask in model.club.sessions if ask.id not in staffed)
    return {
        MINUTES: sum(knot.minutes for knot in knots) + sum(children.least_lost(squad) for squad in losing),
        CHILDREN: sum(knot.children for knot in knots) + sum(squad.size for squad in losing),
        ADULTS: sum(knot.adults for knot in knots) + lent,
    }
