"""Mend a rotation in milliseconds: fill from rest, let a child who comes in, change nothing else. No solver.

Turn by turn every lawful filling with the fewest changes is known; a search in order of time takes one a turn so that
everybody stays within one rep of the fair share at every whistle. What comes out is the least number of changes when
it meets the bound: the sum of each turn's least, where a change of bibs or group could not do better. Where it is not
shown to be least, nothing is returned and the exact model takes over.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, KeeperStays, KeeperWish
from scheduler.plan.ledger import keeper_stays, policy_of
from scheduler.plan.plan import Place, WeekPlan
from scheduler.plan.timeline import station_of, timeline
from scheduler.replan.options import Filling, Mending, Option, TooMany, cheapest
from scheduler.replan.scoreboard import Filled, Scoreboard
from scheduler.rotation.setting import FIELD, Ring, Turn, with_places
from scheduler.rotation.slots import Slot, Stay, places_at

MOST_STEPS = 4000
MOST_ANSWERS = 12


@dataclass(frozen=True)
class Repaired:
    """A plan with one ring mended; `changes` is the least number of places changed."""

    plan: WeekPlan
    changes: int


def repair(
    club: Club,
    before: WeekPlan,
    booked: WeekPlan,
    ring: Ring,
    locked: frozenset[int],
    lawful: Callable[[WeekPlan], bool],
) -> Repaired | None:
    """`booked` with the ring's places mended from those of `before`; None where that is not shown to be the least.

    `ring` is one of `booked`, `locked` the indices of turns that stay as they were, `lawful` the audit of all rules.
    """
    task = _Task(club, before, ring, locked)
    try:
        return task.solve(booked, lawful)
    except TooMany:
        return None


class _Task:
    def __init__(self, club: Club, before: WeekPlan, ring: Ring, locked: frozenset[int]) -> None:
        self.club, self.ring, self.locked = club, ring, locked
        self.names = {setting.session: setting.sides for setting in ring.sessions}
        self.was = {turn.index: {p.player: p for p in places_at(before, turn)} for turn in ring.turns}
        self.group = self._groups()
        self.layout = {setting.session: timeline(club, setting.session) for setting in ring.sessions}
        self.filled = [Filled(turn, self._here(turn)) for turn in ring.turns]
        self.sides = self._sides()
        self.steps = 0

    def _groups(self) -> dict[tuple[str, str], int]:
        """The group of everybody in every session; whoever comes newly goes to the smallest group."""
        found: dict[tuple[str, str], int] = {}
        for turn in self.ring.turns:
            for player, place in self.was[turn.index].items():
                found.setdefault((player, turn.session), place.group)
        for setting in self.ring.sessions:
            there = {player for turn in self.ring.turns_of(setting.session) for player in turn.there}
            for player in (p for p in setting.players if p in there and (p, setting.session) not in found):
                sizes = [
                    (sum(1 for q in there if found.get((q, setting.session)) == g), g)
                    for g in range(1, setting.groups + 1)
                ]
                found[player, setting.session] = min(sizes)[1]
        return found

    def _here(self, turn: Turn) -> tuple[str, ...]:
        block = self.layout[turn.session][turn.block - 1]
        return tuple(p for p in turn.there if station_of(block, self.group[p, turn.session]) == turn.station)

    def _stay(self, turn: Turn) -> Stay:
        by_block = self.ring.setting(turn.session).bibs_stay == "block"
        return Stay(turn.session, turn.block if by_block else 0)

    def _sides(self) -> dict[tuple[str, Stay], int]:
        """The bibs everybody wears, by the first place in the field."""
        found: dict[tuple[str, Stay], int] = {}
        for turn in self.ring.turns:
            for player, place in self.was[turn.index].items():
                if place.role in FIELD and place.side in self.names[turn.session]:
                    found.setdefault((player, self._stay(turn)), self.names[turn.session].index(place.side))
        return found

    def _slot(self, place: Place, turn: Turn) -> Slot | None:
        names = self.names[turn.session]
        if place.group != self.group[place.player, turn.session]:
            return None
        return Slot(place.role, place.area, names.index(place.side) if place.side in names else None)

    def _old(self, number: int) -> dict[str, Slot]:
        turn, here = self.filled[number]
        slots = {player: self._slot(place, turn) for player, place in self.was[turn.index].items() if player in here}
        return {player: slot for player, slot in slots.items() if slot is not None}

    def _is_free_of_change(self, number: int) -> bool:
        turn, here = self.filled[number]
        return set(self._old(number)) == set(here) == set(self.was[turn.index])

    def _options(self, number: int) -> list[Option]:
        turn, here = self.filled[number]
        if turn.index in self.locked or self._is_free_of_change(number):
            return [Option(self._old(number), 0, 0)]
        stay = self._stay(turn)
        sides = {player: self.sides[player, stay] for player in here if (player, stay) in self.sides}
        return cheapest(self.club, Mending(turn, here, self._old(number), sides))

    def _dearer(self) -> int:
        """The fewest changes when somebody changes bibs or group: all open places in the field of one stay."""
        open_places: dict[tuple[str, Stay], int] = dict.fromkeys(self.sides, 0)
        held: set[tuple[str, Stay]] = set()
        for number, (turn, _) in enumerate(self.filled):
            for player, slot in self._old(number).items():
                key = (player, self._stay(turn))
                if slot.role in FIELD and key in open_places:
                    open_places[key] += 1
                    if turn.index in self.locked:
                        held.add(key)
        counts = [count for key, count in open_places.items() if key not in held and count]
        return min(counts, default=10**9)

    def solve(self, booked: WeekPlan, lawful: Callable[[WeekPlan], bool]) -> Repaired | None:
        options = [self._options(number) for number in range(len(self.filled))]
        if not all(options):
            return None
        bound = sum(choices[0].changes for choices in options)
        if bound > self._dearer() or not all(
            set(self._old(number)) == set(here)
            for number, (turn, here) in enumerate(self.filled)
            if turn.index in self.locked
        ):
            return None
        board = Scoreboard(self.club, self.ring, self.filled)
        for _, answer in zip(range(MOST_ANSWERS), self._search(options, board, {}, []), strict=False):
            plan = with_places(self.club, booked, {
                turn.key: [self._place(turn, player, slot) for player, slot in answer[number].items()]
                for number, (turn, _) in enumerate(self.filled)
            })  # fmt: skip
            if lawful(plan):
                return Repaired(plan, bound)
        return None

    def _place(self, turn: Turn, player: str, slot: Slot) -> Place:
        side = None if slot.side is None else self.names[turn.session][slot.side]
        group = self.group[player, turn.session]
        return Place(player=player, group=group, area=slot.area, side=side, role=slot.role)

    def _search(
        self, options: list[list[Option]], board: Scoreboard, worn: dict[tuple[str, Stay], int], chosen: list[Filling]
    ) -> Iterator[list[Filling]]:
        """Depth first in order of time, evenest first; `worn` are the sides taken by those who had none."""
        number = len(chosen)
        if number == len(options):
            yield chosen
            return
        turn = self.filled[number].turn
        for option in self._in_order(options[number], board, worn, chosen):
            self.steps += 1
            if self.steps > MOST_STEPS:
                raise TooMany
            booked = board.play(number, roles_of(option.filling))
            wears = {**worn, **self._taken(turn, option)}
            yield from self._search(options, board, wears, [*chosen, option.filling])
            board.take_back(booked)

    def _in_order(
        self, options: list[Option], board: Scoreboard, worn: dict[tuple[str, Stay], int], chosen: list[Filling]
    ) -> list[Option]:
        """The options that keep bibs, stays in goal and fair shares, sizes as wanted first, then the evenest."""
        number = len(chosen)
        turn = self.filled[number].turn
        held = turn.index in self.locked
        tried: list[tuple[int, float, int]] = []
        for rank, option in enumerate(options):
            if any(worn.get(key, side) != side for key, side in self._taken(turn, option).items()):
                continue
            if not held and not self._stays_kept(number, option.filling, chosen):
                continue
            booked = board.play(number, roles_of(option.filling))
            if held or board.within(booked):
                tried.append((option.odd, board.furthest(booked), rank))
            board.take_back(booked)
        return [options[rank] for _, _, rank in sorted(tried)]

    def _taken(self, turn: Turn, option: Option) -> dict[tuple[str, Stay], int]:
        stay = self._stay(turn)
        return {
            (player, stay): slot.side
            for player, slot in option.filling.items()
            if slot.role in FIELD and slot.side is not None and (player, stay) not in self.sides
        }

    def _before(self, number: int) -> list[int]:
        """The turns with goals just before this one on the way of its groups."""
        turn = self.filled[number].turn
        found = []
        for group in turn.groups:
            way = [
                n
                for n, (other, _) in enumerate(self.filled[:number])
                if other.session == turn.session and group in other.groups and other.goals
            ]
            found += way[-1:]
        return sorted(set(found))

    def _stays_kept(self, number: int, filling: Filling, chosen: list[Filling]) -> bool:
        """Whether nobody still there is taken out of goal for another before the stay is over."""
        turn, here = self.filled[number]
        if not turn.goals:
            return True
        now = {player for player, slot in filling.items() if slot.role == "keep"}
        regulars_first = policy_of(self.club, here) is KeeperPolicy.REGULARS
        for earlier in self._before(number):
            same_block = self.filled[earlier].turn.block == turn.block
            before = {player for player, slot in chosen[earlier].items() if slot.role == "keep"}
            for player in (p for p in here if p in before and p not in now):
                stays = keeper_stays(self.club, player)
                goes_on = stays is KeeperStays.SESSION or (stays is KeeperStays.BLOCK and same_block)
                gives_way = regulars_first and self.club.player(player).keeper is KeeperWish.WILLING
                come = [q for q in now if q not in before]
                regular = [q for q in come if self.club.player(q).keeper is KeeperWish.REGULAR]
                if goes_on and come and not (gives_way and len(regular) == len(come)):
                    return False
        return True


def roles_of(filling: Filling) -> dict[str, str]:
    """Role by player."""
    return {player: slot.role for player, slot in filling.items()}
