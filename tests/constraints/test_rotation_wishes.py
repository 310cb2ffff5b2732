"""Wanted sizes, balanced sides, mixing, few changes: what each finding counts."""

from __future__ import annotations

from constraints.balanced_sides import BalancedSides
from constraints.few_changes import FewChanges
from constraints.mixing import Mixing
from constraints.wanted_sizes import WantedSizes
from scheduler.club.programme import Kind, Sizes
from scheduler.contract import Severity
from tests.rotations import a_child, a_practice, a_rotation_club, a_squad, dealt

PART = a_practice(Kind.PART, attackers=Sizes(1, 2, 3), defenders=Sizes(1, 1, 1))
GAME = a_practice(Kind.GAME, attackers=Sizes(1, 2, 3))


def test_sizes_off_the_wanted_ones_add_up() -> None:
    """One attacker where two are wanted: 1; three: 1; the defenders cannot vary."""
    club = a_rotation_club(a_squad(4), [[PART]], reps=2)
    found = list(WantedSizes().audit(club, dealt(club, "a1 D1 r- r-", "a1 a1 a1 D1")))
    assert [violation.by for violation in found] == [1, 1]
    assert {violation.severity for violation in found} == {Severity.NOTE}


def test_sides_are_weighed_without_saying_who() -> None:
    """Two ahead on one side, one newer on the other: 2 against -1, three steps."""
    squad = (a_child(0, even_up=1), a_child(1, even_up=1), a_child(2, even_up=-1))
    club = a_rotation_club(squad, [[GAME]])
    (found,) = BalancedSides().audit(club, dealt(club, "p1 p1 P1"))
    assert found.by == 3
    assert "2 and -1" in found.private
    assert "-1" not in found.text


def test_pairs_that_meet_again() -> None:
    """Ivo and Noor play side by side in all three reps: 3 x 2 / 2 = 3; Tara joins them once: met once, 0."""
    club = a_rotation_club(a_squad(4), [[GAME]], reps=3)
    plan = dealt(club, "p1 p1 P1 r-", "p1 p1 p1 P1", "p1 p1 P1 r-")
    (found,) = Mixing().audit(club, plan)
    assert found.by == 3
    assert "Ivo and Noor most often, 3 times" in found.text


def test_changed_places_are_counted_per_rep() -> None:
    """Ivo rests in rep 2 instead of playing: one place."""
    club = a_rotation_club(a_squad(2), [[GAME]], reps=2)
    before, after = dealt(club, "p1 P1", "p1 P1"), dealt(club, "p1 P1", "r- P1")
    assert [v.about[0] for v in FewChanges(earlier=before).audit(club, after)] == ["Ivo"]
    assert list(FewChanges().audit(club, after)) == []
