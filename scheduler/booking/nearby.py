"""A lawful week of a large club made better part by part: a few teams book anew on the ground that the others leave.

Only the sessions of these teams and whoever shares children, adults or families with them make up the model; all others
keep their ground, and nothing of them changes. Every so many neighbourhoods the whole plan is audited, and what breaks
a rule is given up.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from random import Random
from typing import TYPE_CHECKING

import numpy as np

from scheduler.booking.draft.claims import claims_of
from scheduler.booking.slots import slot_of
from scheduler.booking.twins import in_order
from scheduler.booking.unmet import unmet_of
from scheduler.club.club import Club
from scheduler.club.numbers import so_many
from scheduler.club.part import part_of
from scheduler.contract import Rule, Severity, is_booking_rule
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.priorities import BOOKING_ORDER
from scheduler.progress import Report

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot
    from scheduler.booking.sounding import Allowed

    Numbers = NDArray[np.int64]

SEED = 20240101
LEAST_TEAMS = 4  # that book anew together; more where that is soon solved
MOST_TRIES = 1000
MOST_IDLE = 12  # neighbourhoods in a row without a wish better met
TRIES_TO_AN_AUDIT = 25
A_SOLVE = 0.3  # reproducible seconds
OVERHEAD = 0.005  # reproducible seconds that a session of a model costs beside the solve
AT_RANDOM = 4  # every so many times the teams are drawn by lot, not by whose wishes are unmet


class Nearby:
    """Neighbourhoods of one club's plan. `slots`: the slots of each session that no rule excludes by itself.

    `helped`: sessions that adults of other teams may help, if all they are at changes with them.
    """

    def __init__(
        self,
        club: Club,
        rules: Sequence[Rule],
        slots: Mapping[str, Sequence[Slot]],
        helped: frozenset[str] = frozenset(),
    ) -> None:
        self._club, self._helped, self._claims = club, helped, claims_of(club, slots, strict=False)
        self._rules = [rule for rule in rules if is_booking_rule(rule) and rule.off(club) is None]
        self._random = Random(SEED)
        self._size = 2 * LEAST_TEAMS
        self._number = {one.session: number for number, one in enumerate(self._claims.wanted)}
        self._members = {ask.id: {player.id for player in club.members(ask.id)} for ask in club.sessions}
        self._adults = {ask.id: set(club.own_coaches(ask.id)) for ask in club.sessions}
        families = {player.id: player.family for player in club.players if player.family}
        self._families = {
            session: {families[player] for player in members if player in families}
            for session, members in self._members.items()
        }

    def improved(
        self,
        plan: WeekPlan,
        limit: float,
        on_progress: Report,
        settled: Container[str] = (),
        allowed: Allowed | None = None,
    ) -> tuple[WeekPlan, float, bool]:
        """The plan after neighbourhoods worth `limit` reproducible seconds, what is left, and whether Ctrl-C came.

        What is given back has been audited as a whole. The search ends early where it has come to nothing for long.
        `settled`: wishes that no plan meets better; they are kept as they are, but no longer looked after.
        `allowed`: the slots that are worth a try, those of the plan itself beside them.
        """
        lawful, left, idle = plan, limit, 0
        try:
            unhappy = self._unhappy(self._club, plan, settled)[1]
            for tried in range(1, MOST_TRIES + 1):
                if left <= 0 or idle >= MOST_IDLE or not unhappy:
                    break
                teams = self._teams(plan, unhappy if tried % AT_RANDOM else [])
                found, spent = self.rebooked(plan, teams, allowed)
                left -= spent + OVERHEAD * len(self._part(teams, plan))
                self._grow(spent)
                idle += 1
                if found is not None:
                    found = in_order(self._club, found)
                    better, unhappy = self._compared(plan, found, teams, unhappy, settled)
                    plan, idle = found, 0 if better else idle
                if tried % TRIES_TO_AN_AUDIT == 0 and plan is not lawful:
                    plan = lawful = plan if self.is_lawful(plan) else lawful
                    unhappy = self._unhappy(self._club, plan, settled)[1]
                on_progress(f"part by part, {so_many(len(unhappy), 'session')} with a wish unmet")
        except KeyboardInterrupt:
            return lawful, left, True
        return (plan if plan is lawful or self.is_lawful(plan) else lawful), left, False

    def _grow(self, spent: float) -> None:
        """More teams next time where that is soon solved, fewer where it is not."""
        more = 1 if spent < A_SOLVE / 4 else -2 if spent >= A_SOLVE else 0
        self._size = max(LEAST_TEAMS, self._size + more)

    def is_lawful(self, plan: WeekPlan) -> bool:
        """Whether the whole plan breaks no rule about bookings."""
        return not any(
            found.severity is Severity.BREACH for rule in self._rules for found in rule.audit(self._club, plan)
        )

    def _compared(
        self, plan: WeekPlan, new: WeekPlan, teams: set[str], unhappy: list[str], settled: Container[str]
    ) -> tuple[bool, list[str]]:
        """Whether a plan with some teams' sessions booked anew pays less, and the sessions with a wish unmet then."""
        part = self._part(teams, plan)
        club = self._club_of(part, plan, new)
        (before, _), (after, mine) = (self._unhappy(club, _of(one, part), settled) for one in (plan, new))
        left = {session for session in unhappy if session not in part} | set(mine)
        return after < before, [one.session for one in new.sessions if one.session in left]

    def _unhappy(self, club: Club, plan: WeekPlan, settled: Container[str]) -> tuple[list[float], list[str]]:
        """What a plan pays for each wish, in order, and the sessions of whoever pays for one that is not settled."""
        paid = dict.fromkeys(BOOKING_ORDER, 0.0)
        unmet = unmet_of(club, plan, [rule for rule in self._rules if not rule.firm])
        for row in unmet:
            paid[row.wish] += row.by
        about = {name for row in unmet if row.wish not in settled for name in row.about}
        teams = {club.player(name).team for name in about if club.has("player", name)} | about
        unhappy = [one.session for one in plan.sessions if one.session in about or teams & set(one.teams)]
        return list(paid.values()), unhappy

    def _teams(self, plan: WeekPlan, unhappy: list[str]) -> set[str]:
        """Some teams: one whose wish is unmet and some who are on ground it could use; or any, by lot."""
        club = self._club
        others = [team.id for team in club.teams]
        chosen: set[str] = set()
        if unhappy:
            session = unhappy[self._random.randrange(len(unhappy))]
            chosen = set(club.session(session).teams)
            there = self._holders(plan, self._claims.wanted[self._number[session]].minds)
            others = list(dict.fromkeys(team for one in there for team in club.session(one).teams)) or others
        others = sorted(set(others) - chosen)
        return chosen | set(self._random.sample(others, min(self._size - 1, len(others))))

    def teams_about(self, plan: WeekPlan, sessions: Sequence[str], moving: Container[str], others: int) -> set[str]:
        """The teams of some sessions and of whoever has an adult in common, of those moving, and so many by lot."""
        near = self._with(set(sessions), self._adults_in(plan))
        teams = {team for one in plan.sessions if one.session in near or one.session in moving for team in one.teams}
        left = sorted(team.id for team in self._club.teams if team.id not in teams)
        return teams | set(self._random.sample(left, min(len(left), others)))

    def in_the_way(self, plan: WeekPlan, session: str) -> dict[Slot, set[str]]:
        """For each slot of a session who else is on that ground."""
        one = self._claims.wanted[self._number[session]]
        on = np.zeros(self._claims.cells, dtype=np.int64)
        for planned in plan.sessions:
            if planned.session != session:
                on[self._ground(planned)] = self._number[planned.session] + 1
        on[-1] = 0
        there = [
            {self._claims.wanted[number - 1].session for number in set(row) - {0}} for row in on[one.minds].tolist()
        ]
        return dict(zip(one.slots, there, strict=True))

    def _holders(self, plan: WeekPlan, cells: Numbers) -> list[str]:
        """The sessions that are on any of some ground."""
        free = np.zeros(self._claims.cells, dtype=bool)
        free[cells] = True
        free[-1] = False
        return [one.session for one in plan.sessions if free[self._ground(one)].any()]

    def _ground(self, planned: PlannedSession) -> Numbers:
        one = self._claims.wanted[self._number[planned.session]]
        row: Numbers = one.takes[one.slots.index(slot_of(self._club, planned))]
        return row

    def rebooked(
        self,
        plan: WeekPlan,
        teams: set[str],
        allowed: Allowed | None = None,
        rules: Sequence[Rule] = (),
        limit: float = A_SOLVE,
        beside: Container[str] = (),
    ) -> tuple[WeekPlan | None, float]:
        """The plan with some teams' sessions booked anew, where that is no worse; and the solver's seconds.

        `rules`: instead of all; no wish but theirs is looked after. `beside`: sessions that the model knows too.
        """
        from scheduler.booking.build import build_booking
        from scheduler.booking.stages import Stages

        club, free = self._club, self._free(teams)
        changing = self._with(free, self._members, again=True)
        part = self._part(teams, plan) | {one.session for one in plan.sessions if one.session in beside}
        old = _of(plan, part)
        small = self._club_of(part, plan)
        taken = np.zeros(self._claims.cells, dtype=bool)
        for planned in plan.sessions:
            if planned.session not in free:
                taken[self._ground(planned)] = True
        taken[-1] = False
        slots = {
            planned.session: self._left(planned, taken, allowed)
            if planned.session in free
            else [slot_of(club, planned)]
            for planned in old.sessions
        }
        helped = self._helped | {one.session for one in old.sessions if self._lent(one)}
        model = build_booking(small, rules or self._rules, outsiders=False, widened=helped, slots=slots, relaxed=True)
        for planned in old.sessions:
            if planned.session in changing:
                self._keep_away(model, planned, plan, part)
            else:
                _keep_adults(model, planned)
        stages = Stages(model, limit, tidy=False)
        if not stages.start_from(old):
            return None, limit - stages.left
        stages.run()
        if stages.stopped:
            raise KeyboardInterrupt
        new, spent = stages.plan, limit - stages.left
        if new is None or new.sessions == old.sessions:
            return None, spent
        held = {one.session: one for one in new.sessions if one.session in changing}
        sessions = [held.get(one.session, one) for one in plan.sessions]
        sessions.sort(key=lambda one: (one.date, one.start, one.pitch, one.zones))
        return plan.model_copy(update={"sessions": tuple(sessions)}), spent

    def _free(self, teams: set[str]) -> set[str]:
        return {ask.id for ask in self._club.sessions if teams & set(ask.teams)}

    def _part(self, teams: set[str], plan: WeekPlan) -> set[str]:
        """The sessions of some teams and of whoever shares children, adults or families with them."""
        changing = self._with(self._free(teams), self._members, again=True)
        return self._with(self._with(changing, self._adults_in(plan)), self._families)

    def _adults_in(self, plan: WeekPlan) -> dict[str, set[str]]:
        """The adults of each session's teams, and those whom a plan has it lent."""
        return self._adults | {one.session: self._adults[one.session] | self._lent(one) for one in plan.sessions}

    def _lent(self, planned: PlannedSession) -> set[str]:
        """The adults of other teams at a session."""
        return set(planned.coaches) - self._adults[planned.session]

    def _keep_away(self, model: BookingModel, planned: PlannedSession, plan: WeekPlan, part: set[str]) -> None:
        """Nobody helps a session who may be needed in others than the model's, unless it is so already."""
        busy = {coach for session, own in self._adults.items() if session not in part for coach in own}
        busy |= {coach for one in plan.sessions if one.session not in part for coach in one.coaches}
        for coach, literal in model.adults.possible(planned.session).items():
            if coach in busy and coach not in self._adults[planned.session] and coach not in planned.coaches:
                model.model.add(literal == 0)

    def _club_of(self, part: set[str], *plans: WeekPlan) -> Club:
        """The club of some sessions alone, with the adults they have in some plans."""
        return part_of(
            self._club, part, {one for plan in plans for of in _of(plan, part).sessions for one in of.coaches}
        )

    def _left(self, planned: PlannedSession, taken: NDArray[np.bool_], allowed: Allowed | None) -> list[Slot]:
        one, its_own = self._claims.wanted[self._number[planned.session]], slot_of(self._club, planned)
        left = [one.slots[row] for row in np.flatnonzero(~taken[one.minds].any(axis=1))]
        return left if allowed is None else [s for s in left if s == its_own or allowed(planned.session, s)]

    @staticmethod
    def _with(sessions: set[str], shared: Mapping[str, set[str]], again: bool = False) -> set[str]:
        """The sessions and those that have somebody in common with them; `again`: and those with these, and so on."""
        found = set(sessions)
        while True:
            people = set[str]().union(*(shared[one] for one in found))
            more = {one for one, of in shared.items() if of & people} - found
            found |= more
            if not more or not again:
                return found


def _keep_adults(model: BookingModel, planned: PlannedSession) -> None:
    """A session that does not change has the adults it had, so that they are nowhere else then."""
    for coach, literal in model.adults.possible(planned.session).items():
        model.model.add(literal == int(coach in planned.coaches))


def _of(plan: WeekPlan, sessions: Iterable[str]) -> WeekPlan:
    """The plan of some sessions alone."""
    wanted = set(sessions)
    return plan.model_copy(update={"sessions": tuple(one for one in plan.sessions if one.session in wanted)})
