"""Areas play at the size their practice wants, not merely at one it allows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.programme import Kind, Sizes
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.plan.walk import spots
from scheduler.rotation.setting import two_sides

if TYPE_CHECKING:
    from scheduler.rotation.model import RotationModel


class WantedSizes:
    """The fewest players more or fewer than wanted, added up over areas and reps."""

    name = "wanted sizes"
    words = "Areas play with as many attackers and defenders as the practice wants, before anything else is wished for."
    source = Source("the club's own Practices sheet", basis=Basis.OURS)
    firm = False

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Charge one for each player more or fewer than wanted in each area and turn."""
        if not model.wants(self.name):
            return
        for turn in model.ring.turns:
            here = len(model.here(turn))
            rows: list[tuple[str, int | None, Sizes]] = [("play", 0, turn.attackers), ("play", 1, turn.attackers)]
            if turn.kind is Kind.PART:
                rows = [("attack", None, turn.attackers), ("defend", None, turn.defenders)]
            for area in range(1, turn.areas + 1) if turn.has_roles else ():
                for role, side, sizes in rows:
                    if sizes.least < sizes.most:
                        off = model.model.new_int_var(
                            0, here + sizes.most, f"off size[{turn.index}|{area}|{role}|{side}]"
                        )
                        held = model.count(turn, role, area=area, side=side)
                        model.model.add(off >= held - sizes.wanted)
                        model.model.add(off >= sizes.wanted - held)
                        model.penalise(self.name, 1, off, (turn.session,), f"{role} in area {area} not as wanted")

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """One note for each area and rep that is off the wanted size."""
        for spot in spots(plan):
            practice = club.practice(spot.station.practice)
            if practice.kind is Kind.TOGETHER or not spot.rep.places:
                continue
            for area in range(1, practice.areas + 1):
                rows: list[tuple[str, str | None, Sizes | None]]
                if practice.kind is Kind.PART:
                    rows = [("attack", None, practice.attackers), ("defend", None, practice.defenders)]
                else:
                    rows = [("play", side, practice.attackers) for side in two_sides(spot.planned)]
                for role, side, sizes in rows:
                    held = sum(1 for p in spot.holding(role) if p.area == area and side in (None, p.side))
                    if sizes is not None and sizes.least < sizes.most and held != sizes.wanted:
                        who = f"{role} as {side}" if side else role
                        text = f"{spot.words}, area {area}: {held} {who}, {sizes.wanted} wanted"
                        off, about = abs(held - sizes.wanted), (spot.planned.session,)
                        yield Violation(self.name, about, text, off, "players", Severity.NOTE)
