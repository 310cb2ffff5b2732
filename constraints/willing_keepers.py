"""Nobody keeps goal who has not agreed to, by the policy of the team."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, KeeperWish
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.ledger import policy_of
from scheduler.plan.plan import WeekPlan
from scheduler.plan.walk import Spot, spots

if TYPE_CHECKING:
    from scheduler.rotation.model import RotationModel
    from scheduler.rotation.setting import Turn

REGULARS, EVERYONE = 0, 2  # the numbers the model gives to these policies


WHILE = "while"


class WillingKeepers:
    """`no` never keeps; not asked only under `everyone`; under `regulars` the willing only fill what is left."""

    name = "willing keepers"
    words = (
        "Only those willing keep goal: never a child who said no, a child not asked only where everyone takes a turn, "
        "and under `regulars` a willing child only while every regular there keeps goal too."
    )
    source = Source("children are asked before they keep goal", basis=Basis.COMMON_PRACTICE)
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off: a blank Keeper means not asked."""
        return None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Forbid places in goal by what each child said and by the policy at the station."""
        for turn in model.ring.turns:
            if turn.goals:
                for player in model.here(turn):
                    self._post(club, model, turn, player)

    def _post(self, club: Club, model: RotationModel, turn: Turn, player: str) -> None:
        wish, policy = club.player(player).keeper, model.shares.station_policy(turn)
        if wish is KeeperWish.REGULAR:
            return
        sentence = f"{club.called(player)} keeps goal in {turn.session} only as far as agreed to"
        switch = model.switch(self.name, f"{player} in {turn.session}", sentence)
        for literal in model.places(player, turn, "keep"):
            if wish is KeeperWish.NO:
                model.model.add(literal == 0).only_enforce_if(switch)
            elif wish is KeeperWish.NOT_ASKED:
                if isinstance(policy, int):
                    model.model.add(literal <= int(policy == EVERYONE)).only_enforce_if(switch)
                else:
                    model.model.add(policy == EVERYONE).only_enforce_if([switch, literal])
            else:
                for other in model.here(turn):
                    if club.player(other).keeper is KeeperWish.REGULAR:
                        keeps_or_lax = model.keeps(other, turn) + policy
                        model.model.add(keeps_or_lax >= model.at(other, turn)).only_enforce_if([switch, literal])

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Ask of everybody in goal whether the answer and the policy allow it."""
        for spot in spots(plan):
            keeping = [place.player for place in spot.holding("keep")]
            policy = policy_of(club, [place.player for place in spot.rep.places])
            for player in keeping:
                why = _why_not(club, spot, player, policy)
                if why:
                    about, minutes = (player, spot.planned.session), spot.rep.span.minutes
                    keeps = f"{spot.words}: {club.called(player)} keeps goal"
                    text = f"{keeps}, {why}" if why.startswith(WHILE) else f"{keeps} without a yes (welfare file)"
                    yield Violation(self.name, about, text, minutes, "minutes", private=f"{keeps}, {why}")


def _why_not(club: Club, spot: Spot, player: str, policy: KeeperPolicy) -> str:
    wish = club.player(player).keeper
    if wish is KeeperWish.NO:
        return "which was not agreed to"
    if wish is KeeperWish.NOT_ASKED and policy is not KeeperPolicy.EVERYONE:
        return "but was not asked"
    if wish is KeeperWish.WILLING and policy is KeeperPolicy.REGULARS:
        idle = [
            place.player
            for place in spot.rep.places
            if place.role != "keep" and club.player(place.player).keeper is KeeperWish.REGULAR
        ]
        if idle:
            return f"{WHILE} {club.called(idle[0])}, a regular keeper, does not"
    return ""
