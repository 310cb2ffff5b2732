"""The two sides of a group are as equal as can be by what coaches wrote under Even-up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.programme import Kind
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.plan.walk import spots_of
from scheduler.rotation.setting import FIELD, two_sides

if TYPE_CHECKING:
    from scheduler.rotation.model import Linear, RotationModel


class BalancedSides:
    """The smallest difference between the two sides' sums of Even-up, for each group and set of bibs."""

    name = "balanced sides"
    words = "Newer and more advanced players are spread evenly over the two sides of each group."
    source = Source("even sides make better practice", basis=Basis.COMMON_PRACTICE)
    firm = False

    def off(self, club: Club) -> str | None:
        """Off where nobody is marked."""
        return "nobody is marked under Even-up" if club.is_blank("Players.Even-up") else None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Charge the difference of the sums for each stay and group."""
        if not model.wants(self.name):
            return
        for stay in model.stays():
            first = model.turns_in(stay)[0]
            members = dict.fromkeys(p for turn in model.turns_in(stay) for p in model.here(turn))
            for group in range(1, model.ring.setting(stay.session).groups + 1):
                ahead: Linear = 0
                for player in members:
                    level = club.player(player).even_up
                    if level:
                        sign = model.model.new_int_var(-1, 1, f"sign[{player}|{stay.session}|{stay.block}|{group}]")
                        is_in = model.group(player, stay.session, first.block)[group]
                        slack = 2 - model.fields(player, stay) - is_in
                        model.model.add(sign <= 2 * model.own_side(player, stay) - 1 + 2 * slack)
                        model.model.add(sign >= 2 * model.own_side(player, stay) - 1 - 2 * slack)
                        for inside in (model.fields(player, stay), is_in):
                            model.model.add(sign <= inside)
                            model.model.add(sign >= -1 * inside)
                        ahead = ahead + level * sign
                uneven = model.model.new_int_var(0, len(members), f"uneven[{stay.session}|{stay.block}|{group}]")
                model.model.add(uneven >= ahead)
                model.model.add(uneven >= -1 * ahead)
                model.penalise(self.name, 1, uneven, (stay.session,), f"sides of group {group} are uneven")

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Add up both sides of every group."""
        for planned in plan.sessions:
            by_block = club.session(planned.session).bibs_stay == "block"
            worn: dict[tuple[int, int], dict[str, str]] = {}
            for spot in spots_of(planned):
                if club.practice(spot.station.practice).kind is not Kind.TOGETHER:
                    for place in spot.holding(*FIELD):
                        key = (spot.block.block if by_block else 0, place.group)
                        if place.side is not None:
                            worn.setdefault(key, {}).setdefault(place.player, place.side)
            for (block, group), sides in sorted(worn.items()):
                one, two = (
                    sum(club.player(player).even_up for player, worn_side in sides.items() if worn_side == side)
                    for side in two_sides(planned)
                )
                if one != two:
                    where = planned.session + (f", block {block}" if block else "")
                    text = f"{where}: the two sides of group {group} could be more even"
                    private = f"{where}: the sides of group {group} add up to {one} and {two} under Even-up"
                    by, about = abs(one - two), (planned.session,)
                    yield Violation(self.name, about, text, by, "steps", Severity.NOTE, private)
