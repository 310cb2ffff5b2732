"""Every course that somebody's roles can take through some sessions within the fairness bounds, for each kind of child.

Children are of one kind where any of them could do what another does: there in the same turns, with the same start,
bounds and shares in goal. A course is a way through a graph whose nodes say how far the child then is from the shares;
how many children of a kind take each arc is all that fairness asks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from scheduler.rotation.distances import KEPT
from scheduler.rotation.draft import ATTACK, DEFEND, KEEP, PLAY, REST, SHARED, Draft, Lineup

NO_SIDE = -1
Total = tuple[int, int, int]  # how many attack, defend and rest in a turn, both sides together


class Node(NamedTuple):
    """Where a child stands between two turns: the bibs on, if any yet, and the scaled distances from the shares."""

    side: int
    away: tuple[int, ...]


class Arc(NamedTuple):
    """One turn of a course. `total`: of somebody chosen for goal, with which of the turn's totals."""

    before: Node
    role: int
    side: int
    total: int
    after: Node


@dataclass
class Kind:
    """Players of one kind, where they start, the turns they are in, and the arcs of each turn.

    Distances are reckoned with the first totals of every turn. Where a turn has others, all shares in the field move
    alike: after each turn by at least `least` and at most `most`. Whoever is in goal instead is moved the other way.
    """

    players: tuple[int, ...]
    path: tuple[int, ...]
    start: tuple[int, ...]
    arcs: dict[int, list[Arc]] = field(default_factory=dict)
    least: dict[int, tuple[int, ...]] = field(default_factory=dict)
    most: dict[int, tuple[int, ...]] = field(default_factory=dict)


class Courses:
    """Draws the graph of one kind.

    `totals`: those that the splits of each turn can have; `most`: scaled minutes of excess allowed; `goals`: what may
    be done about goals in a turn, 0 (not in goal), 1 (in goal) or either.
    """

    def __init__(
        self,
        draft: Draft,
        kind: Kind,
        totals: dict[int, list[Total]],
        most: int,
        goals: Callable[[int, int], tuple[int, ...]],
    ) -> None:
        self._draft, self._kind, self._totals, self._most, self._goals = draft, kind, totals, most, goals
        self._player = kind.players[0]
        low, high = [0] * (KEPT + 1), [0] * (KEPT + 1)
        for index in kind.path:
            if 0 in goals(index, self._player):
                for role in played(draft.lineups[index]):
                    numbers = range(len(totals[index]))
                    moves = [moved_share(draft.lineups[index], totals[index], number, role) for number in numbers]
                    low[role] += min(moves, default=0)
                    high[role] += max(moves, default=0)
            kind.least[index], kind.most[index] = tuple(low), tuple(high)

    def draw(self, largest: int) -> bool:
        """Give the kind its arcs; whether there are no more than `largest`."""
        kind, count = self._kind, 0
        layer = {Node(NO_SIDE, kind.start)}
        for place, index in enumerate(kind.path):
            then = kind.path[place + 1] if place + 1 < len(kind.path) else None
            kind.arcs[index] = [arc for node in sorted(layer) for arc in self._leaving(node, index, then)]
            layer = {arc.after for arc in kind.arcs[index]}
            count += len(kind.arcs[index])
            if count > largest:
                return False
        self._prune(layer)
        return True

    def _prune(self, reached: set[Node]) -> None:
        """Drop arcs from which no course leads to the end."""
        for index in reversed(self._kind.path):
            self._kind.arcs[index] = [arc for arc in self._kind.arcs[index] if arc.after in reached]
            reached = {arc.before for arc in self._kind.arcs[index]}

    def _leaving(self, node: Node, index: int, then: int | None) -> Iterator[Arc]:
        lineups = self._draft.lineups
        lineup, bibs_stay = lineups[index], then is not None and lineups[then].stay == lineups[index].stay
        choices = self._goals(index, self._player) if self._totals[index] else ()
        roles = (PLAY, REST) if lineup.shape.game else (ATTACK, DEFEND, REST)
        for role in (*(roles if 0 in choices else ()), *((KEEP,) if 1 in choices else ())):
            sides = (node.side,) if role == KEEP or node.side != NO_SIDE else (0, 1)
            chosen = role == KEEP and 0 in choices
            for number in range(len(self._totals[index]) if chosen else 1):
                away = self._moved(node.away, index, role, number)
                if away is not None:
                    for side in sides:
                        yield Arc(node, role, side, number, Node(side if bibs_stay else NO_SIDE, away))

    def _moved(self, away: tuple[int, ...], index: int, role: int, number: int) -> tuple[int, ...] | None:
        """The distances after a turn; None where one that changed must be too far beyond its bound."""
        lineup, now, bounds = self._draft.lineups[index], list(away), self._draft.bound[self._player]
        least, most = self._kind.least[index], self._kind.most[index]
        changed: list[int] = []
        if lineup.goal_share:
            now[KEPT] += lineup.full * (role == KEEP) - lineup.goal_share.get(self._player, 0)
            changed.append(KEPT)
        for shared in played(lineup):
            if role == KEEP:
                now[shared] += moved_share(lineup, self._totals[index], number, shared)
            else:
                now[shared] += lineup.full * (role == shared) - each_share(lineup) * self._totals[index][0][shared]
                changed.append(shared)
        room = {one: bounds[one] + self._most for one in changed}
        if any(now[one] - most[one] > room[one] or least[one] - now[one] > room[one] for one in changed):
            return None
        return tuple(now)


def played(lineup: Lineup) -> tuple[int, ...]:
    """The roles that are shared out among those in the field of a turn."""
    return (REST,) if lineup.shape.game else SHARED


def each_share(lineup: Lineup) -> int:
    """What falls to each in the field of every place of a turn, in scaled minutes."""
    return lineup.full // ((len(lineup.here) - lineup.turn.goals) or 1)


def moved_share(lineup: Lineup, totals: list[Total], number: int, role: int) -> int:
    """By how much a share differs with these totals of a turn from what it is with the first."""
    return each_share(lineup) * (totals[number][role] - totals[0][role])
