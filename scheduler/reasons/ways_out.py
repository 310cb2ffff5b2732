"""What would make a conflict go away: the cheapest changes a club can decide, each tried out on the booking."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.outcome import Clash, Demand
from scheduler.plan.plan import WeekPlan
from scheduler.reasons.arithmetic import impossible, listed
from scheduler.reasons.changes import Way, candidates
from scheduler.solving import make_solver

MOST_WAYS, MOST_OF_A_KIND = 6, 3
MOST_TRIES, MOST_OPEN_TRIES = 6, 3  # of one kind, with all other sessions in their slots, and with all of them open
A_TRY = 5.0  # deterministic seconds


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
    from scheduler.reasons.why import sessions_in, without_sessions

    found = []
    playable = [plan for plan in base.plans if _can_be_played(club, plan, rules)]
    left = limit
    for clash in clashes:
        mine = sessions_in(club, clash)
        others = [s for other in clashes if other is not clash for s in sessions_in(club, other) if s not in mine]
        without_others = without_sessions(club, others)
        trial = Trial(without_others, mine, rules, clash.demands, left)
        ways = trial.ways_out(
            [_kept(plan, (*mine, *others)) for plan in base.plans[:1]],
            base.widened.union(mine),
            {gone for plan in playable if (gone := _only_missing(without_others, plan)) is not None},
        )
        found.append(replace(clash, ways_out=tuple(way.text for way in ways)))
        left = trial.left
    return tuple(found)


def _kept(plan: WeekPlan, without: Sequence[str]) -> WeekPlan:
    """The booking without the sessions whose slots are open."""
    sessions = tuple(planned for planned in plan.sessions if planned.session not in without)
    return plan.model_copy(update={"sessions": sessions})


def _only_missing(club: Club, plan: WeekPlan) -> str | None:
    """The one session of a club that a plan does not hold; None where it holds all of them, or lacks more."""
    missing = [ask.id for ask in club.sessions if ask.id not in plan.by_session]
    return missing[0] if len(missing) == 1 else None


class Trial:
    """The changes about the sessions of one conflict, tried out. `left`: deterministic seconds still to spend."""

    def __init__(
        self, club: Club, sessions: Sequence[str], rules: Sequence[Rule], demands: Sequence[Demand], limit: float
    ) -> None:
        from scheduler.reasons.why import ASKED

        self._club, self._sessions, self._rules = club, sessions, rules
        self.left = limit
        solved = any(demand.rule == ASKED for demand in demands)  # then these demands and no others clash
        ways = sorted(candidates(club, sessions), key=lambda one: one.rank)
        self._ways = [way for way in ways if not solved or way.could_help(demands)]
        self._hopeless: set[str] = set()

    def ways_out(self, held: Sequence[WeekPlan], widened: frozenset[str], shown: set[str]) -> list[Way]:
        """A few changes that each give a lawful booking, cheapest first; one a session and kind of change.

        With the other sessions in the slots they have in `held` first, which is quick; where nothing helps so, with
        all of them open; where no change helps, the fewest sessions that would have to be left out. `shown`: sessions
        known to leave a lawful plan when left out.
        """
        for beside, most in (*((plan, MOST_TRIES) for plan in held), (None, MOST_OPEN_TRIES)):
            found = self._tried(beside, most, None if beside is None else widened, shown)
            if found:
                return found
        return [*fewest_left_out(self._club, self._rules, self.left)] if self.left > 0 else []

    def _tried(self, beside: WeekPlan | None, most: int, widened: frozenset[str] | None, shown: set[str]) -> list[Way]:
        found: list[Way] = []
        tries: dict[int, int] = {}
        for way in self._ways:
            kind = [one for one in found if one.rank == way.rank]
            if len(kind) >= MOST_OF_A_KIND or any(one.about == way.about for one in kind):
                continue
            if len(found) == MOST_WAYS or self.left <= 0:
                break
            if way.without not in shown:
                if tries.get(way.rank, 0) == most or not self._even_alone(way):
                    continue
                tries[way.rank] = tries.get(way.rank, 0) + 1
                limit = min(A_TRY, self.left)
                lawful, spent = is_lawful(way.club, self._rules, limit, beside, widened)
                self.left -= spent
                if not lawful:
                    continue
            found.append(way)
        return found

    def _even_alone(self, way: Way) -> bool:
        """Whether the sessions of the conflict could be held so if there were no others: a model of a few sessions."""
        from scheduler.reasons.feasible import Feasible

        if way.text in self._hopeless:
            return False
        asks = tuple(ask for ask in way.club.sessions if ask.id in self._sessions)
        alone = way.club.model_copy(update={"sessions": asks})
        possible = not impossible(alone)
        if possible and asks:
            feasible = Feasible(alone, self._rules, min(A_TRY, self.left))
            possible = feasible.booking(alone, widened=frozenset(self._sessions)) is not None
            self.left -= min(A_TRY, self.left) - feasible.left
        if not possible:
            self._hopeless.add(way.text)
        return possible


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
    from scheduler.reasons.feasible import Feasible

    if beside is None and impossible(club):
        return False, 0.0
    feasible = Feasible(club, rules, limit)
    plan = feasible.booking(club, beside, widened)
    lawful = isinstance(plan, WeekPlan) and _can_be_played(club, plan, rules)
    return lawful, limit - feasible.left


def _can_be_played(club: Club, plan: WeekPlan, rules: Sequence[Rule]) -> bool:
    """Whether every turn of a booked week can be filled by number."""
    from scheduler.rotation.setting import settings
    from scheduler.rotation.shortages import shortages

    return not any(shortages(club, ring, rules) for ring in settings(club, plan))


def fewest_left_out(club: Club, rules: Sequence[Rule], limit: float) -> Iterator[Way]:
    """The fewest sessions without which the others can be booked, where that was found."""
    from scheduler.booking.book import build_booking

    model = build_booking(club, rules, wishes=False, may_cancel=True)
    off = [(ask.id, literal) for ask in club.sessions if (literal := model.cancelled(ask.id)) is not None]
    model.model.minimize(sum(literal for _, literal in off))
    solver = make_solver(limit, linearization=2)
    if solver.solve(model.model).name in ("OPTIMAL", "FEASIBLE"):
        names = [session for session, literal in off if solver.boolean_value(literal)]
        if names:
            rest = tuple(ask for ask in club.sessions if ask.id not in names)
            yield Way(9, names[0], f"leave out {listed(names)} this week", club.model_copy(update={"sessions": rest}))
