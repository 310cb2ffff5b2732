"""Mending what turn by turn could not see: roles of two players of one side exchanged until every bound holds."""

from __future__ import annotations

from random import Random

from scheduler.rotation.draft import Draft, Lineup

WEIGHT_CLASH = 10**18
WEIGHT_OVER = 10**6
FORGET = 7  # steps before the same player may be moved back in the same turn


class Repair:
    """A draft whose excess is being worked off. `cost` of a player: minutes beyond the bounds, then beyond quota."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.cost = [self._of(player) for player in range(len(draft.names))]
        self.clash = [lineup.clashes() if lineup.foes else 0 for lineup in draft.lineups]

    def _of(self, player: int) -> int:
        over, end = self.draft.walk(player)
        return over * WEIGHT_OVER + end // self.draft.scale

    def total(self) -> int:
        """All of it."""
        return sum(self.cost) + WEIGHT_CLASH * sum(self.clash)

    def is_clean(self) -> bool:
        """Whether every bound holds and no two foes share an area."""
        return self.total() < WEIGHT_OVER

    def run(self, steps: int, random: Random) -> bool:
        """Work for so many steps at most, ending on the best state seen; whether all bounds and areas are right."""
        best, kept = self.total(), self._state()
        closed: dict[tuple[int, int], int] = {}
        for step in range(steps):
            if best == 0:
                break
            move = self._best_move(step, closed, best, random)
            if move is None:
                break
            index, one, two = move
            self._exchange(index, one, two)
            closed[index, one] = closed[index, two] = step + FORGET + random.randrange(4)
            if self.total() < best:
                best, kept = self.total(), self._state()
        self._restore(kept)
        return best < WEIGHT_OVER

    def _best_move(
        self, step: int, closed: dict[tuple[int, int], int], best: int, random: Random
    ) -> tuple[int, int, int] | None:
        """The exchange that lowers the cost most (or raises it least), for the worst player or a clashing turn."""
        draft = self.draft
        clashing = [index for index, count in enumerate(self.clash) if count]
        if clashing:
            index = random.choice(clashing)
            foes = dict.fromkeys(p for pair in draft.lineups[index].foes for p in pair)
            asked = [(index, p) for p in foes if p in draft.lineups[index].role]
        else:
            worst = max(self.cost)
            players = [p for p, cost in enumerate(self.cost) if cost == worst]
            player = random.choice(players)
            asked = [(index, player) for index in draft.path[player]]
        now, found = self.total(), []
        for index, one in asked:
            for two in self._partners(draft.lineups[index], one):
                is_closed = max(closed.get((index, one), 0), closed.get((index, two), 0)) > step
                change = self._try(index, one, two)
                if not is_closed or now + change < best:
                    found.append((change, index, one, two))
        return min(found)[1:] if found else None

    def _partners(self, lineup: Lineup, one: int) -> list[int]:
        """Everybody of the same side in another role or area, and in another area's goal none."""
        side = self.draft.sides[lineup.stay]
        place = lineup.role[one], lineup.area.get(one, 0)
        return [
            p
            for p in lineup.field
            if side[p] == side[one]
            and (lineup.role[p], lineup.area.get(p, 0)) != place
            and (lineup.foes or lineup.role[p] != lineup.role[one])
        ]

    def _try(self, index: int, one: int, two: int) -> int:
        lineup = self.draft.lineups[index]
        swap(lineup, one, two)
        change = self._of(one) + self._of(two) - self.cost[one] - self.cost[two]
        if lineup.foes:
            change += WEIGHT_CLASH * (lineup.clashes() - self.clash[index])
        swap(lineup, one, two)
        return change

    def _exchange(self, index: int, one: int, two: int) -> None:
        lineup = self.draft.lineups[index]
        swap(lineup, one, two)
        self.cost[one], self.cost[two] = self._of(one), self._of(two)
        if lineup.foes:
            self.clash[index] = lineup.clashes()

    def _state(self) -> list[tuple[dict[int, int], dict[int, int]]]:
        return [(dict(lineup.role), dict(lineup.area)) for lineup in self.draft.lineups]

    def _restore(self, kept: list[tuple[dict[int, int], dict[int, int]]]) -> None:
        for lineup, (role, area) in zip(self.draft.lineups, kept, strict=True):
            lineup.role, lineup.area = role, area


def swap(lineup: Lineup, one: int, two: int) -> None:
    """Let two players change roles and areas in one turn."""
    role, area = lineup.role, lineup.area
    role[one], role[two] = role[two], role[one]
    first, second = area.pop(one, None), area.pop(two, None)
    if second is not None:
        area[one] = second
    if first is not None:
        area[two] = first
