"""Bookings mended without a solver: another adult, or another slot for sessions whose own is shut or cannot be played.

Sessions that could stay move only where room must be made. What is tried is sound for the children and adults of each
session that changes; the whole week is judged by the audit afterwards. All else is for the models.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduler.booking.bibs import sides_at
from scheduler.booking.slots import Slot, slot_of
from scheduler.booking.standdown import SESSION_THAT_DAY
from scheduler.club.club import Club
from scheduler.club.when import DAY_MINUTES
from scheduler.contract import Rule
from scheduler.plan.plan import PlannedSession, StoodDown, WeekPlan
from scheduler.replan.adults import Spare
from scheduler.replan.allowed import Allowed
from scheduler.replan.attendance import has_begun, is_over, with_attendance
from scheduler.replan.disturbance import booking_breaches
from scheduler.replan.moves import MOST_OTHERS, Choice, Moves, Way

MOST_MENDED = 4  # searches again after something unsound was found
ADULT, CHILD = 10, 10_000  # what a change of adult and a child at two sessions a day cost beside the distance


@dataclass(frozen=True)
class Shifted:
    """A booking with as few moves as this search can; `fewest`: fewer are shown impossible."""

    plan: WeekPlan
    fewest: bool


@dataclass(frozen=True)
class Struck:
    """Sessions that cannot stay as they are: `away` not in their slot at all, `adults` not with all of their adults."""

    away: tuple[str, ...]
    adults: tuple[str, ...]


class Shift:
    """One week as people come to it now."""

    def __init__(self, club: Club, plan: WeekPlan, rules: Sequence[Rule], now: dt.datetime | None) -> None:
        self._club, self._plan, self._rules, self._now = club, plan, rules, now
        self.allowed = Allowed(club, rules, now)
        self._spare = Spare(club, plan)
        self._unsound: set[tuple[str, Slot, tuple[str, ...]]] = set()
        self._finishes: dict[str, int] = {}
        self._attends: dict[str, list[PlannedSession]] = {}
        for planned in plan.sessions:
            for player in planned.players:
                self._attends.setdefault(player, []).append(planned)

    def struck(self) -> Struck:
        """Which sessions still to come plainly cannot stay, by their slot, who could play and which adults can come."""
        known = [one for one in self._plan.sessions if not is_over(one, self._now) and self._is_known(one)]
        slots = {planned.session: slot_of(self._club, planned) for planned in known}
        open_to = self.allowed.at({session: [slot] for session, slot in slots.items()})
        away, adults = [], []
        for planned in known:
            slot = slots[planned.session]
            if not open_to[planned.session] or self.allowed.short(planned.session, slot.date, slot.span):
                away.append(planned.session)
            elif not all(self._spare.can_come(coach, planned.session, slot) for coach in planned.coaches):
                adults.append(planned.session)
        return Struck(tuple(away), tuple(adults))

    def _is_known(self, planned: PlannedSession) -> bool:
        return self._club.has("session", planned.session) and self._club.has("pitch", planned.pitch)

    def ways(self, struck: Struck) -> Iterator[Shifted]:
        """Bookings in which all who are struck are seen to, the fewest moves first; none where models must be asked."""
        if any(has_begun(self._plan.by_session[session], self._now) for session in (*struck.away, *struck.adults)):
            return
        plan = self._other_adults(struck.adults)
        if plan is None:
            return
        if not struck.away:
            yield Shifted(plan, fewest=True)
            return
        self._plan, self._spare = plan, Spare(self._club, plan)
        begun = [one.session for one in plan.sessions if has_begun(one, self._now) or not self._is_known(one)]
        moves = Moves(self._club, plan, struck.away, begun, self.allowed.slots, self._adults)
        least = moves.least_others()
        for others in range(least or 0, min(MOST_OTHERS, (least or 0) + 1) + 1):
            for _ in range(MOST_MENDED):
                tried = [(way, self._carried_out(way)) for way in moves.ways(others)]
                unsound = {key for way, booked in tried for key in self._unsound_in(way, booked)}
                self._unsound |= unsound
                sound = [(way, booked) for way, booked in tried if not set(self._unsound_in(way, booked))]
                if sound or not unsound:
                    break
            yield from (Shifted(booked, way.others == least) for way, booked in sound)
            if sound or least is None:
                return

    def _in_order(self, plan: WeekPlan) -> WeekPlan:
        sessions = sorted(plan.sessions, key=lambda one: (one.date, one.start, one.pitch, one.zones))
        return plan.model_copy(update={"sessions": tuple(sessions)})

    # adults

    def _other_adults(self, sessions: Sequence[str]) -> WeekPlan | None:
        """The plan with other adults for those who cannot come, every session in its slot."""
        plan = self._plan
        for session in sessions:
            planned = plan.by_session[session]
            for coaches in Spare(self._club, plan).choices(planned, slot_of(self._club, planned)):
                found = _put(plan, planned.model_copy(update={"coaches": coaches}))
                if not self._trouble(found, session):
                    plan = found
                    break
            else:
                return None
        return plan

    def _adults(
        self, session: str, slot: Slot, placed: Mapping[str, Choice], out: frozenset[str]
    ) -> tuple[tuple[str, ...], int] | None:
        planned = self._plan.by_session[session]
        if slot.end > self._finish_by(planned):
            return None
        for coaches in self._spare.choices(planned, slot, placed, out):
            if (session, slot, coaches) not in self._unsound:
                changed = len(set(coaches) ^ set(planned.coaches))
                return coaches, ADULT * changed + CHILD * self._twice(planned, slot, placed, out)
        return None

    def _finish_by(self, planned: PlannedSession) -> int:
        """When the first of its children must finish; that some leave earlier is a choice of the models."""
        if planned.session not in self._finishes:
            rows = [self._club.age_row(self._club.player(player)) for player in planned.players]
            times = [row.finish_by for row in rows if row is not None and row.finish_by is not None]
            self._finishes[planned.session] = max(min(times, default=DAY_MINUTES), planned.end)
        return self._finishes[planned.session]

    def _twice(self, planned: PlannedSession, slot: Slot, placed: Mapping[str, Choice], out: frozenset[str]) -> int:
        """How many of its children would be at another session that day."""
        return sum(
            1
            for player in planned.players
            for other in self._attends.get(player, ())
            if other.session != planned.session
            and (
                placed[other.session].slot.date == slot.date
                if other.session in placed
                else other.session not in out and other.date == slot.date
            )
        )

    # what a way comes to

    def _carried_out(self, way: Way) -> WeekPlan:
        plan = self._plan
        for session, choice in way.to.items():
            plan = _put(plan, self._moved(plan.by_session[session], choice))
        return with_attendance(self._club, self._once_a_day(self._in_order(plan), set(way.to)), self._now)

    def _moved(self, planned: PlannedSession, choice: Choice) -> PlannedSession:
        slot, by = choice.slot, choice.slot.start - planned.start
        down = tuple(
            row.model_copy(update={"start": row.start + by, "end": row.end + by}) for row in planned.stood_down
        )
        same_site = self._club.pitch(planned.pitch).site == slot.site
        return planned.model_copy(
            update={
                "date": slot.date, "start": slot.start, "end": slot.end, "pitch": slot.pitch, "zones": slot.zones,
                "coaches": choice.coaches, "stood_down": down, "blocks": (),
                "sides": planned.sides if same_site else sides_at(self._club, slot.site),
            }
        )  # fmt: skip

    def _once_a_day(self, plan: WeekPlan, moved: set[str]) -> WeekPlan:
        """A child with two sessions on one day is at the own team's; of two such, at the one that did not move."""
        for session in sorted(moved):
            planned = plan.by_session[session]
            for player in planned.players:
                for other in plan.sessions:
                    if other.session == session or other.date != planned.date or player not in other.players:
                        continue
                    own = self._club.is_own(self._club.player(player), session)
                    plan = _put(plan, _left_out(plan.by_session[other.session if own else session], player))
        return plan

    def _unsound_in(self, way: Way, booked: WeekPlan) -> Iterator[tuple[str, Slot, tuple[str, ...]]]:
        for session, choice in way.to.items():
            key = (session, choice.slot, choice.coaches)
            if key in self._unsound or self._trouble(booked, session):
                yield key

    def _trouble(self, plan: WeekPlan, session: str) -> bool:
        """Whether a rule is broken for the session itself or its children, all their other sessions counted."""
        who = frozenset(plan.by_session[session].players)
        beside = [one for one in plan.sessions if who & set(one.players)]
        part = plan.model_copy(
            update={
                "sessions": tuple(
                    one.model_copy(
                        update={
                            "players": tuple(player for player in one.players if player in who),
                            "stood_down": tuple(row for row in one.stood_down if row.player in who),
                        }
                    )
                    for one in beside
                ),
                "cancelled": (),
            }
        )
        club = self._club.model_copy(
            update={
                "sessions": tuple(self._club.session(one.session) for one in beside if self._is_known(one)),
                "players": tuple(player for player in self._club.players if player.id in who),
            }
        )
        found = booking_breaches(club, part, self._rules)
        return any(session in breach.about or (breach.about and who.issuperset(breach.about)) for breach in found)


def _put(plan: WeekPlan, new: PlannedSession) -> WeekPlan:
    return plan.model_copy(
        update={"sessions": tuple(new if one.session == new.session else one for one in plan.sessions)}
    )


def _left_out(planned: PlannedSession, player: str) -> PlannedSession:
    row = StoodDown(player=player, why=SESSION_THAT_DAY, start=planned.start, end=planned.end)
    rows = (*(one for one in planned.stood_down if one.player != player), row)
    return planned.model_copy(
        update={"players": tuple(one for one in planned.players if one != player), "stood_down": rows}
    )
