"""Children taken together in the model of counts: every rotation within the bounds is one of its solutions.

What the model shows impossible is then impossible. The rotations are those of the quick way without any model, which
knows nothing of kinds and courses. That no solution is beyond the bounds is for the audits of random pools to say.
"""

from __future__ import annotations

from collections import Counter

import pytest

from scheduler.rotation.counts import CountsModel
from scheduler.rotation.courses import NO_SIDE, Arc, Kind, Node
from scheduler.rotation.draft import KEEP, Draft
from scheduler.rotation.lessen import solve
from scheduler.rotation.quick import _best_draft
from scheduler.rotation.repair import Repair
from scheduler.rotation.setting import laid, settings
from tests.booked import random_pool

POOLS = (0, 1, 4, 6, 8, 9, 13, 17, 18, 21, 22, 24, 26, 30, 31)


def a_filled_draft(number: int) -> Draft:
    """A pool's rotation within every bound by the quick way alone, which it must find for the pools above."""
    club, plan = random_pool(number)
    plan = plan.model_copy(update={"sessions": tuple(laid(club, planned) for planned in plan.sessions)})
    (ring,) = settings(club, plan)
    draft = _best_draft(club, plan, ring)
    assert draft is not None
    assert Repair(draft).is_clean()
    return draft


def turn_sides_round(draft: Draft) -> None:
    """Name the sides as the model does where they could be exchanged: no more of the first at the first turn."""
    for stay in range(len(draft.stays)):
        first = draft.of_stay(stay)[0]
        mirrors = all(one.shape.game or one.turn.areas % 2 == 0 for one in draft.of_stay(stay))
        if mirrors and 2 * sum(draft.sides[stay][player] for player in first.field) < len(first.field):
            draft.sides[stay] = {player: 1 - side for player, side in draft.sides[stay].items()}


def arcs_taken(counts: CountsModel, kind: Kind, player: int) -> list[tuple[int, Arc]]:
    """The arcs of somebody's course in the draft, turn by turn."""
    draft, node, found = counts.draft, Node(NO_SIDE, kind.start), []
    for index in kind.path:
        lineup = draft.lineups[index]
        role, side = lineup.role[player], draft.sides[lineup.stay].get(player, 0)
        shares = tuple(sum(lineup.role[p] == one for p in lineup.field) for one in range(3))
        total = counts.flows.totals(index).index(shares) if role == KEEP and player in counts.may_keep(index) else 0
        (arc,) = [
            arc
            for arc in kind.arcs[index]
            if (arc.before, arc.role, arc.total) == (node, role, total) and (role == KEEP or arc.side == side)
        ]
        found.append((index, arc))
        node = arc.after
    return found


@pytest.mark.parametrize("number", POOLS)
def test_every_rotation_within_the_bounds_is_a_solution(number: int) -> None:
    draft = a_filled_draft(number)
    turn_sides_round(draft)
    many = len(draft.ring.sessions)
    spans = dict.fromkeys([(0, many), *((number, number + 1) for number in range(many))])
    models = [CountsModel(draft, *span, 0) for span in spans]
    assert any(counts.flows.kinds for counts in models)
    for counts in models:
        hold_to_draft(counts)
        assert solve(counts, 10.0, 0, 0).found == 0


def hold_to_draft(counts: CountsModel) -> None:
    """Everybody does what the draft has, children taken together and the others alike."""
    draft = counts.draft
    for kind in counts.flows.kinds:
        taken = Counter(one for player in kind.players for one in arcs_taken(counts, kind, player))
        for index in kind.path:
            for one, arc, variable in counts.flows.arcs(index):
                if one is kind:
                    counts.model.add(variable == taken[index, arc])
    for (index, player, role, side), literal in counts.held.items():
        lineup = draft.lineups[index]
        counts.model.add(literal == (lineup.role[player] == role and draft.sides[lineup.stay][player] == side))
