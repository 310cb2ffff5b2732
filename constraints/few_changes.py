"""A new plan changes as few places as possible of the players who are still there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import Place, WeekPlan
from scheduler.plan.walk import spots

if TYPE_CHECKING:
    from scheduler.rotation.model import RotationModel


@dataclass(frozen=True)
class FewChanges:
    """Places changed against an earlier plan, counted per player and rep; nothing to compare without one."""

    earlier: WeekPlan | None = None

    name = "few changes"
    words = (
        "A new plan moves as few as possible: fewest places of players who are there in both plans, counted per rep."
    )
    source = Source("coaches and children have read the earlier plan", basis=Basis.OURS)
    firm = False

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Charge one for every place that is not the one of the plan the model was given as earlier."""
        if not model.wants(self.name) or model.earlier is None:
            return
        for turn in model.ring.turns:
            for place in model.earlier_places(turn):
                if place.player in turn.there:
                    same = model.same_place(place, turn)
                    about = (place.player, turn.session)
                    model.penalise(self.name, 1, 1 - same, about, f"{club.called(place.player)} has a new place")

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """One note for every place that differs from the earlier plan."""
        before = _places(self.earlier) if self.earlier else {}
        for key, place in _places(plan).items():
            old = before.get(key)
            if old is not None and (old.group, old.area, old.side, old.role) != (
                place.group,
                place.area,
                place.side,
                place.role,
            ):
                session, block, rep, player = key
                text = f"{session}, block {block}, rep {rep}: {club.called(player)} has a new place"
                yield Violation(self.name, (player, session), text, 1, "places", Severity.NOTE)


def _places(plan: WeekPlan) -> dict[tuple[str, int, int, str], Place]:
    return {
        (spot.planned.session, spot.block.block, spot.rep.rep, place.player): place
        for spot in spots(plan)
        for place in spot.rep.places
    }
