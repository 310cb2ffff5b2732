"""Bibs are kept on: two sides a group, even at the start, the same for a whole session (or block)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.programme import Kind
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import Place, PlannedSession, WeekPlan
from scheduler.plan.timeline import groups_of, station_of, timeline
from scheduler.plan.walk import Spot, spots_of
from scheduler.rotation.setting import FIELD, attacking_sides, two_sides

if TYPE_CHECKING:
    from scheduler.rotation.model import Linear, RotationModel
    from scheduler.rotation.slots import Stay


class SidesKept:
    """One side name for all of a player's places in the field, the right side in each area, even sides at the start."""

    name = "sides kept"
    words = (
        "Nobody changes bibs within a session (or within a block where Bibs stay says so); in odd areas the first side "
        "attacks and the other defends and keeps goal, in even areas the other way round, in a last single area in "
        "turns; the two sides of a group differ by at most one at the first rep, not counting who only keeps goal."
    )
    source = Source("changing bibs costs playing time", basis=Basis.COMMON_PRACTICE)
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Tie every place in the field to the player's own side, forbid wrong sides, even the sides out."""
        for stay in model.stays():
            self._post_own(club, model, stay)
            for group in range(1, model.ring.setting(stay.session).groups + 1):
                self._post_even(model, stay, group)

    def _post_own(self, club: Club, model: RotationModel, stay: Stay) -> None:
        for turn in model.turns_in(stay):
            for player in model.here(turn):
                sentence = f"{club.called(player)} keeps the same bibs in {stay.session}"
                switch = model.switch(self.name, f"{player} in {stay.session}", sentence)
                own = model.own_side(player, stay)
                model.model.add(sum(model.places(player, turn, *FIELD, side=1)) <= own).only_enforce_if(switch)
                model.model.add(sum(model.places(player, turn, *FIELD, side=0)) <= 1 - own).only_enforce_if(switch)
                wrong = [
                    literal
                    for area, attacker in enumerate(turn.attacking, 1)
                    for literal in (
                        *model.places(player, turn, "attack", area=area, side=1 - attacker),
                        *model.places(player, turn, "defend", "keep", area=area, side=attacker),
                    )
                ]
                model.model.add(sum(wrong) == 0).only_enforce_if(switch)

    def _post_even(self, model: RotationModel, stay: Stay, group: int) -> None:
        first = next((turn for turn in model.turns_in(stay) if group in turn.groups), None)
        if first is None:
            return
        ahead: Linear = 0
        for player in model.here(first):
            counts = model.model.new_int_var(-1, 1, f"counts[{player}|{stay.session}|{stay.block}|{group}]")
            own, fields = model.own_side(player, stay), model.fields(player, stay)
            is_in = model.group(player, stay.session, first.block)[group]
            model.model.add(counts <= 2 * own - 1 + 2 * (2 - fields - is_in))
            model.model.add(counts >= 2 * own - 1 - 2 * (2 - fields - is_in))
            for inside in (fields, is_in):
                model.model.add(counts <= inside)
                model.model.add(counts >= -1 * inside)
            ahead = ahead + counts
        where = f"{stay.session}, group {group}" + (f", block {stay.block}" if stay.block else "")
        switch = model.switch(self.name, where, f"{where}: the two sides start even, to within one")
        model.model.add(ahead <= 1).only_enforce_if(switch)
        model.model.add(ahead >= -1).only_enforce_if(switch)

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Walk every stay of every session."""
        for planned in plan.sessions:
            walk = [s for s in spots_of(planned) if club.practice(s.station.practice).kind is not Kind.TOGETHER]
            by_block = club.session(planned.session).bibs_stay == "block"
            for key in sorted({spot.block.block if by_block else 0 for spot in walk}):
                stay = [spot for spot in walk if not by_block or spot.block.block == key]
                yield from self._changes(club, planned, stay)
                yield from self._uneven(club, planned, stay)
            yield from self._wrong_sides(club, planned, walk)

    def _changes(self, club: Club, planned: PlannedSession, stay: list[Spot]) -> Iterator[Violation]:
        for player, worn in _worn(stay).items():
            if len(worn) > 1:
                text = f"{planned.session}: {club.called(player)} changes bibs ({' and '.join(worn)})"
                yield Violation(self.name, (player, planned.session), text, len(worn) - 1, "changes")

    def _uneven(self, club: Club, planned: PlannedSession, stay: list[Spot]) -> Iterator[Violation]:
        layout = {block.block: block for block in timeline(club, planned.session)}
        worn = _worn(stay)
        for group in range(1, groups_of(club, planned.session) + 1):
            way = [
                spot
                for spot in stay
                if spot.block.block in layout and station_of(layout[spot.block.block], group) == spot.station.station
            ]
            if not way:
                continue
            start = min(way, key=lambda spot: spot.rep.span)
            members = [place.player for place in start.rep.places if place.group == group]
            one, two = (sum(1 for p in members if worn.get(p, [None])[0] == side) for side in two_sides(planned))
            if abs(one - two) > 1:
                text = f"{start.words}: sides of {one} and {two} in group {group}; they may differ by one at most"
                yield Violation(self.name, (planned.session,), text, abs(one - two) - 1, "players")

    def _wrong_sides(self, club: Club, planned: PlannedSession, walk: list[Spot]) -> Iterator[Violation]:
        sides, layout = two_sides(planned), {block.block: block for block in timeline(club, planned.session)}
        for spot in walk:
            practice = club.practice(spot.station.practice)
            if practice.kind is not Kind.PART or spot.block.block not in layout:
                continue
            earlier = _odd_blocks_before(club, planned, spot)
            attacking = attacking_sides(practice.areas, spot.rep.rep, earlier)
            for place in spot.holding("attack", "defend", "keep"):
                if place.area is None or not 1 <= place.area <= practice.areas:
                    continue
                attacker = sides[attacking[place.area - 1]]
                wanted = attacker if place.role == "attack" else sides[1 - attacking[place.area - 1]]
                if place.side is not None and place.side != wanted:
                    text = f"{spot.words}, area {place.area}: {_says(club, place)} as {place.side}, it is for {wanted}"
                    yield Violation(self.name, (place.player, planned.session), text)


def _says(club: Club, place: Place) -> str:
    verb = {"attack": "attacks", "defend": "defends", "keep": "keeps goal"}[place.role]
    return f"{club.called(place.player)} {verb}"


def _worn(stay: list[Spot]) -> dict[str, list[str]]:
    """The side names of each player's places in the field, in order of first use."""
    worn: dict[str, list[str]] = {}
    for spot in sorted(stay, key=lambda spot: spot.rep.span):
        for place in spot.holding(*FIELD):
            if place.side is not None and place.side not in worn.setdefault(place.player, []):
                worn[place.player].append(place.side)
    return {player: sides for player, sides in worn.items() if sides}


def _odd_blocks_before(club: Club, planned: PlannedSession, spot: Spot) -> int:
    """How many earlier blocks the first group at the station spent in a part with a single last area."""
    layout = timeline(club, planned.session)
    now = layout[spot.block.block - 1]
    groups = range(1, groups_of(club, planned.session) + 1)
    group = next((g for g in groups if station_of(now, g) == spot.station.station), 1)
    practices = [block.stations[station_of(block, group) - 1].practice for block in layout[: spot.block.block - 1]]
    return sum(1 for practice in practices if practice.kind is Kind.PART and practice.areas % 2)
