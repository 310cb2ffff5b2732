"""As few minutes as possible are stood down, then as few children as possible."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.numbers import so_many
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.plan.presence import can_come

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel

MINUTES, CHILDREN = "fewest minutes stood down", "fewest children stood down"


class FewStoodDown:
    """Minutes of stand-down count while the child could have been there."""

    name = "few stood down"
    words = (
        "Children are left out of as little as the limits allow: first the fewest minutes, then the fewest children."
    )
    source = Source("children come to play", basis=Basis.OURS)
    firm = False

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def post(self, club: Club, model: BookingModel) -> None:
        """Pay for every minute lost, then for every child with any."""
        for squad in model.squads():
            about = squad.players
            for session in squad.sessions:
                lost = model.children.lost(squad, session)
                if not isinstance(lost, int) or lost:
                    model.penalise(MINUTES, 1, lost, about, f"{session} loses minutes of {len(about)} players")
            down = model.children.stood_down(squad)
            if not isinstance(down, int) or down:
                model.penalise(CHILDREN, 1, down, about, "players are stood down")

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Every minute that somebody who could come is stood down."""
        lost: dict[str, int] = {}
        for planned in plan.sessions:
            for member in club.members(planned.session):
                can = can_come(club, member.id, planned.date, planned.span)
                downs = [down for down in planned.stood_down if down.player == member.id]
                there = member.id in planned.players
                minutes = sum(
                    1
                    for span in can
                    for minute in range(span.start, span.end)
                    if not there or any(down.start <= minute < down.end for down in downs)
                )
                if minutes:
                    lost[member.id] = lost.get(member.id, 0) + minutes
                    text = f"{member.called} is stood down from {so_many(minutes, 'minute')} of {planned.session}"
                    about = (member.id, planned.session)
                    yield Violation(MINUTES, about, text, minutes, "minutes", Severity.NOTE)
        for player, minutes in lost.items():
            text = f"{club.called(player)} is stood down from {so_many(minutes, 'minute')} of the week"
            yield Violation(CHILDREN, (player,), text, 1, "players", Severity.NOTE)
