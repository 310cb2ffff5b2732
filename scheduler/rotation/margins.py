"""Whether two players may change roles for a stretch of the week without passing a bound at any whistle."""

from __future__ import annotations

from scheduler.rotation.draft import KEEP, SHARED, Draft


class Margins:
    """Everybody's distances from the fair share after every turn of the own week, by role, kept up to date.

    Scaled minutes, as in the draft. Whoever is beyond a bound already is not moved: what was found least stays.
    """

    def __init__(self, draft: Draft) -> None:
        self._scale = draft.scale
        self._full = [lineup.full for lineup in draft.lineups]
        self._bound = draft.bound
        self._place = [{index: place for place, index in enumerate(path)} for path in draft.path]
        self._after = [self._distances(draft, player) for player in range(len(draft.names))]
        self._open = [not draft.walk(player)[0] for player in range(len(draft.names))]

    @staticmethod
    def _distances(draft: Draft, player: int) -> tuple[list[int], list[int], list[int]]:
        now = draft.start[player][: len(SHARED)]
        found: tuple[list[int], list[int], list[int]] = ([], [], [])
        for index in draft.path[player]:
            lineup = draft.lineups[index]
            role = lineup.role[player]
            for shared in SHARED:
                if role != KEEP:
                    now[shared] += (lineup.full if role == shared else 0) - lineup.quota[shared]
                found[shared].append(now[shared])
        return found

    def moved(self, first: int, last: int | None, players: tuple[int, int], roles: tuple[int, int]) -> bool:
        """Let two players change roles from one turn on, up to another where they change back; False: not allowed.

        `first`, `last`: numbers of lineups, in either order; `roles`: who holds what in the first of them. Without
        `last` the counts of the week change: then nobody may end further beyond whole reps than before.
        """
        one, two = players
        if not (self._open[one] and self._open[two]):
            return False
        full = self._full[first]
        if last is not None and last < first:
            first, last, full = last, first, -full
        changes = []
        for player, gone, come in ((one, roles[0], roles[1]), (two, roles[1], roles[0])):
            place, after = self._place[player], self._after[player]
            start, end = place[first], len(place) if last is None else place[last]
            for role, step in ((gone, -full), (come, full)):
                if role in SHARED:
                    stretch, bound = after[role][start:end], self._bound[player][role]
                    if step > 0 and max(stretch) + step > bound or step < 0 and min(stretch) + step < -bound:
                        return False
                    changes.append((player, role, start, end, step))
        if last is None and not self._ends_as_well(changes):
            return False
        for player, role, start, end, step in changes:
            mine = self._after[player][role]
            mine[start:end] = [value + step for value in mine[start:end]]
        return True

    def _ends_as_well(self, changes: list[tuple[int, int, int, int, int]]) -> bool:
        worse: dict[int, int] = {}
        for player, role, _, _, step in changes:
            now, bound = self._after[player][role][-1], self._bound[player][role]
            more = self._beyond(now + step, bound) - self._beyond(now, bound)
            worse[player] = worse.get(player, 0) + more
        return all(more <= 0 for more in worse.values())

    def _beyond(self, value: int, bound: int) -> int:
        """As the draft reckons the end of the week: minutes from the share up to a whole rep count nothing."""
        return abs(value) - bound + self._scale if abs(value) >= bound > 0 else 0
