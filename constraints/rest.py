"""Resting is shared out evenly, at every whistle and at the end of the week."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.contract import Source, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.rotation.allowance import beyond, distance_words, whistle_words

if TYPE_CHECKING:
    from scheduler.rotation.model import RotationModel


class Rest:
    """Nobody more than one rep from the fair share of standing out, whenever the week is cut short."""

    name = "rest"
    words = (
        "At every whistle and at the end of the week nobody is more than one rep from the fair share of resting, "
        "with what is due from earlier weeks; where that is impossible, the least excess."
    )
    source = Source(
        "R. Tijdeman, The chairman assignment problem, Discrete Mathematics 32 (1980) 323-330",
        "one role: every prefix within 1 - 1/(2n-2); at most one rep for several roles and kept sides is our choice",
    )
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Keep every player within the bound at every whistle."""
        for player in model.ring.players:
            sentence = f"{club.called(player)} gets a fair share of resting"
            model.shares.hold(player, "rest", model.switch(self.name, player, sentence))

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """The worst whistle of every player who is beyond the bound."""
        for line, severity, ending in beyond(club, plan, ("rest",)):
            where, who = whistle_words(line.worst_at), club.called(line.player)
            text = f"{where}: {who} has rested {distance_words(line)}{ending}"
            yield Violation(self.name, (line.player,), text, line.excess, "minutes", severity)
