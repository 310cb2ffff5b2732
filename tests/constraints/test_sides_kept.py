"""Bibs stay on, areas are for the right side, and sides start even."""

from __future__ import annotations

import pytest

from constraints.sides_kept import SidesKept
from scheduler.club.programme import Kind
from tests.rotations import a_practice, a_rotation_club, a_squad, dealt

ONE_AREA = a_practice(Kind.PART, keepers=1)
THREE_AREAS = a_practice(Kind.PART, areas=3)
GAME = a_practice(Kind.GAME, keepers=1)


def found(blocks, *reps: str, count: int = 2, bibs_stay: str = "session") -> list[str]:
    club = a_rotation_club(a_squad(count), blocks, reps=len(reps) // len(blocks), bibs_stay=bibs_stay)
    return [violation.text for violation in SidesKept().audit(club, dealt(club, *reps))]


def test_in_one_area_the_attack_changes_every_rep_and_who_starts_every_block() -> None:
    """First block: the first side attacks reps 1 and 3; the second block starts with the other side."""
    assert found([[ONE_AREA], [ONE_AREA]], "a1 D1", "d1 A1", "a1 D1", "d1 A1", "a1 D1", "d1 A1") == []
    assert len(found([[ONE_AREA], [ONE_AREA]], "a1 D1", "d1 A1", "a1 D1", "a1 D1", "d1 A1", "a1 D1")) == 6


def test_areas_go_in_pairs_and_a_third_takes_turns() -> None:
    assert found([[THREE_AREAS]], "a1 A2", "a3 A2") != []  # rep 2: the third area's attack is the other side's
    assert found([[THREE_AREAS]], "a3 A2", "d3 A3") == []


def test_whoever_changes_bibs_is_named() -> None:
    texts = found([[GAME]], "p1 P1", "P1 P1")
    assert "Herons 1: Ivo changes bibs (red and blue)" in texts
    assert found([[GAME], [GAME]], "p1 P1", "P1 p1") != []
    assert found([[GAME], [GAME]], "p1 P1", "P1 p1", bibs_stay="block") == []


def test_a_keeper_may_guard_either_goal_and_is_of_no_side() -> None:
    assert found([[GAME]], "k1 P1", "K1 P1") == []


@pytest.mark.parametrize(("rep", "uneven"), [("p1 p1 P1", False), ("p1 p1 p1", True), ("p1 p1 k1", True)])
def test_sides_start_even_to_within_one(rep: str, uneven: bool) -> None:
    assert any("may differ by one" in text for text in found([[GAME]], rep, count=3)) is uneven


def test_a_keepers_goal_is_the_defenders() -> None:
    assert found([[ONE_AREA]], "a1 K1") == []
    assert found([[ONE_AREA]], "a1 k1") == ["Herons 1, block 1, rep 1, area 1: Noor keeps goal as red, it is for blue"]
