"""Sessions that cannot stay where they are: as few as possible move, everything else is held.

First only the displaced sessions, the other sessions of their teams and that evening at the site are free to move;
then all of them; and only where nothing is lawful even so, sessions are cancelled, as few as possible.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from scheduler.booking.slots import slot_of
from scheduler.booking.unmet import unmet_of
from scheduler.club.club import Club
from scheduler.contract import BookingRule, Rule, is_booking_rule, is_narrowing_rule
from scheduler.outcome import Conflict, OutOfTime
from scheduler.plan.plan import PlannedSession, Proof, WeekPlan
from scheduler.progress import Report, silent
from scheduler.replan.allowed import Allowed
from scheduler.replan.attendance import has_begun, is_over

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot
    from scheduler.booking.stages import Stages

WISH = "few changes"


@dataclass(frozen=True)
class Rebooked:
    """A lawful booking without places; `moved` sessions moved or cancelled, `proven` to be the fewest.

    `nearest`: no smaller moves, and no fewer changes of adults, would do.
    """

    plan: WeekPlan
    moved: int
    proven: bool
    nearest: bool


def rebook(
    club: Club,
    plan: WeekPlan,
    displaced: Sequence[str],
    rules: Sequence[Rule],
    *,
    now: dt.datetime | None,
    limit: float,
    forbidden: Sequence[WeekPlan] = (),
    on_progress: Report = silent,
) -> Rebooked | Conflict | OutOfTime:
    """Book the week again with the fewest changes. `displaced`: sessions that cannot stay as they are.

    `plan` has the attendance as it is now; `forbidden` are bookings that allow no rotation. Sessions cancelled before
    stay so.
    """
    club = _held_club(club, plan)
    fixed = [planned.session for planned in plan.sessions if has_begun(planned, now)]
    near = _neighbourhood(club, plan, displaced)
    everything = [ask.id for ask in club.sessions]
    late = False
    for free, may_cancel in ((near, False), (everything, False), (everything, True)):
        task = _Task(club, plan, [s for s in free if s not in fixed], fixed, may_cancel, now)
        stages = task.solve(rules, limit, forbidden, on_progress)
        if stages.plan is not None:
            found, moved = stages.plan, _moved(plan, stages.plan)
            must = max(task.must_move, int(bool(forbidden)))
            least = task.fewest_shown(stages) if free is everything else moved <= must
            if not least and free is not everything and not stages.stopped:
                task = _Task(club, plan, [s for s in everything if s not in fixed], fixed, False, now)
                other = task.solve(rules, limit, forbidden, on_progress, below=moved)
                least = other.infeasible
                if other.plan is not None:
                    stages, least = other, task.fewest_shown(other)
                    found, moved = other.plan, _moved(plan, other.plan)
            nearest = least and stages.finished and task.free_is(everything)
            return Rebooked(_tidy(club, plan, found, stages.proofs, rules), moved, least, nearest)
        if stages.stopped:  # with nothing to keep
            raise KeyboardInterrupt
        late = late or not stages.infeasible
    if late:
        return OutOfTime(limit, "booking")
    from scheduler.booking.book import why_none

    hold = [planned for planned in plan.sessions if planned.session in fixed]
    return why_none(club, rules, hold, forbidden, False, limit)


def _held_club(club: Club, plan: WeekPlan) -> Club:
    """The club without the sessions that were cancelled before."""
    off = {row.session for row in plan.cancelled}
    asks = tuple(ask for ask in club.sessions if ask.id not in off)
    return club.model_copy(update={"sessions": asks}) if off else club


def _neighbourhood(club: Club, plan: WeekPlan, displaced: Sequence[str]) -> list[str]:
    """The displaced sessions, the others of their teams, and what is held at those sites on those evenings."""
    out = [plan.by_session[session] for session in displaced if session in plan.by_session]
    teams = {team for planned in out for team in planned.teams}
    evenings = {(planned.date, club.pitch(planned.pitch).site) for planned in out if club.has("pitch", planned.pitch)}
    return [
        planned.session
        for planned in plan.sessions
        if planned.session in displaced
        or teams & set(planned.teams)
        or (club.has("pitch", planned.pitch) and (planned.date, club.pitch(planned.pitch).site) in evenings)
    ]


def _moved(before: WeekPlan, after: WeekPlan) -> int:
    return sum(1 for old in before.sessions if not _stays(old, after.by_session.get(old.session)))


def _stays(old: PlannedSession, new: PlannedSession | None) -> bool:
    return new is not None and (old.date, old.start, old.pitch, old.zones) == (
        new.date, new.start, new.pitch, new.zones)  # fmt: skip


class _Task:
    """One solve: some sessions free to move, the others in their slots, few changes before all other wishes."""

    def __init__(
        self,
        club: Club,
        plan: WeekPlan,
        free: Sequence[str],
        fixed: Sequence[str],
        may_cancel: bool,
        now: dt.datetime | None,
    ) -> None:
        self._club, self._plan, self._free, self._fixed = club, plan, free, fixed
        self._may_cancel, self._now = may_cancel, now
        self.must_move = 0
        self._one_move = 1

    def free_is(self, sessions: Sequence[str]) -> bool:
        """Whether all of these could move but those that have begun."""
        return {*self._free, *self._fixed} >= set(sessions)

    def fewest_shown(self, stages: Stages) -> bool:
        """Whether fewer moves (and cancelled sessions) are shown impossible, whatever else is left open."""
        rows = [proof for proof in stages.proofs if proof.measure in ("sessions cancelled", WISH)]
        return all(
            proof.proved or (proof.measure == WISH and proof.bound // self._one_move == proof.value // self._one_move)
            for proof in rows
        )

    def solve(
        self,
        rules: Sequence[Rule],
        limit: float,
        forbidden: Sequence[WeekPlan],
        on_progress: Report,
        below: int | None = None,
    ) -> Stages:
        """Solve in stages; `below`: only bookings that move fewer sessions than this."""
        from scheduler.booking.stages import Stages

        model = self._model(rules)
        for plan in forbidden:
            model.forbid(plan)
        self._few_changes(model, below)
        stages = Stages(model, limit, on_progress)
        stages.run()
        return stages

    def _model(self, rules: Sequence[Rule]) -> BookingModel:
        from scheduler.booking.model import BookingModel

        model = BookingModel(self._club, may_cancel=self._may_cancel, earlier=self._plan)
        for planned in self._plan.sessions:
            if planned.session not in self._free and self._club.has("session", planned.session):
                model.keep_slot(planned.session, slot_of(self._club, planned))
                if planned.session not in self._fixed:
                    model.adults.keep(planned.session, planned.coaches)
        mine: list[BookingRule[BookingModel]] = [
            rule for rule in rules if is_booking_rule(rule) and rule.off(self._club) is None
        ]
        for rule in mine:
            if is_narrowing_rule(rule):
                rule.narrow(self._club, model)
        self._leave_out_the_unplayable(model, rules)
        model.make()
        for rule in mine:
            rule.post(self._club, model)
        model.switches.fix_on()
        return model

    def _leave_out_the_unplayable(self, model: BookingModel, rules: Sequence[Rule]) -> None:
        """No slot in which counting shows that the session cannot be played, whoever comes."""
        allowed = Allowed(self._club, rules, self._now)
        for session in self._free:
            on = model.switch(WISH, session, f"{session} can be played")
            model.rule_out(on, session, partial(allowed.is_short, session))

    def _few_changes(self, model: BookingModel, below: int | None) -> None:
        """Sessions moved count before adults changed; what is over keeps its adults, what has begun is held."""
        known = [planned for planned in self._plan.sessions if self._club.has("session", planned.session)]
        one_adult, one_shift, one_move = _weights(len(known), len(self._club.coaches))
        self._one_move = one_move
        moves = []
        for planned in known:
            session = planned.session
            stays = model.at(session, slot_of(self._club, planned))
            self.must_move += int(stays is None)
            moves.append(1 - stays if stays is not None else 1)
            cancelled = model.cancelled(session)
            if cancelled is not None and session in self._fixed:
                model.model.add(cancelled == 0)
            model.penalise(WISH, one_move, moves[-1], (session,), f"{session} moves")
            for worth, test in _shifts(planned):
                here = model.is_where(session, test)
                model.penalise(WISH, worth * one_shift, model.held(session) - here, (session,), f"{session} moves far")
            over = is_over(planned, self._now)
            for coach, literal in model.adults.possible(session).items():
                there = coach in planned.coaches
                if over:
                    model.model.add(literal == int(there))
                else:
                    change = 1 - literal if there else literal
                    name = self._club.called(coach)
                    model.penalise(WISH, one_adult, change, (session, coach), f"{session}: {name} changes")
        if below is not None:
            model.model.add(sum(moves) <= below - 1)


def _weights(sessions: int, adults: int) -> tuple[int, int, int]:
    """What one adult, one shift and one move cost, so that no number of the former outweighs one of the latter."""
    one_shift = sessions * adults + 1
    return 1, one_shift, (3 + 2 + 1) * sessions * one_shift + sessions * adults + 1


def _shifts(planned: PlannedSession) -> Iterator[tuple[int, Callable[[Slot], bool]]]:
    """What makes a move a smaller one, with its worth: the same day, the same start, the same pitch."""
    yield 3, lambda slot: slot.date == planned.date
    yield 2, lambda slot: slot.start == planned.start
    yield 1, lambda slot: slot.pitch == planned.pitch


def _tidy(club: Club, before: WeekPlan, found: WeekPlan, proofs: Sequence[Proof], rules: Sequence[Rule]) -> WeekPlan:
    """The booking found, with adults in their old order and the children who came before wherever that is lawful."""
    sessions = [_as_before(before.by_session.get(new.session), new, False) for new in found.sessions]
    kept = [_as_before(before.by_session.get(new.session), new, True) for new in found.sessions]
    base = before.model_copy(update={"cancelled": (*before.cancelled, *found.cancelled)})
    mine = [rule for rule in rules if is_booking_rule(rule) and rule.off(club) is None]
    for way in (kept, sessions):
        way.sort(key=lambda one: (one.date, one.start, one.pitch, one.zones))
        plan = base.model_copy(update={"sessions": tuple(way), "unmet": ()})
        bare = plan.model_copy(update={"sessions": tuple(one.model_copy(update={"blocks": ()}) for one in way)})
        broken = any(f.severity.value == "breach" for rule in mine for f in rule.audit(club, bare))
        if not broken or way is sessions:
            break
    others = tuple(proof for proof in before.proofs if proof.pool != "booking")
    return plan.model_copy(update={"proofs": (*proofs, *others), "unmet": unmet_of(club, bare, rules)})


def _as_before(old: PlannedSession | None, new: PlannedSession, people: bool) -> PlannedSession:
    """The new booking; where nothing of it changed, the old one; with `people` its players and stand-downs too."""
    if old is None:
        return new
    same = [coach for coach in old.coaches if coach in new.coaches]
    coaches = (*same, *(coach for coach in new.coaches if coach not in same))
    if same[:1] != list(old.coaches[:1]):
        coaches = new.coaches
    if not _stays(old, new):
        return new.model_copy(update={"coaches": coaches})
    if people:
        return old.model_copy(update={"coaches": coaches})
    return new.model_copy(update={"coaches": coaches, "sides": old.sides, "blocks": old.blocks})
