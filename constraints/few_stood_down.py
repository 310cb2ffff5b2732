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

FEW = 3
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
        """Every minute that somebody who could come is stood down; many who lose alike are told in one sentence."""
        down: set[str] = set()
        for planned in plan.sessions:
            alike: dict[int, list[str]] = {}
            for member in club.members(planned.session):
                can = can_come(club, member.id, planned.date, planned.span)
                downs = [one for one in planned.stood_down if one.player == member.id]
                there = member.id in planned.players
                minutes = sum(
                    1
                    for span in can
                    for minute in range(span.start, span.end)
                    if not there or any(one.start <= minute < one.end for one in downs)
                )
                if minutes:
                    alike.setdefault(minutes, []).append(member.id)
            for minutes, players in alike.items():
                down.update(players)
                for some in [players] if len(players) > FEW else [[player] for player in players]:
                    who = f"{club.called(some[0])} is" if len(some) == 1 else f"{len(some)} players are"
                    text = f"{who} stood down from {so_many(minutes, 'minute')} of {planned.session}"
                    about = (*some, planned.session)
                    yield Violation(MINUTES, about, text, minutes * len(some), "minutes", Severity.NOTE)
        if down:
            who = "one player is" if len(down) == 1 else f"{len(down)} players are"
            about = tuple(player.id for player in club.players if player.id in down)
            text = f"{who} stood down from a part of the week"
            yield Violation(CHILDREN, about, text, len(down), "players", Severity.NOTE)
