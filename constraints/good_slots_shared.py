"""The poorer pitches and the late hours are shared between the teams."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import WeekPlan

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot

LATE = 60


def _best(club: Club) -> int | None:
    return max((pitch.quality for pitch in club.pitches if pitch.quality is not None), default=None)


class GoodSlotsShared:
    """Costs one for each late or poorer slot of a team beyond half of its sessions, the two counted apart."""

    name = "good slots shared"
    words = (
        "No team has a late hour (ending in the last hour before its pitch closes), or a pitch below the best quality, "
        "for more than half of its sessions."
    )
    source = Source("good and bad slots in turn", basis=Basis.COMMON_PRACTICE)
    firm = False

    def off(self, club: Club) -> str | None:
        """Never off; pitches without a quality count as good."""
        return None

    def post(self, club: Club, model: BookingModel) -> None:
        """Pay for what a team has beyond half of its sessions."""
        for team in club.teams:
            sessions = [ask.id for ask in club.sessions if team.id in ask.teams]
            allowed = len(sessions) // 2
            for kind, test in (("late", _Late(club)), ("poorer", _Poorer(club))):
                if kind == "poorer" and model.coarse:
                    if sum(1 for session in sessions if model.may_be_where(session, test)) > allowed:
                        model.partly.add(self.name)
                    continue
                there = [model.is_where(session, test) for session in sessions]
                if sum(1 for literal in there if not isinstance(literal, int) or literal) > allowed:
                    over = model.beyond(f"{kind}[{team.id}]", there, allowed)
                    model.penalise(self.name, 1, over, (team.id,), f"{team.id} has too many {kind} slots")

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Each team's late and poorer slots counted against half of the sessions it asks for."""
        for team in club.teams:
            allowed = sum(1 for ask in club.sessions if team.id in ask.teams) // 2
            late, poorer = [], []
            for planned in plan.sessions:
                if team.id not in planned.teams:
                    continue
                pitch = club.pitch(planned.pitch)
                closing = max((row.span.end for row in pitch.openings_on(planned.date)), default=0)
                if planned.end > closing - LATE:
                    late.append(planned.session)
                if any((one.quality or 0) > pitch.quality for one in club.pitches if pitch.quality is not None):
                    poorer.append(planned.session)
            for kind, found in (("late hours", late), ("poorer pitches", poorer)):
                if len(found) > allowed:
                    times = "once" if len(found) == 1 else f"{len(found)} times"
                    text = f"{team.id} has {kind} {times}; half of its sessions would be {allowed}"
                    about = (team.id, *found)
                    yield Violation(self.name, about, text, len(found) - allowed, "sessions", Severity.NOTE)


class _Late:
    """Whether a slot ends in the last hour before the pitch closes."""

    def __init__(self, club: Club) -> None:
        self._closing = {
            (pitch.id, date): max((row.span.end for row in pitch.openings_on(date)), default=0)
            for pitch in club.pitches
            for date in club.dates
        }

    def __call__(self, slot: Slot) -> bool:
        return slot.end > self._closing[slot.pitch, slot.date] - LATE


class _Poorer:
    """Whether a slot is on a pitch below the best quality of the club."""

    def __init__(self, club: Club) -> None:
        best = _best(club)
        self._poorer = {p.id for p in club.pitches if best is not None and p.quality is not None and p.quality < best}

    def __call__(self, slot: Slot) -> bool:
        return slot.pitch in self._poorer
