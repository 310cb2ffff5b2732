"""What is to be mended in one ring: who is where in every turn, what everybody had, and the bibs they wear."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from itertools import combinations

from scheduler.club.club import Club
from scheduler.plan.plan import Place, WeekPlan
from scheduler.plan.timeline import station_of, timeline
from scheduler.replan.options import Filling, Mending
from scheduler.replan.scoreboard import Filled
from scheduler.rotation.places import with_places
from scheduler.rotation.setting import FIELD, Ring, Turn
from scheduler.rotation.slots import Slot, Stay, places_at

Worn = tuple[str, Stay]  # one player's bibs during one stay


class Task:
    """One ring of a week booked again, and the places of the plan before. Turns are met by number, in order of time."""

    def __init__(
        self,
        club: Club,
        before: WeekPlan,
        ring: Ring,
        locked: frozenset[int],
        moved: Mapping[tuple[str, str], int] | None = None,
    ) -> None:
        """`moved`: in another group than before, by player and session."""
        self.club, self.ring, self._before = club, ring, before
        self._names = {setting.session: setting.sides for setting in ring.sessions}
        self._was = [{place.player: place for place in places_at(before, turn)} for turn in ring.turns]
        self.group_to_choose = False
        self._group = {**self._groups(), **(moved or {})}
        layout = {setting.session: timeline(club, setting.session) for setting in ring.sessions}
        self.filled = [
            Filled(turn, tuple(
                player for player in turn.there
                if station_of(layout[turn.session][turn.block - 1], self._group[player, turn.session]) == turn.station
            ))
            for turn in ring.turns
        ]  # fmt: skip
        self.locked = frozenset(number for number, turn in enumerate(ring.turns) if turn.index in locked)
        self.old = [self._old(number) for number in range(len(self.filled))]

    def _groups(self) -> dict[tuple[str, str], int]:
        """The group of everybody in every session; whoever comes newly goes to the smallest group."""
        found: dict[tuple[str, str], int] = {}
        for turn, was in zip(self.ring.turns, self._was, strict=True):
            for player, place in was.items():
                found.setdefault((player, turn.session), place.group)
        for setting in self.ring.sessions:
            there = {player for turn in self.ring.turns_of(setting.session) for player in turn.there}
            groups = range(1, setting.groups + 1)
            for player in (p for p in setting.players if p in there and (p, setting.session) not in found):
                sizes = [(sum(found.get((q, setting.session)) == g for q in there), g) for g in groups]
                found[player, setting.session] = min(sizes)[1]
                self.group_to_choose |= setting.groups > 1
        return found

    def regrouped(self, moved: Mapping[tuple[str, str], int]) -> Task:
        """The same with a few in other groups, who have no places yet in their sessions."""
        locked = frozenset(self.filled[number].turn.index for number in self.locked)
        return Task(self.club, self._before, self.ring, locked, moved)

    def in_groups(self, session: str) -> tuple[str, ...]:
        """Everybody with a group in a session, in the ring's order."""
        return tuple(player for player in self.ring.players if (player, session) in self._group)

    def places_of(self, player: str, session: str) -> int:
        """How many places somebody has in a session who was there before."""
        return sum(turn.session == session and player in old
                   for (turn, _), old in zip(self.filled, self.old, strict=True))  # fmt: skip

    def group(self, player: str, session: str) -> int:
        """The group of a player in a session."""
        return self._group[player, session]

    def stay(self, turn: Turn) -> Stay:
        """The bibs' stay of a turn."""
        by_block = self.ring.setting(turn.session).bibs_stay == "block"
        return Stay(turn.session, turn.block if by_block else 0)

    @cached_property
    def sides(self) -> dict[Worn, int]:
        """The bibs everybody wears, by most places in the field, the first of as many; who only kept goal has none.

        A plan edited by hand may have somebody in both. What stays as it was played decides where there is any.
        """
        worn: dict[Worn, dict[int, int]] = {}
        for number, ((turn, here), old) in enumerate(zip(self.filled, self.old, strict=True)):
            for player, slot in old.items():
                if slot.role in FIELD and slot.side is not None and player in here:
                    counts = worn.setdefault((player, self.stay(turn)), {})
                    counts[slot.side] = counts.get(slot.side, 0) + (10**6 if number in self.locked else 1)
        return {own: max(counts, key=lambda side: counts[side]) for own, counts in worn.items()}

    def _old(self, number: int) -> Filling:
        """What those there in both plans had, group included."""
        turn, here = self.filled[number]
        names = self._names[turn.session]
        return {
            player: Slot(place.role, place.area, names.index(place.side) if place.side in names else None)
            for player in here
            if (place := self._was[number].get(player)) and place.group == self._group[player, turn.session]
        }

    @cached_property
    def disturbed(self) -> frozenset[int]:
        """The turns in which somebody is missing, newly there or at another station."""
        return frozenset(
            number
            for number, (_, here) in enumerate(self.filled)
            if not set(self.old[number]) == set(here) == set(self._was[number])
        )

    def mending(self, number: int, sides: Mapping[Worn, int]) -> Mending:
        """One turn to be filled with these bibs."""
        turn, here = self.filled[number]
        stay = self.stay(turn)
        own = {player: sides[player, stay] for player in here if (player, stay) in sides}
        return Mending(turn, here, self.old[number], own)

    @property
    def is_held(self) -> bool:
        """Whether what is played already can stay, and everybody has a group: else no mending turn by turn will do."""
        return not (self.locked & self.disturbed or self.group_to_choose)

    @cached_property
    def open_places(self) -> dict[Worn, int]:
        """For each player and stay not begun in the field yet how many places must change when the bibs do.

        A place that an edit by hand has in the other bibs already need not.
        """
        counts = dict.fromkeys(self.sides, 0)
        for number, (turn, _) in enumerate(self.filled):
            for player, slot in self.old[number].items():
                key = (player, self.stay(turn))
                if slot.role in FIELD and key in counts and number in self.locked:
                    counts[key] -= 10**6
                elif slot.role in FIELD and slot.side == self.sides.get(key):
                    counts[key] += 1
        return {key: count for key, count in counts.items() if count > 0}

    def others_bibs(self, most: int) -> list[tuple[Worn, ...]]:
        """One or two in other bibs than before, where that alone changes at most so many places; the fewest first."""
        cost = self.open_places
        singles = [key for key in cost if cost[key] <= most]
        pairs = [pair for pair in combinations(singles, 2) if sum(cost[key] for key in pair) <= most]
        return sorted([*((key,) for key in singles), *pairs], key=lambda world: sum(cost[key] for key in world))

    def in_others(self, world: Sequence[Worn]) -> dict[Worn, int]:
        """The bibs of everybody with these in others than before."""
        return {key: 1 - side if key in world else side for key, side in self.sides.items()}

    def places_of_groups(self) -> int:
        """The fewest places that change when somebody changes group in a session with several."""
        several = {setting.session for setting in self.ring.sessions if setting.groups > 1}
        counts: dict[tuple[str, str], int] = {}
        for number, (turn, _) in enumerate(self.filled):
            for player in self.old[number] if turn.session in several else ():
                key = (player, turn.session)
                counts[key] = counts.get(key, 0) + (1 if number not in self.locked else 10**6)
        return min(counts.values(), default=10**6)

    def even_at_start(self, sides: Mapping[Worn, int], all_known: bool = False) -> bool:
        """Whether the two sides of every group start within one of each other with these bibs.

        Whoever has none yet may even them out, unless `all_known`: then these only keep goal and do not count.
        """
        for stay in dict.fromkeys(self.stay(turn) for turn, _ in self.filled if turn.has_roles):
            for group in range(1, self.ring.setting(stay.session).groups + 1):
                first = next(
                    (n for n, (turn, _) in enumerate(self.filled)
                     if turn.has_roles and self.stay(turn) == stay and group in turn.groups), None,
                )  # fmt: skip
                if first is None or first in self.locked:
                    continue
                turn, here = self.filled[first]
                worn = [sides.get((p, stay)) for p in here if self._group[p, turn.session] == group]
                if abs(worn.count(0) - worn.count(1)) > 1 + (0 if all_known else worn.count(None)):
                    return False
        return True

    def changes(self, answer: Sequence[Filling]) -> int:
        """How many places of those there in both plans an answer changes."""
        return sum(
            1
            for old, filling in zip(self.old, answer, strict=True)
            for player, slot in filling.items()
            if old.get(player, slot) != slot
        )

    def place(self, number: int, player: str, slot: Slot) -> Place:
        """A slot as it stands in the plan."""
        turn = self.filled[number].turn
        side = None if slot.side is None else self._names[turn.session][slot.side]
        group = self._group[player, turn.session]
        return Place(player=player, group=group, area=slot.area, side=side, role=slot.role)

    def laid(self, booked: WeekPlan, answer: Sequence[Filling]) -> WeekPlan:
        """A booked week with the ring's places as in an answer."""
        places = {
            self.filled[number].turn.key: [self.place(number, player, slot) for player, slot in filling.items()]
            for number, filling in enumerate(answer)
        }
        return with_places(self.club, booked, places)
