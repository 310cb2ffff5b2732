"""Some lawful booking of a week, however good, and the fewest sessions for which there is none."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from scheduler.booking.build import Small, build_booking
from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.plan.plan import WeekPlan
from scheduler.solving import make_solver

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel

LOST = "fewest minutes stood down"


def small(widened: frozenset[str] = frozenset()) -> Small:
    """A small model: everybody comes who can, led by their own; every choice only for the sessions of `widened`."""
    return {"outsiders": False, "certain_only": True, "widened": widened}


class Feasible:
    """Questions about one club's rules. `left`: reproducible seconds still to spend."""

    def __init__(self, club: Club, rules: Sequence[Rule], limit: float) -> None:
        self.club, self.rules = club, rules
        self.left = limit

    def booking(
        self, club: Club, beside: WeekPlan | None = None, widened: frozenset[str] | None = None
    ) -> WeekPlan | None | bool:
        """A lawful booking of a club; None where there is none; False where time ran out.

        `beside`: sessions that stay in these slots, which is far less work; then None says nothing of other slots.
        `widened`: none is looked for in which children stay away from, or adults help at, other sessions than these.
        """
        found: WeekPlan | None | bool = None
        model: BookingModel | None = None
        rungs: tuple[Small, ...] = (small(), {}) if widened is None else (small(widened),)
        for rung in rungs:
            model = build_booking(
                club, self.rules, wishes=not rung, relaxed=True, like=model, beside=beside, **rung
            )  # with every choice open it wishes that few are stood down
            found, spent = some_booking(model, self.left)
            self.left -= spent
            if isinstance(found, WeekPlan):
                return found
        return found

    def fuller(self, club: Club, plan: WeekPlan, widened: frozenset[str]) -> WeekPlan | None | bool:
        """The plan of all sessions of a club with its slots, and children stood down for as few minutes as can be.

        Any lawful plan may keep away children whom nothing keeps away; then too few may be left to play.
        """
        model = build_booking(club, self.rules, wishes=False, relaxed=True, beside=plan, **small(widened))
        choosing = [squad for squad in model.squads() if len(model.children.ways(squad)) > 1]
        if not choosing:
            return plan
        model.model.minimize(sum(model.children.lost(squad, s) for squad in choosing for s in squad.sessions))
        found, spent = some_booking(model, self.left)
        self.left -= spent
        return found

    def fewest_sessions(self, sessions: Sequence[str]) -> tuple[list[str], bool]:
        """Sessions that cannot all be held, each of which left out makes the rest possible; whether that was shown.

        An empty list where all of them can be held, or time runs out before that is known. By halves (Junker,
        QuickXplain, 2004, from memory): few questions where few sessions are in conflict.
        """
        self._sure = True
        if self._possible(sessions):
            return [], self._sure
        return self._by_halves([], False, list(sessions)), self._sure

    def _by_halves(self, base: list[str], more: bool, candidates: list[str]) -> list[str]:
        if more and not self._possible(base):
            return []
        if len(candidates) == 1:
            return candidates
        middle = len(candidates) // 2
        first, second = candidates[:middle], candidates[middle:]
        late = self._by_halves([*base, *first], True, second)
        early = self._by_halves([*base, *late], bool(late), first)
        return [*early, *late]

    def _possible(self, sessions: Sequence[str]) -> bool:
        asks = tuple(ask for ask in self.club.sessions if ask.id in sessions)
        found = self.booking(self.club.model_copy(update={"sessions": asks}), widened=frozenset(sessions))
        self._sure = self._sure and found is not False
        return found is not None


def some_booking(model: BookingModel, limit: float) -> tuple[WeekPlan | None | bool, float]:
    """A booking of a model, with the time spent; where few are wished to be stood down, one that stands few down.

    None where there is none, False where time ran out.
    """
    lost = [row.amount * row.term for row in model.penalties if row.wish == LOST]
    if lost:
        model.model.minimize(sum(lost))
    spent = 0.0
    while spent < limit:
        solver = make_solver(limit - spent, probing=0)
        status = solver.solve(model.model).name
        spent += float(solver.response_proto.deterministic_time)
        if status == "INFEASIBLE":
            return None, spent
        if status not in ("OPTIMAL", "FEASIBLE"):
            break
        plan = model.mended(model.read(solver))
        if plan is not None:
            return plan, spent
    return False, spent
