"""Small models of a booking first: what they find is as good as what the whole model finds."""

from __future__ import annotations

import pytest

from constraints import RULES
from scheduler.booking import book as booking
from scheduler.booking import climb
from scheduler.club.club import Club
from scheduler.outcome import Booked
from tests.speed.clubs import a_town
from tests.towns import a_town as a_tangled_town

CLUBS = {
    **{
        f"{zones} zones, seed {seed}": a_town(6, 0.9, zones, seed, shared=2).club for zones in (3, 4) for seed in (1, 2)
    },
    "three pitches": a_tangled_town(teams=4, seed=3),
}


def figures(club: Club) -> dict[str, float]:
    found = booking.book(club, RULES)
    assert isinstance(found, Booked)
    assert found.proven
    return {proof.measure: proof.value for proof in found.plan.proofs}


@pytest.mark.parametrize("name", CLUBS)
def test_small_models_lose_nothing(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    ladder = figures(CLUBS[name])
    monkeypatch.setattr(climb, "LADDER", ({},))
    whole = figures(CLUBS[name])
    assert {wish: value for wish, value in ladder.items() if value} == {w: value for w, value in whole.items() if value}
