"""Every area has as many attackers, defenders and keepers as its practice allows, in every rep."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.programme import Kind, Sizes
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.plan.walk import Spot, spots
from scheduler.rotation.setting import keepers_in, two_sides
from scheduler.welfare.weather import ended_by_heat

if TYPE_CHECKING:
    from scheduler.rotation.model import Linear, RotationModel
    from scheduler.rotation.setting import Turn


class AreaSizes:
    """Attackers, defenders and keepers within least and most; the two sides of a game within one in each area."""

    name = "area sizes"
    words = (
        "In every rep each area has attackers and defenders within the practice's least and most, exactly its keepers, "
        "and in a game two sides that differ by at most one."
    )
    source = Source("the club's own Practices sheet", basis=Basis.OURS)
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Bound the number of places of each role in each area of each turn."""
        for turn in model.ring.turns:
            if not turn.has_roles:
                continue
            subject = f"{turn.session}, block {turn.block}, station {turn.station}, rep {turn.rep}"
            switch = model.switch(self.name, subject, f"{subject}: {_asked(turn)}, with {len(turn.there)} there")
            for area in range(1, turn.areas + 1):
                for low, count, high in _rows(model, turn, area):
                    model.model.add(count >= low).only_enforce_if(switch)
                    model.model.add(count <= high).only_enforce_if(switch)

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Count the places of every area of every rep."""
        for spot in spots(plan):
            practice = club.practice(spot.station.practice)
            nobody = not spot.rep.places and ended_by_heat(spot.planned, spot.rep.span)
            if practice.kind is Kind.TOGETHER or nobody:
                continue
            keepers = keepers_in(club, spot.planned.session, practice)
            for area in range(1, practice.areas + 1):
                if practice.kind is Kind.PART:
                    yield from self._sized(spot, area, "attack", practice.attackers)
                    yield from self._sized(spot, area, "defend", practice.defenders)
                    yield from self._sized(spot, area, "keep", Sizes(keepers, keepers, keepers))
                else:
                    yield from self._game(spot, area, practice.attackers, keepers)

    def _game(self, spot: Spot, area: int, sizes: Sizes | None, keepers: int) -> Iterator[Violation]:
        sides = two_sides(spot.planned)
        for side in sides:
            yield from self._sized(spot, area, "play", sizes, side)
            yield from self._sized(spot, area, "keep", Sizes(keepers, keepers, keepers), side)
        first, second = (sum(p.area == area and p.side == side for p in spot.holding("play")) for side in sides)
        if abs(first - second) > 1:
            text = f"{spot.words}, area {area}: {first} against {second}; the sides may differ by one at most"
            yield Violation(self.name, (spot.planned.session,), text, abs(first - second) - 1, "players")

    def _sized(
        self, spot: Spot, area: int, role: str, sizes: Sizes | None, side: str | None = None
    ) -> Iterator[Violation]:
        if sizes is None:
            return
        held = [p for p in spot.holding(role) if p.area == area and (side is None or p.side == side)]
        short, over = sizes.least - len(held), len(held) - sizes.most
        if max(short, over) > 0:
            what = f"{_NOUN[role]} of {side}" if side else _NOUN[role]
            asked = f"{sizes.least}" if sizes.least == sizes.most else f"{sizes.least} to {sizes.most}"
            text = f"{spot.words}, area {area}: {len(held)} {what}, the practice asks for {asked}"
            yield Violation(self.name, (spot.planned.session,), text, max(short, over), "players")


_NOUN = {"attack": "attackers", "defend": "defenders", "keep": "keepers", "play": "players"}


def _asked(turn: Turn) -> str:
    keepers = f"{turn.goals} in goal"
    if turn.kind is Kind.GAME:
        return f"two sides of {turn.attackers} in {turn.areas} area{'s' * (turn.areas > 1)}, {keepers}"
    return f"{turn.attackers} attackers, {turn.defenders} defenders in each of {turn.areas}, {keepers}"


def _rows(model: RotationModel, turn: Turn, area: int) -> Iterator[tuple[int, Linear, int]]:
    """(least, how many, most) for one area of a turn."""
    if turn.kind is Kind.PART:
        yield turn.attackers.least, model.count(turn, "attack", area=area), turn.attackers.most
        yield turn.defenders.least, model.count(turn, "defend", area=area), turn.defenders.most
        yield turn.keepers, model.count(turn, "keep", area=area), turn.keepers
        return
    outfield = [model.count(turn, "play", area=area, side=side) for side in (0, 1)]
    for side in (0, 1):
        yield turn.attackers.least, outfield[side], turn.attackers.most
        yield turn.keepers, model.count(turn, "keep", area=area, side=side), turn.keepers
    yield -1, outfield[0] - outfield[1], 1
