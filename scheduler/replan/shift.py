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
from scheduler.plan.plan import Cancelled, PlannedSession, StoodDown, WeekPlan
from scheduler.replan.adults import Spare
from scheduler.replan.allowed import Allowed
from scheduler.replan.attendance import has_begun, is_over, with_attendance
from scheduler.replan.causes import struck
from scheduler.replan.disturbance import booking_breaches
from scheduler.replan.freed import back_in, free_again
from scheduler.replan.moves import MOST_OTHERS, Choice, Moves
from scheduler.replan.stuck import cancelled_words

MOST_MENDED, MOST_ANSWERS = 4, 8  # searches again, and answers of the small model, after something unsound was found
MOST_SEARCHED = 4  # sessions away, up to which a search without a model is tried first
SMALL_CLUB = 30  # sessions of a week that the whole models can still see to while somebody waits
ADULT, CHILD = 10, 10_000  # what a change of adult and a child at two sessions a day cost beside the distance


Key = tuple[str, Slot, tuple[str, ...]]


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
        self.spare = Spare(club, plan)
        self._unsound: set[Key] = set()
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
            elif not all(self.spare.can_come(coach, planned.session, slot) for coach in planned.coaches):
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
        self._plan, self.spare = plan, Spare(self._club, plan)
        begun = [one.session for one in plan.sessions if has_begun(one, self._now) or not self._is_known(one)]
        moves = Moves(self._club, plan, struck.away, begun, self.allowed.slots, self._adults)
        least = moves.least_others() if len(struck.away) <= MOST_SEARCHED else None
        found = False
        for booked in self._searched(moves, least) if least is not None and least <= MOST_OTHERS else ():
            found = True
            yield Shifted(booked, fewest=True)
        if not found:
            yield from self._by_small_model(plan, struck.away, begun)

    def _searched(self, moves: Moves, others: int) -> Iterator[WeekPlan]:
        """Sound bookings with so many others moved, found by search, the nearest first."""
        for _ in range(MOST_MENDED):
            ways, found = moves.ways(others), False
            for way in ways:
                booked = self._carried_out(way.to)
                unsound = set(self._unsound_in(way.to, booked))
                self._unsound |= unsound
                if not unsound:
                    found = True
                    yield booked
            if found or not ways:
                return

    def _by_small_model(self, plan: WeekPlan, away: Sequence[str], begun: Sequence[str]) -> Iterator[Shifted]:
        """Sound bookings from the small model of slots, sessions cancelled only where it knows no other way.

        A small club's own models can show more, so that only what is shown to be the least is taken there.
        """
        if not all(self._is_known(planned) for planned in plan.sessions):
            return
        from scheduler.replan.small import Small

        small = Small(self._club, plan, away, begun, self.allowed, self._finish_by, self.spare)
        for _ in range(MOST_ANSWERS):
            answer = small.answer()
            if answer is None or (not answer.fewest and len(plan.sessions) <= SMALL_CLUB):
                return
            booked = self._carried_out(answer.to, answer.cancelled)
            unsound = [*self._unsound_in(answer.to, booked)]
            if not unsound:
                yield Shifted(booked, answer.fewest)
                return
            for key in unsound:
                small.forbid(*key)

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
        for coaches in self.spare.choices(planned, slot, placed, out):
            if (session, slot, coaches) not in self._unsound:
                changed = len(set(coaches) ^ set(planned.coaches))
                return coaches, ADULT * changed + CHILD * self._twice(planned, slot, placed, out)
        return None

    def _finish_by(self, planned: PlannedSession) -> int:
        """When the first of its children must finish; that some leave earlier is a choice of the models."""
        if planned.session not in self._finishes:
            times = [self.allowed.home_by(self._club.player(player)) for player in planned.players]
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

    def _carried_out(self, to: Mapping[str, Choice], cancelled: Sequence[str] = ()) -> WeekPlan:
        plan = self._plan
        for session, choice in to.items():
            plan = _put(plan, self._moved(plan.by_session[session], choice))
        rows = tuple(Cancelled(session=session, why=self._why(session)) for session in cancelled)
        held = tuple(planned for planned in plan.sessions if planned.session not in cancelled)
        plan = plan.model_copy(update={"sessions": held, "cancelled": (*plan.cancelled, *rows)})
        plan = self._come_again(self._once_a_day(self._in_order(plan), set(to)))
        return with_attendance(self._club, plan, self._now)

    def _come_again(self, plan: WeekPlan) -> WeekPlan:
        """The plan with those who were left out for a session that is elsewhere now, wherever that is lawful."""
        for session, player in free_again(self._plan, plan):
            found = _put(plan, back_in(plan.by_session[session], player))
            if not has_begun(plan.by_session[session], self._now) and not self._trouble(found, session):
                plan = found
        return plan

    def _why(self, session: str) -> str:
        """Why a session is not held: what struck it, else that no place is left."""
        planned = self._plan.by_session[session]
        short = self.allowed.short(session, planned.date, planned.span)
        return cancelled_words(struck(self._club, self._plan, planned) or (short[0].text if short else None))

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

    def _unsound_in(self, to: Mapping[str, Choice], booked: WeekPlan) -> Iterator[Key]:
        for key in sorted(_keys(to)):
            if key in self._unsound or self._trouble(booked, key[0]):
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


def _keys(to: Mapping[str, Choice]) -> set[Key]:
    return {(session, choice.slot, choice.coaches) for session, choice in to.items()}


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
