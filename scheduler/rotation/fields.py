"""How many of each side are in the field, in a counts model: the same from turn to turn while nobody comes or goes.

With the numbers of the two sides chosen once for all such turns, the linear relaxation sees at once what an odd squad
costs; chosen turn by turn it would take half of one way and half of the other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.club.people import KeeperStays
from scheduler.plan.ledger import keeper_stays
from scheduler.rotation.draft import Lineup
from scheduler.rotation.sizes import Split, splits

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.rotation.counts import CountsModel

Key = tuple[int, tuple[int, ...], int]  # stay, who is there, and the first turn with these keepers


class Fields:
    """The numbers of the two sides in the field, one choice for each run of turns with the same children in it."""

    def __init__(self, counts: CountsModel) -> None:
        self._counts = counts
        self._first: dict[int, Lineup] = {}  # of each stay
        self._runs: dict[tuple[int, tuple[int, ...]], tuple[int, int]] = {}
        self._sizes: dict[Key, dict[int, IntVar]] = {}
        self._mirrored = {stay for stay in range(len(counts.draft.stays)) if self._mirrors(stay)}

    def splits_of(self, index: int) -> list[tuple[Split, IntVar]]:
        """The lawful splits of a turn, each with its literal; exactly one holds. Asked in order of time."""
        counts, lineup = self._counts, self._counts.draft.lineups[index]
        made: list[tuple[Split, IntVar]] = []
        field = len(lineup.here) - lineup.turn.goals
        for first, size in self._sizes_of(index, lineup).items():
            found = splits(lineup.shape, first, field - first)
            literals = [size]
            if len(found) != 1:
                literals = [counts.model.new_bool_var(f"split[{index}|{first}|{n}]") for n in range(len(found))]
                counts.model.add(sum(literals) == size)
            made += zip(found, literals, strict=True)
        return made

    def _sizes_of(self, index: int, lineup: Lineup) -> dict[int, IntVar]:
        before, start = self._runs.get((lineup.stay, lineup.here), (index, index))
        if not self._same_keepers(before, index):
            start = index
        self._runs[lineup.stay, lineup.here] = index, start
        key = lineup.stay, lineup.here, start
        if key not in self._sizes:
            model = self._counts.model
            made = {n: model.new_bool_var(f"field[{start}|{n}]") for n in self._possible(lineup)}
            model.add_exactly_one(made.values())
            self._sizes[key] = made
        return self._sizes[key]

    def _possible(self, lineup: Lineup) -> list[int]:
        """How many of the first side may be in the field: even at the start but for who has come, gone or keeps."""
        field = len(lineup.here) - lineup.turn.goals
        start = self._first.get(lineup.stay)
        mirrored = start is None and lineup.stay in self._mirrored
        start = self._first.setdefault(lineup.stay, lineup)
        apart = field
        if self._counts.draft.ring.setting(lineup.turn.session).groups == 1:
            changed = len(set(lineup.here) ^ set(start.here))
            apart = 1 + changed + (0 if self._only_keep(lineup) else lineup.turn.goals)
        return [n for n in range(field + 1) if abs(field - 2 * n) <= apart and not (mirrored and 2 * n > field)]

    def _only_keep(self, lineup: Lineup) -> bool:
        """Whether whoever keeps goal in a turn does nothing else in the stay, and so counts on no side."""
        lineups = self._counts.draft.lineups
        stay = [index for index in self._counts.indices if lineups[index].stay == lineup.stay]
        return all(lineups[one].here == lineup.here and self._same_keepers(stay[0], one) for one in stay)

    def _same_keepers(self, one: int, two: int) -> bool:
        """Whether nobody can have taken over in goal between two turns of a stay with the same children there."""
        draft, may = self._counts.draft, self._counts.may_keep(two)
        before, lineup = draft.lineups[one], draft.lineups[two]
        if before.turn.goals != lineup.turn.goals:
            return False
        if not may or not self._counts.may_keep(one):
            return not may and not self._counts.may_keep(one) and before.keepers.keys() == lineup.keepers.keys()
        stays = {keeper_stays(draft.club, draft.names[p]) for p in may}
        if stays == {KeeperStays.SESSION}:
            return True
        same = (before.turn.block, before.turn.groups) == (lineup.turn.block, lineup.turn.groups)
        return KeeperStays.REP not in stays and same

    def _mirrors(self, stay: int) -> bool:
        """Whether the two sides could be exchanged throughout a stay, areas with them."""
        draft = self._counts.draft
        if draft.ring.setting(draft.stays[stay].session).groups > 1:
            return False
        return all(one.shape.game or one.turn.areas % 2 == 0 for one in draft.of_stay(stay))
