"""As few rest as the sizes leave over."""

from __future__ import annotations

import pytest

from constraints.few_rests import FewRests
from scheduler.club.programme import Kind, Sizes
from tests.rotations import a_practice, a_rotation_club, a_squad, dealt

PART = a_practice(Kind.PART, attackers=Sizes(1, 1, 2), defenders=Sizes(1, 1, 1))
GAME = a_practice(Kind.GAME, attackers=Sizes(1, 2, 2))


@pytest.mark.parametrize(
    ("practice", "rep", "over"),
    [
        (PART, "a1 a1 D1 R-", 0),  # two attackers and one defender at most: one of the second side rests
        (PART, "a1 r- D1 R-", 1),  # the second attacker's place stays empty
        (GAME, "p1 p1 P1 r-", 0),  # three and one: two play against one
        (GAME, "p1 r- P1 R-", 2),  # two and two could all play
        (GAME, "p1 p1 p1 r-", 0),  # nobody on the other side: no lawful game, the sizes say so
    ],
)
def test_rests_beyond_what_is_left_over(practice, rep: str, over: int) -> None:
    club = a_rotation_club(a_squad(4), [[practice]])
    assert sum(found.by for found in FewRests().audit(club, dealt(club, rep))) == over
