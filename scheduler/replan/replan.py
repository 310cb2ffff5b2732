"""The least disturbing lawful plan after something changed.

In strict order: what has been played stays; as few sessions as possible move; as few places as possible change of
children who are still there, counted per rep; everybody within the fairness bounds as always; then the wishes.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import islice

from scheduler.audit import Audit, audit, rules_off
from scheduler.club.club import Club
from scheduler.contract import Rule, Violation, is_booking_rule, is_rotation_rule
from scheduler.errors import PlanRejected
from scheduler.outcome import Booked, Clash, Conflict, Demand, Outcome, OutOfTime
from scheduler.plan.plan import Cancelled, WeekPlan
from scheduler.progress import Report, silent
from scheduler.replan.attendance import has_begun, with_attendance
from scheduler.replan.carry import carried, in_bibs_of
from scheduler.replan.causes import causes
from scheduler.replan.differences import differences, stands_as
from scheduler.replan.disturbance import booking_breaches, over_and_broken
from scheduler.replan.mend import Stuck, mend
from scheduler.replan.records import unmet_wishes, with_records
from scheduler.replan.replaced import Replaced, replaced
from scheduler.replan.shift import Shift
from scheduler.replan.stuck import cancelled_words, conflict_of, short_sessions

TRIES = 3
MOST_QUICK = 3  # bookings without a model that are tried to the end


def replan(
    club: Club,
    plan: WeekPlan,
    rules: Sequence[Rule],
    *,
    held: WeekPlan | None = None,
    now: dt.datetime | None = None,
    limit: float = 60.0,
    on_progress: Report = silent,
) -> Outcome:
    """The plan with as little changed as can be, its revision raised; the very same plan where nothing must change.

    `club` is the club as it is known now (`events.as_reported`), `plan` what is to be kept, with all news: the plan
    that people hold, or that one edited by hand, whose edits stay as far as they are lawful (then `held` is the one
    they hold). `now` is local wall clock.
    """
    return _Replan(club, plan, held or plan, rules, now, limit, on_progress).run()


class _Replan:
    """One replanning: bookings tried until one has a lawful rotation; sessions are cancelled only as a last resort."""

    def __init__(
        self,
        club: Club,
        plan: WeekPlan,
        held: WeekPlan,
        rules: Sequence[Rule],
        now: dt.datetime | None,
        limit: float,
        on_progress: Report,
    ) -> None:
        self._club, self._plan, self._held, self._rules = club, plan, held, rules
        self._now, self._limit, self._tell = now, limit, on_progress
        self._stuck: list[tuple[WeekPlan, Stuck]] = []
        self._of_bookings = {rule.name for rule in rules if is_booking_rule(rule) and not is_rotation_rule(rule)}

    def run(self) -> Outcome:
        """The least disturbing plan, or why there is none."""
        attended = with_attendance(self._club, self._plan, self._now)
        return self._quickly(attended) or self._by_models(attended)

    def _quickly(self, attended: WeekPlan) -> Replaced | None:
        """A plan without any model, whose audit finds nothing wrong; None where the models must be asked."""
        shift = Shift(self._club, attended, self._rules, self._now)
        for way in islice(shift.ways(shift.struck()), MOST_QUICK):
            booked = Replaced(way.plan, True, fewest_moves=way.fewest, nearest=way.plan is attended)
            try:
                done = self._mended(booked, bookings_too=True)
            except PlanRejected:
                continue
            if isinstance(done, Replaced):
                return done
            self._stuck.append((way.plan, done))
        return None

    def _by_models(self, attended: WeekPlan) -> Outcome:
        """As few sessions moved as the models of the booking allow, and cancelled only where nothing else is lawful."""
        booked = self._booked(attended)
        if not isinstance(booked, Replaced):
            return booked
        done = self._with_rotation(booked)
        tries = 0
        while isinstance(done, Stuck) and tries < len(self._plan.sessions):
            if done.out_of_time:
                return OutOfTime(self._limit, "rotation")
            fewer = self._called_off(attended, done)
            if fewer is None:
                return conflict_of(self._club, done, self._rules)
            attended = fewer
            booked = self._booked(attended)
            if not isinstance(booked, Replaced):
                return booked
            done = self._with_rotation(replace(booked, fewest_moves=False))
            tries += 1
        return conflict_of(self._club, done, self._rules) if isinstance(done, Stuck) else done

    def _booked(self, attended: WeekPlan) -> Replaced | Conflict | OutOfTime:
        """The bookings that still stand as they are, or with as few moved as possible."""
        breaches = booking_breaches(self._club, attended, self._rules)
        if not breaches:
            return Replaced(attended, True)
        over = over_and_broken(breaches, self._club, attended, self._now)
        if over:
            demands = tuple(Demand(found.rule, ", ".join(found.about), found.text) for found in over)
            return Conflict("booking", (Clash(demands, False, "These lie in sessions that are over:"),))
        why = causes(self._club, attended, breaches)
        return self._rebooked(attended, list(why), [], why)

    def _rebooked(
        self, plan: WeekPlan, hit: Sequence[str], forbidden: Sequence[WeekPlan], why: Mapping[str, str]
    ) -> Replaced | Conflict | OutOfTime:
        from scheduler.replan.rebook import Rebooked, rebook

        found = rebook(
            self._club, plan, hit, self._rules, now=self._now, limit=self._limit, forbidden=forbidden,
            on_progress=self._tell,
        )  # fmt: skip
        if not isinstance(found, Rebooked):
            return found
        earlier = {row.session for row in plan.cancelled}
        rows = tuple(
            row if row.session in earlier else Cancelled(session=row.session, why=cancelled_words(why.get(row.session)))
            for row in found.plan.cancelled
        )
        return Replaced(
            found.plan.model_copy(update={"cancelled": rows}), True, fewest_moves=found.proven, nearest=found.nearest
        )

    def _with_rotation(self, booked: Replaced) -> Replaced | Stuck:
        """The booking with its rotations mended; where one is impossible, other bookings that cancel no more."""
        forbidden: list[WeekPlan] = []
        first: Stuck | None = None
        for _ in range(TRIES):
            mended = next((stuck for plan, stuck in self._stuck if plan is booked.plan), None) or self._mended(booked)
            if isinstance(mended, Replaced):
                return mended
            first = first or mended
            forbidden.append(booked.plan)
            loose = self._loose(booked.plan, mended)
            again = self._rebooked(booked.plan, loose, forbidden, {}) if loose and not mended.out_of_time else None
            if not isinstance(again, Replaced) or len(again.plan.cancelled) > len(booked.plan.cancelled):
                return first
            booked = replace(again, fewest_moves=False)
        assert first is not None
        return first

    def _loose(self, plan: WeekPlan, stuck: Stuck) -> list[str]:
        """The sessions that could move or be called off so that a rotation becomes possible."""
        return [
            session
            for session in short_sessions(self._club, stuck, self._rules)
            if session in plan.by_session and not has_begun(plan.by_session[session], self._now)
        ]

    def _called_off(self, plan: WeekPlan, stuck: Stuck) -> WeekPlan | None:
        """The plan without one session that cannot be had; None where all of them have begun.

        A session that had to move goes before one that stood well where it was.
        """
        teams = {team for one in stuck.ring.sessions for team in self._club.session(one.session).teams}
        ring = [planned.session for planned in plan.sessions if teams & set(planned.teams)]
        texts = causes(self._club, plan, booking_breaches(self._club, plan, self._rules))
        loose = [session for session in ring if session in texts]
        loose = [session for session in loose if not has_begun(plan.by_session[session], self._now)]
        if not loose:
            loose = self._loose(plan, stuck)
            clashes = conflict_of(self._club, stuck, self._rules).clashes
            found = [demand.text for clash in clashes for demand in clash.demands]
            texts = {session: text for session in loose for text in found if text.startswith(session)}
        if not loose:
            return None
        row = Cancelled(session=loose[0], why=cancelled_words(texts.get(loose[0])))
        sessions = tuple(planned for planned in plan.sessions if planned.session != loose[0])
        return plan.model_copy(update={"sessions": sessions, "cancelled": (*plan.cancelled, row)})

    def _mended(self, booked: Replaced, bookings_too: bool = False) -> Replaced | Stuck:
        """A booking with its rotations mended and judged; rings that the audit finds fault with are mended too.

        `bookings_too`: the booking was not judged before, so no mending of rings can help where it is unlawful.
        """
        laid = carried(self._club, self._plan, booked.plan)
        before = in_bibs_of(self._plan, laid)
        changed: list[str] = []
        least = True
        breaches: tuple[Violation, ...] = ()
        for _ in range(2):
            mended = mend(
                self._club, before, laid, self._rules, now=self._now, limit=self._limit, breaches=breaches,
                on_progress=self._tell,
            )  # fmt: skip
            if isinstance(mended, Stuck):
                return mended
            changed += mended.changed
            laid, least = mended.plan, least and mended.proven
            plan, judged = self._recorded(laid, changed)
            if not judged.breaches:
                return replaced(booked, Booked(plan, proven=least, findings=judged.findings))
            breaches = judged.breaches
            if bookings_too and any(found.rule in self._of_bookings for found in breaches):
                break
        raise PlanRejected(tuple(f"{found.rule}: {found.text}" for found in breaches))

    def _recorded(self, mended: WeekPlan, changed: Sequence[str]) -> tuple[WeekPlan, Audit]:
        """The plan with its records and audit; the plan that people hold where nothing changed for anybody."""
        club, held, not_checked = self._club, self._held, rules_off(self._club, self._rules)
        same = not changed and held.cancelled == mended.cancelled
        if same and differences(club, held, mended).nothing:
            plan = held.model_copy(update={"not_checked": not_checked, "news": self._plan.news})
            return plan, audit(club, plan, self._rules)
        plan = with_records(club, mended, changed)
        judged = audit(club, plan, self._rules)
        unmet = unmet_wishes(club, self._rules, judged.findings, self._plan if self._same_bookings(mended) else None)
        update = {"revision": held.revision + 1, "not_checked": not_checked, "unmet": unmet}
        return plan.model_copy(update=update), judged

    def _same_bookings(self, plan: WeekPlan) -> bool:
        """Whether every session is where and when it was, with the same adults and children."""
        return len(plan.sessions) == len(self._plan.sessions) and all(
            (old := self._plan.by_session.get(new.session)) is not None
            and stands_as(old, new)
            and (old.coaches, set(old.players)) == (new.coaches, set(new.players))
            for new in plan.sessions
        )
