"""Minutes in goal are shared out evenly among those who keep, and one child keeps for a whole stay."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, KeeperStays, KeeperWish
from scheduler.club.programme import Kind
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.ledger import keeper_stays, policy_of
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.timeline import groups_of, station_of, timeline
from scheduler.plan.walk import Spot, spots_of
from scheduler.rotation.allowance import beyond, distance_words, whistle_words
from scheduler.rotation.setting import keepers_in

if TYPE_CHECKING:
    from scheduler.rotation.model import Linear, RotationModel
    from scheduler.rotation.setting import Turn


class KeeperMinutes:
    """Nobody more than one stay from the fair share in goal; nobody is taken out of goal before the stay ends."""

    name = "keeper minutes"
    words = (
        "At every whistle nobody who keeps goal is more than one stay (a rep, a block or a session, by the team's "
        "Keeper stays) from the fair share of the minutes in goal; within a stay no keeper is replaced by another "
        "who came to goal later, unless a regular arrives who comes before the willing."
    )
    source = Source("turns in goal shared among those who keep", basis=Basis.COMMON_PRACTICE)
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Keep every player within the bound, and every keeper in goal to the end of the stay."""
        for player in model.ring.players:
            sentence = f"{club.called(player)} gets a fair share of goal"
            model.shares.hold(player, "keep", model.switch(self.name, player, sentence))
        for setting in model.ring.sessions:
            for group in range(1, setting.groups + 1):
                path = [t for t in model.ring.turns_of(setting.session) if group in t.groups and t.goals]
                for first, second in pairwise(path):
                    self._post_stay(club, model, first, second)

    def _post_stay(self, club: Club, model: RotationModel, first: Turn, second: Turn) -> None:
        for player in model.here(first):
            if not _goes_on(keeper_stays(club, player), first.block == second.block):
                continue
            sentence = f"{club.called(player)} keeps goal to the end of a stay in {first.session}"
            switch = model.switch(self.name, f"{player} stays in {first.session}", sentence)
            stops = model.keeps(player, first) + model.at(player, second) - model.keeps(player, second)
            for other in model.here(second):
                if other != player:
                    comes = model.keeps(other, second) - model.keeps(other, first)
                    room: Linear = 2
                    if _comes_before(club, other, player):
                        policy = model.shares.station_policy(second)
                        gives_way = model.model.new_bool_var(f"gives way[{player}|{other}|{second.index}]")
                        model.model.add(policy == 0).only_enforce_if(gives_way)
                        room = 2 + gives_way
                    model.model.add(stops + comes <= room).only_enforce_if(switch)

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """The worst whistle of every keeper beyond the bound, and every keeper replaced before the stay ended."""
        for line, severity, ending in beyond(club, plan, ("keep",)):
            where, who = whistle_words(line.worst_at), club.called(line.player)
            text = f"{where}: {who} has kept goal {distance_words(line)}{ending}"
            yield Violation(self.name, (line.player,), text, line.excess, "minutes", severity)
        for planned in plan.sessions:
            for group in range(1, groups_of(club, planned.session) + 1):
                for first, second in pairwise(_goal_reps(club, planned, group)):
                    yield from self._replaced(club, first, second)

    def _replaced(self, club: Club, first: Spot, second: Spot) -> Iterator[Violation]:
        before = {place.player for place in first.holding("keep")}
        now = {place.player for place in second.holding("keep")}
        policy = policy_of(club, [place.player for place in second.rep.places])
        for place in second.rep.places:
            player = place.player
            if player not in before or player in now:
                continue
            ends = {KeeperStays.REP: True, KeeperStays.BLOCK: first.block.block != second.block.block}
            if ends.get(keeper_stays(club, player), False):
                continue
            willing = club.player(player).keeper is KeeperWish.WILLING and policy is KeeperPolicy.REGULARS
            for other in sorted(now - before):
                if not (willing and club.player(other).keeper is KeeperWish.REGULAR):
                    names = f"{club.called(other)} replaces {club.called(player)}"
                    text = f"{second.words}: {names} in goal before the stay is over"
                    yield Violation(self.name, (player, other), text, second.rep.span.minutes, "minutes")


def _goes_on(stays: KeeperStays, same_block: bool) -> bool:
    return stays is KeeperStays.SESSION or (stays is KeeperStays.BLOCK and same_block)


def _comes_before(club: Club, other: str, player: str) -> bool:
    """Whether one is a regular and the other only willing."""
    wishes = club.player(other).keeper, club.player(player).keeper
    return wishes == (KeeperWish.REGULAR, KeeperWish.WILLING)


def _goal_reps(club: Club, planned: PlannedSession, group: int) -> list[Spot]:
    """The reps with goals on a group's way through the session, in order of time."""
    layout = {block.block: block for block in timeline(club, planned.session)}
    found = []
    for spot in spots_of(planned):
        practice = club.practice(spot.station.practice)
        block = layout.get(spot.block.block)
        goals = practice.kind is not Kind.TOGETHER and keepers_in(club, planned.session, practice) > 0
        if goals and block is not None and station_of(block, group) == spot.station.station:
            found.append(spot)
    return sorted(found, key=lambda spot: spot.rep.span)
