"""Everybody plays with everybody: pairs repeat as little as possible over the week."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.plan.walk import spots
from scheduler.rotation.setting import OUTFIELD, settings

if TYPE_CHECKING:
    from scheduler.rotation.model import RotationModel


class Mixing:
    """The sum over pairs of c(c - 1)/2, c being how often the two stand in one area, in one role, on one side."""

    name = "mixing"
    words = "Pairs who attack, defend or play side by side in one area change as much as they can over the week."
    source = Source("meeting everyone is part of the game", basis=Basis.COMMON_PRACTICE)
    firm = False

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Charge every pair c(c - 1)/2. Large: for small rings and the neighbourhoods of a replan only."""
        if not model.wants(self.name):
            return
        for one, two in combinations(model.ring.players, 2):
            together = []
            for turn in model.ring.turns:
                for role in OUTFIELD:
                    for area in range(1, turn.areas + 1):
                        for side in (0, 1):
                            first = model.places(one, turn, role, area=area, side=side)
                            second = model.places(two, turn, role, area=area, side=side)
                            if first and second:
                                name = f"pair[{one}|{two}|{turn.index}|{role}|{area}|{side}]"
                                both = model.model.new_bool_var(name)
                                model.model.add(both >= sum(first) + sum(second) - 1)
                                together.append(both)
            times = len(dict.fromkeys(turn.index for turn in model.ring.turns if turn.has_roles))
            repeats = model.model.new_int_var(0, times * times, f"repeats[{one}|{two}]")
            for count in range(1, times + 1):
                model.model.add(repeats >= count * sum(together) - count * (count + 1) // 2)
            if together:
                model.penalise(self.name, 1, repeats, (one, two), "the two stand together again")

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """One note a ring with its sum, and the pair that met most often."""
        for ring in settings(club, plan):
            sessions = {setting.session for setting in ring.sessions}
            met: dict[tuple[str, str], int] = {}
            for spot in spots(plan):
                if spot.planned.session in sessions:
                    places = sorted(spot.holding(*OUTFIELD), key=lambda place: place.player)
                    for one, two in combinations(places, 2):
                        if (one.area, one.role, one.side) == (two.area, two.role, two.side):
                            pair = (one.player, two.player)
                            met[pair] = met.get(pair, 0) + 1
            total = sum(count * (count - 1) // 2 for count in met.values())
            if total:
                most = max(met, key=lambda pair: (met[pair], pair))
                names = f"{club.called(most[0])} and {club.called(most[1])}"
                text = f"{ring.name}: pairs meet again {total} times in all; {names} most often, {met[most]} times"
                yield Violation(self.name, (ring.name,), text, total, "meetings", Severity.NOTE)
