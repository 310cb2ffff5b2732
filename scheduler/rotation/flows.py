"""In a counts model: children of one kind taken together, as how many of them take each arc of their courses.

Nothing then tells alike children apart, whatever is beyond the bounds is not in the model at all, and the linear
relaxation of a flow is nearly whole. Children who are kept apart from somebody, or whose graph would be too large
(keepers chosen turn by turn), are left to the model as single ones.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from scheduler.club.people import KeeperPolicy, KeeperStays
from scheduler.plan.ledger import keeper_stays, policy_of
from scheduler.rotation.courses import NO_SIDE, Arc, Courses, Kind, Node, Total, moved_share, played
from scheduler.rotation.distances import KEPT
from scheduler.rotation.draft import KEEP

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpSolver, IntVar

    from scheduler.rotation.counts import CountsModel, Linear

Mates = dict[tuple[int, int], set[int]]  # by stay and side
LARGEST_GRAPH = 3_000  # arcs of one kind


class Flows:
    """The kinds of a counts model that are taken together, within an excess of `most` scaled minutes."""

    def __init__(self, counts: CountsModel, most: int | None) -> None:
        self._counts, self._most = counts, most or 0
        self._totals = {index: self._literals(index) for index in counts.indices}
        totals = {index: self.totals(index) for index in counts.indices}
        self.kinds = [
            kind
            for kind in self._alike()
            if most is not None and Courses(counts.draft, kind, totals, most, self._goals).draw(LARGEST_GRAPH)
        ]
        self.players = frozenset(player for kind in self.kinds for player in kind.players)
        self._taken: dict[int, list[tuple[Kind, Arc, IntVar]]] = {index: [] for index in counts.indices}
        for number, kind in enumerate(self.kinds):
            self._make(number, kind)

    def _literals(self, index: int) -> dict[Total, Linear]:
        """For each of a turn's totals (attack, defend, rest) what is 1 where the split that is chosen has them."""
        found: dict[Total, Linear] = {}
        for split, literal in self._counts.chosen[index]:
            total = sum(split.attack), sum(split.defend), sum(split.rest)
            found[total] = found.get(total, 0) + literal
        return found

    def _goals(self, index: int, player: int) -> tuple[int, ...]:
        if player in self._counts.may_keep(index):
            return (0, 1)
        return (int(player in self._counts.draft.lineups[index].keepers),)

    def _alike(self) -> list[Kind]:
        """The players by kind, but for those who must be told apart."""
        counts = self._counts
        draft, inside = counts.draft, set(counts.indices)
        foes = [pair for lineup in draft.lineups for pair in lineup.foes]
        told = {player for pair in (*foes, *draft.apart) for player in pair}
        found: dict[object, list[int]] = {}
        for player, name in enumerate(draft.names):
            path = tuple(index for index in draft.path[player] if index in inside)
            if not path or player in told or not all(self._free(index, player) for index in path):
                continue
            groups = tuple(draft.group(name, one.session) for one in draft.ring.sessions)
            goals = tuple((draft.lineups[i].goal_share.get(player, 0), self._goals(i, player)) for i in path)
            key = path, tuple(counts.start[player]), tuple(draft.bound[player]), goals, groups
            found.setdefault(key, []).append(player)
        kinds = []
        for players in found.values():
            path = tuple(index for index in draft.path[players[0]] if index in inside)
            kinds.append(Kind(tuple(players), path, tuple(counts.start[players[0]])))
        return kinds

    def _free(self, index: int, player: int) -> bool:
        """Whether no rule but the number of goals says when somebody may be in goal in a turn."""
        counts = self._counts
        may, draft = counts.may_keep(index), counts.draft
        if player not in may:
            return True
        names = [draft.names[p] for p in draft.lineups[index].here]
        wishes = {draft.club.player(draft.names[p]).keeper for p in may}
        if policy_of(draft.club, names) is KeeperPolicy.REGULARS and len(wishes) > 1:
            return False
        return all(keeper_stays(draft.club, draft.names[p]) is KeeperStays.REP for p in may)

    def _make(self, number: int, kind: Kind) -> None:
        """Whoever comes to a node leaves it, and all reckon with the totals that are chosen."""
        model, many = self._counts.model, len(kind.players)
        coming: dict[Node, Linear] = {Node(NO_SIDE, kind.start): many}
        for index in kind.path:
            leaving: dict[Node, Linear] = {}
            then: dict[Node, Linear] = {}
            by_total: list[Linear] = [0] * len(self._totals[index])
            for place, arc in enumerate(kind.arcs[index]):
                taken = model.new_int_var(0, many, f"kind[{number}|{index}|{place}]")
                self._taken[index].append((kind, arc, taken))
                leaving[arc.before] = leaving.get(arc.before, 0) + taken
                then[arc.after] = then.get(arc.after, 0) + taken
                if arc.role == KEEP:
                    by_total[arc.total] = by_total[arc.total] + taken
            for node in dict.fromkeys((*coming, *leaving)):
                model.add(coming.get(node, 0) == leaving.get(node, 0))
            for literal, in_goal in zip(self._totals[index].values(), by_total, strict=True):
                if len(by_total) > 1 and not (isinstance(in_goal, int) or self._goals(index, kind.players[0]) == (1,)):
                    model.add(in_goal <= min(many, self._counts.draft.lineups[index].turn.goals) * literal)
            coming = then

    def arcs(self, index: int) -> list[tuple[Kind, Arc, IntVar]]:
        """Every arc of a turn, with its kind and how many take it."""
        return self._taken[index]

    def totals(self, index: int) -> list[Total]:
        """How many may attack, defend and rest in a turn; distances are reckoned with the first."""
        return list(self._totals[index])

    def numbers(self, index: int) -> dict[tuple[int, int], Linear]:
        """How many of them have a role on a side in a turn; in goal: on side 0."""
        found: dict[tuple[int, int], Linear] = {}
        for _, arc, taken in self._taken[index]:
            key = (KEEP, 0) if arc.role == KEEP else (arc.role, arc.side)
            found[key] = found.get(key, 0) + taken
        return found

    def ahead(self, indices: Iterable[int], mates: Iterable[int]) -> Linear:
        """How many more of these players take the bibs of the second side than of the first in a stay's turns."""
        among = set(mates)
        found: Linear = 0
        for index in indices:
            for kind, arc, taken in self._taken[index]:
                if kind.players[0] in among and arc.role != KEEP and arc.before.side == NO_SIDE:
                    found = found + (2 * arc.side - 1) * taken
        return found

    def hold_within(self, *, lessen: bool) -> None:
        """Nobody where the distance from the share is beyond its bound and the model's excess (or the most allowed)."""
        excess = self._counts.excess if lessen else self._most
        beyond: dict[int, IntVar] = {}
        for kind in self.kinds:
            moved: list[Linear] = [0] * (KEPT + 1)
            for index in kind.path:
                self._move(kind, index, moved)
                for role, at in self._standing(kind, index).items():
                    bound = self._counts.draft.bound[kind.players[0]][role]
                    for sign in (1, -1):
                        least = kind.least[index][role] if sign == 1 else -kind.most[index][role]
                        room = bound + (0 if lessen else self._most)
                        far = {sign * away: taken for away, taken in at.items() if sign * away - least > room}
                        self._hold(kind, far, bound, sign * moved[role], excess, beyond)

    def _move(self, kind: Kind, index: int, moved: list[Linear]) -> None:
        """Add by how much the shares differ from those of the first totals of one more turn."""
        lineup, totals = self._counts.draft.lineups[index], self.totals(index)
        if 0 in self._goals(index, kind.players[0]):
            for role in played(lineup):
                for place, literal in enumerate(self._totals[index].values()):
                    more = moved_share(lineup, totals, place, role)
                    if more:
                        moved[role] = moved[role] + more * literal

    def _standing(self, kind: Kind, index: int) -> dict[int, dict[int, Linear]]:
        """For each role that a turn moves how many of a kind come to each distance."""
        lineup = self._counts.draft.lineups[index]
        in_field, in_goal = played(lineup), (KEPT,) if lineup.goal_share else ()
        found: dict[int, dict[int, Linear]] = {role: {} for role in (*in_field, *in_goal)}
        for one, arc, taken in self._taken[index]:
            for role in in_goal if arc.role == KEEP else (*in_field, *in_goal):
                if one is kind:
                    away = arc.after.away[role]
                    found[role][away] = found[role].get(away, 0) + taken
        return found

    def _hold(
        self,
        kind: Kind,
        far: dict[int, Linear],
        bound: int,
        moved: Linear,
        excess: Linear,
        beyond: dict[int, IntVar],
    ) -> None:
        """Nobody so far from the share unless the shares have moved that way, or the excess is as large."""
        model, before = self._counts.model, None
        for away in sorted(far):
            if isinstance(moved, int) and away - bound in beyond:
                there = beyond[away - bound]
            else:
                there = model.new_bool_var("there")
                model.add(away - moved - excess <= bound).only_enforce_if(there)
                if isinstance(moved, int):
                    beyond[away - bound] = there
            model.add(far[away] <= len(kind.players) * there)
            if before is not None:
                model.add_implication(there, before)
            before = there

    def read(self, solver: CpSolver) -> dict[tuple[int, int], tuple[int, int]]:
        """For each (turn, player) of them the role and side.

        Who of those that stand alike takes which arc is free: with new bibs, whoever shared a side least with those on
        it so far, in the ring's order.
        """
        counts, mates = self._counts, self._mates(solver)
        found: dict[tuple[int, int], tuple[int, int]] = {}
        waiting = [{Node(NO_SIDE, kind.start): list(kind.players)} for kind in self.kinds]
        for index in counts.indices:
            stay = counts.draft.lineups[index].stay
            for number, kind in enumerate(self.kinds):
                if index not in kind.arcs:
                    continue
                then: dict[Node, list[int]] = {}
                arcs = [(arc, solver.value(taken)) for one, arc, taken in self._taken[index] if one is kind]
                for player, arc in _dealt(waiting[number], arcs, mates, stay):
                    found[index, player] = arc.role, arc.side
                    then.setdefault(arc.after, []).append(player)
                    if arc.role != KEEP and arc.before.side == NO_SIDE:
                        mates.setdefault((stay, arc.side), set()).add(player)
                waiting[number] = then
        return found

    def _mates(self, solver: CpSolver) -> Mates:
        """Who has which bibs on in each stay: in earlier sessions, and in these whoever is not of a kind."""
        draft = self._counts.draft
        mates: Mates = {}
        inside = {draft.lineups[index].stay for index in self._counts.indices}
        first = min(inside)
        for stay, sides in enumerate(draft.sides[:first]):
            for player, side in sides.items():
                mates.setdefault((stay, side), set()).add(player)
        for (stay, player), literal in self._counts.own.items():
            mates.setdefault((stay, int(solver.boolean_value(literal))), set()).add(player)
        return mates


def _dealt(
    waiting: dict[Node, list[int]], arcs: list[tuple[Arc, int]], mates: Mates, stay: int
) -> Iterator[tuple[int, Arc]]:
    """An arc for everybody who waits at a node: as many take each as the model says."""
    for node, players in waiting.items():
        left = {arc: taken for arc, taken in arcs if taken and arc.before == node}
        on = {side: set(mates.get((stay, side), ())) for side in (0, 1)}
        for player in sorted(players):
            shared = [others for others in mates.values() if player in others]
            again = [sum(len(others & on[side]) for others in shared) for side in (0, 1)]
            arc = min(left, key=lambda one: again[one.side] if one.role != KEEP and node.side == NO_SIDE else 0)
            yield player, arc
            if node.side == NO_SIDE and arc.role != KEEP:
                on[arc.side].add(player)
            left[arc] -= 1
            if not left[arc]:
                del left[arc]
