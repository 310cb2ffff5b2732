"""Mending what turn by turn could not see: two players exchanged in a turn, or for a whole session.

In a turn two of one side change roles; for a session two with the same presence change everything: side, roles, goal.
Neither changes any size, so no share moves.
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from typing import NamedTuple

from scheduler.plan.ledger import keeper_stays
from scheduler.rotation.draft import ATTACK, DEFEND, KEEP, REST, Draft, Goal, Lineup
from scheduler.rotation.sizes import Split, splits

WEIGHT_CLASH = 10**18
WEIGHT_OVER = 10**6
FLIPS = 3  # turns a step in which other sizes are tried
ANYBODY = 0.4  # how often somebody beyond a bound is taken who is not the worst
FORGET = 7  # steps before the same player may be moved again in the same place

State = tuple[
    list[tuple[dict[int, int], dict[int, int], dict[int, Goal], tuple[int, ...], tuple[int, int, int]]],
    list[dict[int, int]],
]


class _Move(NamedTuple):
    """Exchange `one` and `two` in a lineup (`session` -1), or in all lineups of a session.

    `session` -2: `one` attacks instead of defending or the other way round in a lineup, and `two` (not -1) likewise.
    """

    change: int
    session: int
    turn: int
    one: int
    two: int


class Repair:
    """A draft whose excess is being worked off. `cost` of a player: minutes beyond the bounds, then beyond quota."""

    def __init__(self, draft: Draft, *, wanted: bool = True) -> None:
        self.draft, self._wanted = draft, wanted
        self._reckon()
        self._sessions = [
            tuple(i for i, lineup in enumerate(draft.lineups) if lineup.turn.session == setting.session)
            for setting in draft.ring.sessions
        ]
        self._kind = [
            (draft.club.player(name).keeper, keeper_stays(draft.club, name), draft.club.player(name).team)
            for name in draft.names
        ]

    def _reckon(self) -> None:
        self.cost = [self._of(player) for player in range(len(self.draft.names))]
        self.clash = [lineup.clashes() if lineup.foes else 0 for lineup in self.draft.lineups]

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
        best, kept = self.total(), self.state()
        closed: dict[tuple[int, int, int], int] = {}
        for step in range(steps):
            if best == 0:
                break
            move = self._best_move(step, closed, best, random)
            if move is None:
                break
            self._make(move)
            for player in (move.one, move.two):
                closed[move.session, move.turn, player] = step + FORGET + random.randrange(4)
            if self.total() < best:
                best, kept = self.total(), self.state()
        self.restore(kept)
        return best < WEIGHT_OVER

    def _best_move(self, step: int, closed: dict[tuple[int, int, int], int], best: int, random: Random) -> _Move | None:
        """The exchange that lowers the cost most (or raises it least), for the worst player or a clashing turn."""
        now, found = self.total(), []
        for move in self._moves(random):
            key = move.session, move.turn
            is_closed = max(closed.get((*key, move.one), 0), closed.get((*key, move.two), 0)) > step
            if not is_closed or now + move.change < best:
                found.append(move)
        return min(found) if found else None

    def _moves(self, random: Random) -> Iterator[_Move]:
        draft = self.draft
        clashing = [index for index, count in enumerate(self.clash) if count]
        if clashing:
            index = random.choice(clashing)
            lineup = draft.lineups[index]
            asked = [(index, p) for p in dict.fromkeys(p for pair in lineup.foes for p in pair)]
        else:
            player = self._asked(random)
            asked = [(index, player) for index in draft.path[player]]
            for session in range(len(self._sessions)):
                for other in self._doubles(session, player):
                    yield self._weigh_session(session, player, other)
        for index, one in asked:
            for two in self._partners(draft.lineups[index], one):
                yield self._weigh_turn(index, one, two)
        for index, one in random.sample(asked, min(len(asked), FLIPS)):
            for two in self._flips(draft.lineups[index], one):
                yield self._weigh_flip(index, one, two)

    def _asked(self, random: Random) -> int:
        """Whose places are to be changed: the worst of all, now and then anybody who is beyond a bound."""
        over = [p for p, cost in enumerate(self.cost) if cost >= WEIGHT_OVER]
        if over and random.random() < ANYBODY:
            return random.choice(over)
        worst = max(self.cost)
        return random.choice([p for p, cost in enumerate(self.cost) if cost == worst])

    def _partners(self, lineup: Lineup, one: int) -> list[int]:
        """Everybody of the same side in another role, or where areas matter in another area."""
        side = self.draft.sides[lineup.stay]
        if one not in lineup.role or lineup.role[one] == KEEP:
            return []
        place = lineup.role[one], lineup.area.get(one, 0)
        return [
            p
            for p in lineup.field
            if side[p] == side[one]
            and (lineup.role[p], lineup.area.get(p, 0)) != place
            and (lineup.foes or lineup.role[p] != lineup.role[one])
        ]

    def _flips(self, lineup: Lineup, one: int) -> list[int]:
        """With whom (-1: alone) a player may change between attack and defence so that the sizes stay lawful."""
        role, side = lineup.role, self.draft.sides[lineup.stay]
        if role.get(one) not in (ATTACK, DEFEND):
            return []
        others = [p for p in lineup.field if side[p] != side[one] and role[p] == ATTACK + DEFEND - role[one]]
        found = []
        for two in (-1, *others[:1]):
            self._flip(lineup, one, two)
            split = self._split(lineup)
            self._flip(lineup, one, two)
            if split is not None:
                found += [two] if two < 0 else others
        return found

    def _flip(self, lineup: Lineup, one: int, two: int) -> None:
        for player in (one, two):
            if player >= 0:
                lineup.role[player] = ATTACK + DEFEND - lineup.role[player]

    def _split(self, lineup: Lineup) -> Split | None:
        """The split that a lineup's roles make, if it is one of those allowed."""
        side = self.draft.sides[lineup.stay]
        counts = [[0, 0], [0, 0], [0, 0], [0, 0]]
        for player in lineup.field:
            counts[lineup.role[player]][side[player]] += 1
        second = sum(row[1] for row in counts)
        found = splits(lineup.shape, len(lineup.field) - second, second)
        for split in found:
            if self._wanted and split.off > found[0].off:
                break
            if [*split.attack, *split.defend, *split.rest] == [*counts[ATTACK], *counts[DEFEND], *counts[REST]]:
                return split
        return None

    def _weigh_flip(self, index: int, one: int, two: int) -> _Move:
        lineup = self.draft.lineups[index]
        quota, area = lineup.quota, lineup.area
        self._set_flip(lineup, one, two)
        change = sum(self._of(p) - self.cost[p] for p in lineup.field)
        if lineup.foes:
            change += WEIGHT_CLASH * (lineup.clashes() - self.clash[index])
        self._flip(lineup, one, two)
        lineup.quota, lineup.area = quota, area
        return _Move(change, -2, index, one, two)

    def _set_flip(self, lineup: Lineup, one: int, two: int) -> None:
        self._flip(lineup, one, two)
        split = self._split(lineup)
        assert split is not None
        self.draft.share_out(lineup, split)
        self.draft.settle_areas(lineup)

    def _doubles(self, session: int, one: int) -> list[int]:
        """Everybody who is there in the same turns of a session, and may keep goal where one of the two does."""
        lineups = [self.draft.lineups[index] for index in self._sessions[session]]
        found = []
        for two in range(len(self.draft.names)):
            if two == one or any((one in lineup.role) != (two in lineup.role) for lineup in lineups):
                continue
            mine = [lineup for lineup in lineups if one in lineup.role]
            goal = any(KEEP in (lineup.role[one], lineup.role[two]) for lineup in mine)
            if mine and (not goal or self._kind[one] == self._kind[two]):
                found.append(two)
        return found

    def _weigh_turn(self, index: int, one: int, two: int) -> _Move:
        lineup = self.draft.lineups[index]
        swap(lineup, one, two)
        change = self._of(one) + self._of(two) - self.cost[one] - self.cost[two]
        if lineup.foes:
            change += WEIGHT_CLASH * (lineup.clashes() - self.clash[index])
        swap(lineup, one, two)
        return _Move(change, -1, index, one, two)

    def _weigh_session(self, session: int, one: int, two: int) -> _Move:
        apart = self._side_faults(session)
        self._trade(session, one, two)
        change = self._of(one) + self._of(two) - self.cost[one] - self.cost[two]
        change += WEIGHT_CLASH * (self._side_faults(session) - apart)
        for index in self._sessions[session]:
            if self.draft.lineups[index].foes:
                change += WEIGHT_CLASH * (self.draft.lineups[index].clashes() - self.clash[index])
        self._trade(session, one, two)
        return _Move(change, session, 0, one, two)

    def _side_faults(self, session: int) -> int:
        """How many pairs to be kept apart wear one side in a session."""
        draft = self.draft
        stays = dict.fromkeys(draft.lineups[index].stay for index in self._sessions[session]) if draft.apart else ()
        sides = [draft.sides[stay] for stay in stays]
        return sum(one in s and two in s and s[one] == s[two] for s in sides for one, two in draft.apart)

    def _make(self, move: _Move) -> None:
        indices = (move.turn,) if move.session < 0 else self._sessions[move.session]
        touched: tuple[int, ...] = (move.one, move.two)
        if move.session == -1:
            swap(self.draft.lineups[move.turn], move.one, move.two)
        elif move.session == -2:
            self._set_flip(self.draft.lineups[move.turn], move.one, move.two)
            touched = self.draft.lineups[move.turn].field
        else:
            self._trade(move.session, move.one, move.two)
        for player in touched:
            self.cost[player] = self._of(player)
        for index in indices:
            if self.draft.lineups[index].foes:
                self.clash[index] = self.draft.lineups[index].clashes()

    def _trade(self, session: int, one: int, two: int) -> None:
        """Let two players change everything they do in a session."""
        draft = self.draft
        other = {one: two, two: one}
        stays: dict[int, None] = {}
        for index in self._sessions[session]:
            lineup = draft.lineups[index]
            if one in lineup.role:
                stays[lineup.stay] = None
                swap(lineup, one, two)
                if one in lineup.keepers or two in lineup.keepers:
                    lineup.keepers = {other.get(p, p): goal for p, goal in lineup.keepers.items()}
                    lineup.field = tuple(p for p in lineup.here if p not in lineup.keepers)
        for stay in stays:
            sides = draft.sides[stay]
            first, second = sides.pop(one, None), sides.pop(two, None)
            if second is not None:
                sides[one] = second
            if first is not None:
                sides[two] = first

    def state(self) -> State:
        """Everything that moves change, to be restored."""
        draft = self.draft
        held = [(dict(one.role), dict(one.area), dict(one.keepers), one.field, one.quota) for one in draft.lineups]
        return held, [dict(sides) for sides in draft.sides]

    def restore(self, kept: State) -> None:
        """Put back what `state` gave."""
        held, sides = kept
        for lineup, (role, area, keepers, field, quota) in zip(self.draft.lineups, held, strict=True):
            lineup.role, lineup.area, lineup.keepers, lineup.field = role, area, keepers, field
            lineup.quota = quota
        self.draft.sides = sides
        self._reckon()


def swap(lineup: Lineup, one: int, two: int) -> None:
    """Let two players change roles and areas in one turn."""
    role, area = lineup.role, lineup.area
    role[one], role[two] = role[two], role[one]
    first, second = area.pop(one, None), area.pop(two, None)
    if second is not None:
        area[one] = second
    if first is not None:
        area[two] = first
