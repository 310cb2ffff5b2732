"""What a model of counts is asked after the least excess: fewest rests, sizes as wanted, then the keepers given."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from scheduler.rotation import lessen
from scheduler.rotation.counts import CountsModel
from scheduler.rotation.quick import rotate_quickly
from scheduler.rotation.setting import laid, settings
from scheduler.solver import Solver
from tests.booked import random_pool

Row = tuple[int, int, int]


def rows(number: int, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Row, Row]]:
    """For each solution found for a pool: rests, players off wanted and other keepers, before and after."""
    kept: list[tuple[Row, Row]] = []
    as_wanted = lessen.as_wanted

    def heard(counts: CountsModel, solver: Solver, limit: float) -> Solver:
        before = _row(counts, solver)
        better = as_wanted(counts, solver, limit)
        kept.append((before, _row(counts, better)))
        return better

    monkeypatch.setattr(lessen, "as_wanted", heard)
    club, plan = random_pool(number)
    plan = plan.model_copy(update={"sessions": tuple(laid(club, one) for one in plan.sessions)})
    rotate_quickly(club, plan, settings(club, plan)[0], mix=False, limit=6.0)
    monkeypatch.undo()
    yield from kept


def _row(counts: CountsModel, solver: Solver) -> Row:
    splits = [split for found in counts.chosen.values() for split, literal in found if solver.boolean_value(literal)]
    others = sum(
        solver.value(goal)
        for (index, player), goal in counts.keep.items()
        if player not in counts.draft.lineups[index].keepers
    )
    return sum(sum(split.rest) for split in splits), sum(split.off for split in splits), others


@pytest.mark.parametrize("number", [37, 52])
def test_a_solution_is_brought_nearer_to_what_is_wanted(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    found = list(rows(number, monkeypatch))
    assert all(after <= before for before, after in found)
    assert any(after[0] < before[0] for before, after in found)


def test_the_keepers_given_stay_where_nothing_speaks_against_it(monkeypatch: pytest.MonkeyPatch) -> None:
    found = list(rows(40, monkeypatch))
    assert all(after <= before for before, after in found)
    assert any(after[:2] == before[:2] and after[2] < before[2] for before, after in found)
