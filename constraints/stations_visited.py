"""Groups move round: everybody stays in one group, and each group visits each station once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import WeekPlan

if TYPE_CHECKING:
    from scheduler.rotation.model import RotationModel


class StationsVisited:
    """One group for a whole session; no station twice while the same stations stand side by side."""

    name = "stations visited"
    words = (
        "Everybody stays in one group all session, and while the same stations stand side by side in consecutive "
        "blocks nobody comes to the same station twice before having been at all of them."
    )
    source = Source("carousel training", basis=Basis.COMMON_PRACTICE)
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Hold every player's group from the first block to the last in which the player is there."""
        for setting in model.ring.sessions:
            if setting.groups == 1:
                continue
            for player in setting.players:
                there = (turn.block for turn in model.ring.turns_of(setting.session) if player in turn.there)
                blocks = list(dict.fromkeys(there))
                sentence = f"{club.called(player)} stays in one group in {setting.session}"
                switch = model.switch(self.name, f"{player} in {setting.session}", sentence)
                for block in blocks[1:]:
                    before = model.group(player, setting.session, blocks[0])
                    after = model.group(player, setting.session, block)
                    for group in before:
                        model.model.add(before[group] == after[group]).only_enforce_if(switch)

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Follow every player from block to block."""
        for planned in plan.sessions:
            groups: dict[str, list[int]] = {}
            visits: dict[str, list[tuple[int, int]]] = {}
            run = blocks = 0  # one way round the stations, and how many of its blocks there have been
            before: tuple[str, ...] = ()
            for block in planned.blocks:
                practices = tuple(station.practice for station in block.stations)
                if practices != before or blocks == len(practices):
                    run, blocks = run + 1, 0
                blocks, before = blocks + 1, practices
                for station in block.stations:
                    for place in {p.player: p for rep in station.reps for p in rep.places}.values():
                        groups.setdefault(place.player, []).append(place.group)
                        if len(practices) > 1:
                            visits.setdefault(place.player, []).append((run, station.station))
            for player, found in groups.items():
                who, about = club.called(player), (player, planned.session)
                if len(set(found)) > 1:
                    text = f"{planned.session}: {who} is moved from group {found[0]} to another"
                    yield Violation(self.name, about, text, len(set(found)) - 1, "groups")
                seen = visits.get(player, [])
                if len(set(seen)) < len(seen):
                    text = f"{planned.session}: {who} comes to the same station twice"
                    yield Violation(self.name, about, text, len(seen) - len(set(seen)), "visits")
