"""Four v two with a keeper at both ends, and small games: inside and just outside the sizes."""

from __future__ import annotations

import pytest

from constraints.area_sizes import AreaSizes
from scheduler.club.programme import Kind, Sizes
from tests.rotations import a_practice, a_rotation_club, a_squad, dealt


@pytest.mark.parametrize(
    ("rep", "texts"),
    [
        ("a1 a1 D1 K1", []),
        ("a1 a1 a1 D1", ["3 attackers, the practice asks for 1 to 2", "0 keepers, the practice asks for 1"]),
        ("a1 r- r- K1", ["0 defenders, the practice asks for 1"]),
        ("a1 D1 K1 K1", ["2 keepers, the practice asks for 1"]),
    ],
)
def test_a_part_with_one_or_two_attackers_one_defender_and_a_keeper(rep: str, texts: list[str]) -> None:
    part = a_practice(Kind.PART, attackers=Sizes(1, 1, 2), keepers=1)
    club = a_rotation_club(a_squad(4), [[part]])
    plan = dealt(club, rep)
    found = [violation.text for violation in AreaSizes().audit(club, plan)]
    assert found == [f"Herons 1, block 1, rep 1, area 1: {text}" for text in texts]


def test_the_sides_of_a_game_differ_by_one_at_most() -> None:
    """Three against one is two apart, one too many."""
    club = a_rotation_club(a_squad(4), [[a_practice(Kind.GAME, attackers=Sizes(1, 2, 3))]])
    assert list(AreaSizes().audit(club, dealt(club, "p1 p1 P1 r-"))) == []
    (found,) = AreaSizes().audit(club, dealt(club, "p1 p1 p1 P1"))
    assert (found.by, found.unit) == (1, "players")
    assert "3 against 1" in found.text


@pytest.mark.parametrize(("age_group", "fits"), [(7, True), (8, False)])
def test_a_game_without_keepers_up_to_u7(age_group: int, fits: bool) -> None:
    """Keepers left blank: none in a game of U7 and younger, one a side from U8."""
    club = a_rotation_club(a_squad(2), [[a_practice(Kind.GAME, keepers=None)]])
    team = club.teams[0].model_copy(update={"age_group": age_group})
    club = club.model_copy(update={"teams": (team,)})
    assert (list(AreaSizes().audit(club, dealt(club, "p1 P1"))) == []) is fits
