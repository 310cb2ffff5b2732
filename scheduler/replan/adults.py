"""Who could look after a session in another slot, or in its own when an adult cannot come: kept adults first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice

from scheduler.booking.free import Free
from scheduler.booking.slots import Slot, slot_of, travel
from scheduler.club.club import Club
from scheduler.club.people import Coach
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.replan.moves import Choice

LEAST = 2
FIRST_AID = "Coaches.First aid until"
MOST_TRIED = 6  # adults tried beside those who stay
MOST_MORE = 2  # adults asked to one session newly


class Spare:
    """The adults of one week and when they are free."""

    def __init__(self, club: Club, plan: WeekPlan) -> None:
        self._club, self._plan = club, plan
        self._free = Free(club)
        self._known: dict[tuple[str, dt.date, int, int], bool] = {}
        self._busy: dict[tuple[str, dt.date], list[tuple[str, Slot]]] = {}
        for planned in plan.sessions:
            for coach in planned.coaches if club.has("pitch", planned.pitch) else ():
                self._busy.setdefault((coach, planned.date), []).append((planned.session, slot_of(club, planned)))

    def can_come(self, coach: str, session: str, slot: Slot, placed: Mapping[str, Choice] | None = None,
                 out: frozenset[str] = frozenset()) -> bool:  # fmt: skip
        """Whether an adult is free for a slot, with sessions of `out` away from where they were and some placed."""
        if not self.is_free(coach, slot):
            return False
        there = [at for other, at in self._busy.get((coach, slot.date), ()) if other != session and other not in out]
        there += [one.slot for one in (placed or {}).values() if coach in one.coaches and one.session != session]
        return not any(self._at_once(slot, other) for other in there if other.date == slot.date)

    def is_free(self, coach: str, slot: Slot) -> bool:
        """Whether an adult could come in a slot, sessions left aside."""
        key = coach, slot.date, slot.start, slot.end
        if key not in self._known:
            has = self._club.has("coach", coach)
            self._known[key] = has and self._free(self._club.coach(coach), slot.date, slot.span)
        return self._known[key]

    def needed(self, planned: PlannedSession) -> int:
        """The fewest adults of a session: two, as many as asked for, and enough for its children."""
        return max(LEAST, self._club.session(planned.session).coaches_needed, self._by_ratio(planned))

    def _at_once(self, one: Slot, other: Slot) -> bool:
        return min(one.end, other.end) + travel(self._club, one.site, other.site) > max(one.start, other.start)

    def choices(self, planned: PlannedSession, slot: Slot, placed: Mapping[str, Choice] | None = None,
                out: frozenset[str] = frozenset()) -> Iterator[tuple[str, ...]]:  # fmt: skip
        """Adults for a session in a slot, fewest new ones first; each set has a leader of every team and two adults."""

        def comes(coach: str) -> bool:
            return self.can_come(coach, planned.session, slot, placed, out)

        kept = tuple(coach for coach in planned.coaches if comes(coach))
        if self.enough(planned, kept):
            yield kept
        if len(kept) == len(planned.coaches):
            return
        more = tuple(islice((c for c in self._in_order(planned, slot) if c not in planned.coaches and comes(c)),
                            MOST_TRIED))  # fmt: skip
        for new in range(1, min(MOST_MORE, len(planned.coaches) - len(kept)) + 1):
            for chosen in _sets(more, new):
                if self.enough(planned, (*kept, *chosen)):
                    yield (*kept, *chosen)

    def helped(self, planned: PlannedSession, slot: Slot, coaches: tuple[str, ...], placed: Mapping[str, Choice],
               out: frozenset[str]) -> tuple[str, ...]:  # fmt: skip
        """These adults of a session in a slot, with others who can come as far as these are too few."""
        found = coaches
        for coach in self._in_order(planned, slot):
            if len(found) >= self.needed(planned):
                break
            if coach not in found and self.can_come(coach, planned.session, slot, placed, out):
                found = (*found, coach)
        return found

    def enough(self, planned: PlannedSession, coaches: Sequence[str]) -> bool:
        """Whether these adults are as many as needed, with one of each team who may lead."""
        if len(coaches) < self.needed(planned):
            return False
        able = {coach for coach in coaches if not self._club.coach(coach).helper_only}
        return all(able & set(self._club.team(team).coaches) for team in planned.teams)

    def _by_ratio(self, planned: PlannedSession) -> int:
        """Adults for so many children, the youngest setting the ratio."""
        children = [self._club.player(player) for player in planned.players if self._club.has("player", player)]
        if not children:
            return 0
        row = self._club.age_row(min(children, key=self._club.limit_age))
        return 0 if row is None or not row.players_per_adult else -(-len(children) // row.players_per_adult)

    def _in_order(self, planned: PlannedSession, slot: Slot) -> list[str]:
        """Every adult: of the session's own teams, then first aiders, then those who are there that day anyway."""
        own = {coach for team in planned.teams for coach in self._club.team(team).coaches}
        there = {coach for one in self._plan.sessions if one.date == slot.date for coach in one.coaches}

        def rank(coach: Coach) -> tuple[bool, bool, bool]:
            until = coach.first_aid_until
            aids = self._club.is_blank(FIRST_AID) or (until is not None and until >= slot.date)
            return coach.id not in own, not aids, coach.id not in there

        return [coach.id for coach in sorted(self._club.coaches, key=rank)]


def _sets(more: tuple[str, ...], number: int) -> Iterator[tuple[str, ...]]:
    if number == 1:
        yield from ((one,) for one in more)
        return
    for place, one in enumerate(more):
        yield from ((one, *rest) for rest in _sets(more[place + 1 :], number - 1))
