"""Children play rather than stand: in every rep as few rest as lawful sizes allow."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.programme import Kind
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.plan.walk import spots
from scheduler.rotation.setting import FIELD, Turn, settings, two_sides

if TYPE_CHECKING:
    from scheduler.rotation.model import RotationModel


class FewRests:
    """No more rest in a rep than the sizes leave over, given who is there, who keeps and each side's number."""

    name = "few rests"
    words = (
        "In every rep as few rest as the lawful sizes allow, given who is there, who keeps goal and how many each "
        "side has; fairness is never bought with rests."
    )
    source = Source("children come to play", basis=Basis.OURS)
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """In each turn, at most as many rests as the table of the two sides' numbers says."""
        for turn in model.ring.turns:
            if not turn.has_roles:
                continue
            here = len(model.here(turn))
            numbers = [model.model.new_int_var(0, here, f"side {side}[{turn.index}]") for side in (0, 1)]
            for side in (0, 1):
                model.model.add(numbers[side] == model.count(turn, *FIELD, side=side))
            spare = model.model.new_int_var(0, here, f"spare[{turn.index}]")
            rows = [(a, b, _spare(turn, a, b)) for a in range(here + 1) for b in range(here + 1 - a)]
            model.model.add_allowed_assignments([*numbers, spare], rows)
            subject = f"{turn.session}, block {turn.block}, station {turn.station}, rep {turn.rep}"
            switch = model.switch(self.name, subject, f"{subject}: nobody rests who could play")
            model.model.add(model.count(turn, "rest") <= spare).only_enforce_if(switch)

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Try every lawful number of players on both sides and compare the rests."""
        turns = {turn.key: turn for ring in settings(club, plan) for turn in ring.turns}
        known: dict[tuple[object, ...], int | None] = {}
        for spot in spots(plan):
            turn = turns.get((spot.planned.session, spot.block.block, spot.station.station, spot.rep.rep))
            if turn is None or not turn.has_roles:
                continue
            resting = len(spot.holding("rest"))
            have = [sum(1 for place in spot.holding(*FIELD) if place.side == side) for side in two_sides(spot.planned)]
            alike = (turn.practice.id, turn.areas, turn.attacking, len(turn.there), *have)
            if alike not in known:
                known[alike] = _most_playing(turn, have)
            most = known[alike]
            if most is not None and resting > len(spot.holding(*FIELD)) - most:
                over = resting - len(spot.holding(*FIELD)) + most
                text = f"{spot.words}: {resting} rest, {over} more than the sizes of {turn.practice.id} ask for"
                yield Violation(self.name, (spot.planned.session,), text, over, "players")


def _spare(turn: Turn, first: int, second: int) -> int:
    """The fewest who rest when the sides have so many in the field; everybody may where no lawful sizes exist."""
    (low0, high0), (low1, high1) = turn.outfield(0), turn.outfield(1)
    plays0, plays1 = min(first, high0), min(second, high1)
    if turn.kind is Kind.GAME:
        plays0, plays1 = min(plays0, plays1 + turn.areas), min(plays1, plays0 + turn.areas)
    return first + second - plays0 - plays1 if plays0 >= low0 and plays1 >= low1 else first + second


def _most_playing(turn: Turn, have: Sequence[int]) -> int | None:
    """The most who can play of so many a side, by trying every pair of numbers; None where no pair is lawful."""
    best: int | None = None
    for first in range(have[0] + 1):
        for second in range(have[1] + 1):
            if _lawful(turn, first, second) and (best is None or first + second > best):
                best = first + second
    return best


def _lawful(turn: Turn, first: int, second: int) -> bool:
    practice = turn.practice
    if practice.kind is Kind.GAME:
        each = practice.attackers
        fits = each is None or all(each.least * turn.areas <= n <= each.most * turn.areas for n in (first, second))
        return fits and abs(first - second) <= turn.areas
    for side, number in ((0, first), (1, second)):
        least = most = 0
        for attacker in turn.attacking:
            size = practice.attackers if attacker == side else practice.defenders
            least += size.least if size else 0
            most += size.most if size else len(turn.there)
        if not least <= number <= most:
            return False
    return True
