"""One filling a turn, in order of time, so that bibs, stays in goal and fair shares are kept and few places change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from scheduler.club.people import KeeperPolicy, KeeperStays, KeeperWish
from scheduler.plan.ledger import keeper_stays, policy_of
from scheduler.replan.options import Filling, Option, TooMany, fillings, least_changes
from scheduler.replan.scoreboard import Scoreboard
from scheduler.replan.task import Task, Worn
from scheduler.rotation.setting import FIELD

Fewest = dict[tuple[int, tuple[tuple[str, int], ...]], int | None]  # of a turn with these bibs, kept between searches


class Search:
    """A search with the bibs of all who have some given.

    `fewest` is shared by the searches of one task, `like` is a search of it in almost the same bibs. `steps` counts
    what was tried, `most` is where it gives up.
    """

    def __init__(
        self, task: Task, board: Scoreboard, sides: Mapping[Worn, int], fewest: Fewest, like: Search | None = None
    ) -> None:
        self._task, self._board, self._sides, self._fewest = task, board, sides, fewest
        self.steps = self.most = 0
        self._options: dict[tuple[int, int], list[Option]] = {}
        others = [key for key, side in sides.items() if like is not None and like.sides.get(key) != side]
        self.least: list[int | None] = [
            self._least(number) if like is None or self._touches(number, others) else like.least[number]
            for number in range(len(task.filled))
        ]

    @property
    def sides(self) -> Mapping[Worn, int]:
        """The bibs given."""
        return self._sides

    def _touches(self, number: int, others: list[Worn]) -> bool:
        """Whether anybody of these is in a turn in the bibs of that stay."""
        turn, here = self._task.filled[number]
        stay = self._task.stay(turn)
        return any(player in here and stay == one for player, one in others)

    def _least(self, number: int) -> int | None:
        if number in self._task.locked:
            return 0
        mending = self._task.mending(number, self._sides)
        if number not in self._task.disturbed and not self._changes_bibs(number):
            return 0
        key = (number, tuple(mending.sides.items()))
        if key not in self._fewest:
            self._fewest[key] = least_changes(self._task.club, mending)
        return self._fewest[key]

    def _changes_bibs(self, number: int) -> bool:
        mending = self._task.mending(number, self._sides)
        return any(
            slot.role in FIELD and slot.side is not None and mending.sides.get(player) != slot.side
            for player, slot in mending.old.items()
        )

    @property
    def bound(self) -> int | None:
        """The sum of each turn's fewest changes; None where a turn has no lawful filling with these bibs."""
        found = [number for number in self.least if number is not None]
        return sum(found) if len(found) == len(self.least) else None

    def answers(self, changes: int) -> Iterator[list[Filling]]:
        """Every way through the week with at most so many changes, evenest first. TooMany beyond the steps."""
        spare = changes - (self.bound or 0)
        yield from self._from([], spare, {})

    def _choices(self, number: int, spare: int) -> list[Option]:
        """The fillings of a turn with at most `spare` changes beyond its fewest."""
        if number in self._task.locked:
            return [Option(dict(self._task.old[number]), 0, 0)]
        key = (number, spare)
        if key not in self._options:
            least = self.least[number] or 0
            if spare == 0 and least == 0 and set(self._task.old[number]) == set(self._task.filled[number].here):
                self._options[key] = [Option(dict(self._task.old[number]), 0, 0)]
            else:
                mending = self._task.mending(number, self._sides)
                self._options[key] = fillings(self._task.club, mending, least + spare)
        return self._options[key]

    def _from(self, chosen: list[Filling], spare: int, worn: dict[Worn, int]) -> Iterator[list[Filling]]:
        number = len(chosen)
        if number == len(self._task.filled):
            if self._task.even_at_start(self.worn(chosen), all_known=True):
                yield chosen
            return
        for option in self.lawful(number, spare, worn, chosen):
            booked = self._board.play(number, roles_of(option.filling))
            left = spare - option.changes + (self.least[number] or 0)
            try:
                yield from self._from([*chosen, option.filling], left, {**worn, **self.taken(number, option)})
            finally:
                self._board.take_back(booked)

    def lawful(self, number: int, spare: int, worn: dict[Worn, int], chosen: list[Filling]) -> list[Option]:
        """The options that keep bibs, goals and shares: fewest changes, then sizes as wanted, then the evenest."""
        held = number in self._task.locked
        options = list(self.fitting(number, spare, worn, chosen))
        tried: list[tuple[int, int, float, int]] = []
        for rank, option in enumerate(options):
            self.steps += 1
            if self.steps > self.most:
                raise TooMany
            booked = self._board.play(number, roles_of(option.filling))
            if held or self._board.within(booked):
                tried.append((option.changes, option.odd, self._board.furthest(booked), rank))
            self._board.take_back(booked)
        return [options[rank] for *_, rank in sorted(tried)]

    def fitting(self, number: int, spare: int, worn: Mapping[Worn, int], chosen: list[Filling]) -> Iterator[Option]:
        """The options that keep bibs and stays in goal, with at most `spare` changes beyond the turn's fewest."""
        held = number in self._task.locked
        for option in self._choices(number, spare):
            if any(worn.get(key, side) != side for key, side in self.taken(number, option).items()):
                continue
            if held or self._goal_kept(number, option.filling, chosen):
                yield option

    def taken(self, number: int, option: Option) -> dict[Worn, int]:
        """The bibs that those who had none take with an option."""
        stay = self._task.stay(self._task.filled[number].turn)
        return {
            (player, stay): slot.side
            for player, slot in option.filling.items()
            if slot.role in FIELD and slot.side is not None and (player, stay) not in self._sides
        }

    def worn(self, chosen: list[Filling]) -> dict[Worn, int]:
        """The bibs of everybody who is in the field at least once."""
        return {
            (player, self._task.stay(turn)): slot.side
            for (turn, _), filling in zip(self._task.filled, chosen, strict=True)
            for player, slot in filling.items()
            if slot.role in FIELD and slot.side is not None
        }

    def _before(self, number: int) -> list[int]:
        """The turns with goals just before this one on the way of its groups."""
        turn = self._task.filled[number].turn
        found = []
        for group in turn.groups:
            way = [
                n for n, (other, _) in enumerate(self._task.filled[:number])
                if other.session == turn.session and group in other.groups and other.goals
            ]  # fmt: skip
            found += way[-1:]
        return sorted(set(found))

    def _goal_kept(self, number: int, filling: Filling, chosen: list[Filling]) -> bool:
        """Whether nobody still there is taken out of goal for another before the stay is over."""
        turn, here = self._task.filled[number]
        if not turn.goals:
            return True
        club = self._task.club
        now = [player for player, slot in filling.items() if slot.role == "keep"]
        regulars_first = policy_of(club, here) is KeeperPolicy.REGULARS
        for earlier in self._before(number):
            same_block = self._task.filled[earlier].turn.block == turn.block
            before = [player for player, slot in chosen[earlier].items() if slot.role == "keep"]
            come = [player for player in now if player not in before]
            all_regular = all(club.player(player).keeper is KeeperWish.REGULAR for player in come)
            for player in (p for p in before if p in here and p not in now):
                stays = keeper_stays(club, player)
                goes_on = stays is KeeperStays.SESSION or (stays is KeeperStays.BLOCK and same_block)
                gives_way = regulars_first and club.player(player).keeper is KeeperWish.WILLING and all_regular
                if goes_on and come and not gives_way:
                    return False
        return True


def roles_of(filling: Filling) -> dict[str, str]:
    """Role by player."""
    return {player: slot.role for player, slot in filling.items()}
