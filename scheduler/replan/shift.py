"""Bookings mended without a solver: another adult, or another time or place for a session whose own is closed.

Everything else stays. What is tried is judged by the audit of every booking rule, and taken only where it is shown to
be the least: no session moves but those whose own ground is shut. All else is for the models.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import islice

from scheduler.booking.bibs import sides_at
from scheduler.booking.book import unmet_of
from scheduler.booking.slots import Slot, slot_of, slots_of
from scheduler.club.club import Club
from scheduler.club.when import Span
from scheduler.contract import Rule
from scheduler.plan.plan import Cancelled, PlannedSession, WeekPlan
from scheduler.plan.presence import away_spans
from scheduler.replan.attendance import has_begun, minute_of, with_attendance
from scheduler.replan.disturbance import booking_breaches

MOST_ADULTS = 6  # choices of adults tried for one slot
MOST_ALONE, MOST_AUDITS = 40, 8  # slots of one session judged alone, and in the whole week


def shifted(
    club: Club, plan: WeekPlan, hit: Sequence[str], rules: Sequence[Rule], now: dt.datetime | None
) -> WeekPlan | None:
    """The plan with the sessions that are hit held lawfully, no other moved; None where the models must be asked."""
    return _Shift(club, rules, now).run(plan, list(hit))


class _Shift:
    def __init__(self, club: Club, rules: Sequence[Rule], now: dt.datetime | None) -> None:
        self._club, self._rules, self._now = club, rules, now
        self._dark: set[tuple[str, dt.date]] = set()

    def run(self, plan: WeekPlan, hit: list[str]) -> WeekPlan | None:
        """One session after the other; those still to be seen to are left out of each judgement."""
        self._dark = {(news.about, news.date) for news in plan.news if news.kind == "unlit"}
        while hit:
            session, *hit = hit
            planned = plan.by_session.get(session)
            if planned is None or has_begun(planned, self._now) or not self._club.has("session", session):
                return None
            found = self._elsewhere(plan, planned, hit) if self._shut(planned) else self._same_slot(plan, planned, hit)
            if found is None:
                return None
            plan = found
        return self._recorded(plan)

    def _recorded(self, plan: WeekPlan) -> WeekPlan:
        sessions = sorted(plan.sessions, key=lambda one: (one.date, one.start, one.pitch, one.zones))
        plan = plan.model_copy(update={"sessions": tuple(sessions), "unmet": ()})
        bare = plan.model_copy(update={"sessions": tuple(one.model_copy(update={"blocks": ()}) for one in sessions)})
        proofs = tuple(proof for proof in plan.proofs if proof.pool != "booking")
        return plan.model_copy(update={"proofs": proofs, "unmet": unmet_of(self._club, bare, self._rules)})

    def _lawful(self, plan: WeekPlan, left_out: Sequence[str]) -> bool:
        """Whether the bookings are lawful, some sessions left aside."""
        return not booking_breaches(self._club, _without(plan, left_out), self._rules)

    def _shut(self, planned: PlannedSession) -> bool:
        """Whether the session's own ground is closed, or dark by what was told: then it must move whatever else."""
        if not self._club.has("pitch", planned.pitch) or not self._open(slot_of(self._club, planned)):
            return True
        return (planned.pitch, planned.date) in self._dark

    def _open(self, slot: Slot) -> bool:
        """Whether the pitch is open then, and nothing from outside lies on the zones."""
        pitch = self._club.pitch(slot.pitch)
        if not any(opening.span.holds(slot.span) for opening in pitch.openings_on(slot.date)):
            return False
        return not any(
            row.pitch == slot.pitch
            and row.occurs.on(slot.date)
            and row.span.overlaps(slot.span)
            and (not row.zones or set(row.zones) & set(slot.zones))
            for row in self._club.booked
        )

    def _same_slot(self, plan: WeekPlan, planned: PlannedSession, left: Sequence[str]) -> WeekPlan | None:
        """The session where it is, with other adults for those who cannot come."""
        if all(self._can_come(plan, coach, planned.date, planned.span, planned.session) for coach in planned.coaches):
            return None
        for coaches in self._adults(plan, planned, slot_of(self._club, planned)):
            found = self._with(plan, planned.model_copy(update={"coaches": coaches}))
            if self._lawful(found, left):
                return found
        return None

    def _elsewhere(self, plan: WeekPlan, planned: PlannedSession, left: Sequence[str]) -> WeekPlan | None:
        """The session in the slot most like its own that is lawful with all else where it is."""
        others = [one.session for one in plan.sessions if one.session != planned.session]
        audits = 0
        for slot in islice(self._slots(_without(plan, left), planned), MOST_ALONE):
            for coaches in self._adults(_without(plan, left), planned, slot):
                found = self._with(plan, self._moved(planned, slot, coaches))
                if not self._lawful(found, others):
                    continue
                audits += 1
                if self._lawful(found, left):
                    return found
                if audits == MOST_AUDITS:
                    return None
        return None

    def _with(self, plan: WeekPlan, new: PlannedSession) -> WeekPlan:
        """The plan with one session as it is now; who comes is worked out again where it moved."""
        old = plan.by_session[new.session]
        sessions = tuple(new if one.session == new.session else one for one in plan.sessions)
        changed = plan.model_copy(update={"sessions": sessions})
        stays = (old.date, old.start, old.pitch) == (new.date, new.start, new.pitch)
        return changed if stays else with_attendance(self._club, changed, self._now)

    def _moved(self, planned: PlannedSession, slot: Slot, coaches: tuple[str, ...]) -> PlannedSession:
        by = slot.start - planned.start
        down = tuple(
            row.model_copy(update={"start": row.start + by, "end": row.end + by}) for row in planned.stood_down
        )
        same_site = self._club.has("pitch", planned.pitch) and self._club.pitch(planned.pitch).site == slot.site
        return planned.model_copy(
            update={
                "date": slot.date, "start": slot.start, "end": slot.end, "pitch": slot.pitch, "zones": slot.zones,
                "coaches": coaches, "stood_down": down, "blocks": (),
                "sides": planned.sides if same_site else sides_at(self._club, slot.site),
            }
        )  # fmt: skip

    def _slots(self, plan: WeekPlan, planned: PlannedSession) -> Iterator[Slot]:
        """Slots that are plainly free, those most like the session's own first: its day, its start, its pitch."""
        ask = self._club.session(planned.session)
        others = [one for one in plan.sessions if one.session != planned.session]
        free = []
        for slot in slots_of(self._club, ask):
            if slot.date.weekday() not in ask.days or slot.start < ask.earliest or slot.end > ask.latest:
                continue
            if slot.start < minute_of(self._now, slot.date) or not self._open(slot):
                continue
            if any(self._clash(one, planned, slot) for one in others):
                continue
            days, minutes = abs((slot.date - planned.date).days), abs(slot.start - planned.start)
            away = min((abs(zone - slot.zones[0]) for zone in planned.zones), default=0)
            free.append(((days, minutes, slot.pitch != planned.pitch, away), slot))
        yield from (slot for _, slot in sorted(free, key=lambda row: row[0]))

    def _clash(self, other: PlannedSession, planned: PlannedSession, slot: Slot) -> bool:
        """Whether another session is on the same ground then, or of the same team on that day."""
        if other.date != slot.date:
            return False
        wide = Span(other.start - self._club.gap, other.end + self._club.gap)
        ground = other.pitch == slot.pitch and set(other.zones) & set(slot.zones) and wide.overlaps(slot.span)
        return bool(ground) or bool(set(other.teams) & set(planned.teams))

    def _adults(self, plan: WeekPlan, planned: PlannedSession, slot: Slot) -> Iterator[tuple[str, ...]]:
        """The session's adults who can come, alone and with one more: of its own teams, or there that day, first."""
        held = planned.session

        def comes(coach: str) -> bool:
            return self._can_come(plan, coach, slot.date, slot.span, held)

        kept = tuple(coach for coach in planned.coaches if comes(coach))
        yield kept
        if len(kept) == len(planned.coaches):
            return
        own = [coach for team in planned.teams for coach in self._club.team(team).coaches]
        there = [coach for one in plan.sessions if one.date == slot.date for coach in one.coaches]
        every = dict.fromkeys([*own, *there, *(coach.id for coach in self._club.coaches)])
        more = (coach for coach in every if coach not in planned.coaches and comes(coach))
        for coach in islice(more, MOST_ADULTS):
            yield (*kept, coach)

    def _can_come(self, plan: WeekPlan, coach: str, date: dt.date, span: Span, session: str) -> bool:
        """Whether an adult is available, not away, and in no other session then."""
        if not self._club.has("coach", coach) or not self._club.coach(coach).available_for(date, span):
            return False
        if any(away.overlaps(span) for away in away_spans(self._club, coach, date)):
            return False
        return not any(
            coach in one.coaches and one.date == date and one.span.overlaps(span)
            for one in plan.sessions
            if one.session != session
        )


def _without(plan: WeekPlan, left_out: Sequence[str]) -> WeekPlan:
    """The plan as if some of its sessions were called off."""
    rows = tuple(Cancelled(session=session, why="") for session in left_out)
    sessions = tuple(one for one in plan.sessions if one.session not in left_out)
    return plan.model_copy(update={"sessions": sessions, "cancelled": (*plan.cancelled, *rows)})
