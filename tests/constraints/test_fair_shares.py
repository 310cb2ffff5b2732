"""The three fairness rules: their sentences, and one rep as the bound, at a whistle within the week too."""

from __future__ import annotations

from fractions import Fraction as F

from constraints.even_attack_and_defend import EvenAttackAndDefend
from constraints.keeper_minutes import KeeperMinutes
from constraints.rest import Rest
from scheduler.club.people import KeeperStays
from scheduler.club.programme import Kind
from tests.rotations import a_practice, a_rotation_club, a_squad, dealt

PART = a_practice(Kind.PART)
GAME = a_practice(Kind.GAME)


def test_exactly_one_rep_away_is_within_the_bound() -> None:
    """Two reps, Ivo attacks both, share 2 x 1/2: exactly one rep over. A third: 3 against 1.5."""
    two = a_rotation_club(a_squad(2), [[PART]], reps=2)
    assert list(EvenAttackAndDefend().audit(two, dealt(two, "a1 D1", "a1 D1"))) == []
    three = a_rotation_club(a_squad(2), [[PART]], reps=3)
    texts = [v.text for v in EvenAttackAndDefend().audit(three, dealt(three, "a1 D1", "a1 D1", "a1 D1"))]
    assert texts[0] == (
        "Herons 1, after rep 3 of block 1: Ivo has attacked 3 reps, fair share 1.5: 1.5 reps over, at most 1"
    )
    assert len(texts) == 4  # either child, either role


def test_a_week_cut_short_counts_as_well() -> None:
    """After rep 3 Ivo is 1.5 reps over; that reps 4 to 6 make up for it does not mend the third whistle."""
    club = a_rotation_club(a_squad(2), [[PART]], reps=6)
    plan = dealt(club, *3 * ["a1 D1"], *3 * ["d1 A1"])
    found = [v for v in EvenAttackAndDefend().audit(club, plan) if v.about == ("Ivo",)]
    assert [(v.by, v.unit) for v in found] == [(2, "minutes"), (2, "minutes")]


def test_rests_are_shared() -> None:
    """One of three rests in each of three reps: share 1. Three times Ivo is 2 reps over, beyond the bound by one."""
    club = a_rotation_club(a_squad(3), [[GAME]], reps=3)
    (found,) = Rest().audit(club, dealt(club, *3 * ["r- p1 P1"]))
    assert (found.about, found.by) == (("Ivo",), 4)
    assert list(Rest().audit(club, dealt(club, "r- p1 P1", "p1 r- P1", "p1 P1 r-"))) == []


def test_one_stay_in_goal_is_the_bound() -> None:
    """Two keepers, two blocks of two reps, one goal: a block each is within a stay; both blocks: 4 reps against 2."""
    part = a_practice(Kind.PART, keepers=1)
    squad = a_squad(3, willing=2)
    club = a_rotation_club(squad, [[part], [part]], reps=2)
    twice = [*2 * ["K1 a1 D1"], *2 * ["K1 a1 D1"]]
    assert list(KeeperMinutes().audit(club, dealt(club, *twice))) == []  # 2 reps over, one stay is two reps
    by_rep = a_rotation_club(squad, [[part], [part]], reps=2, stays=KeeperStays.REP)
    assert {v.by for v in KeeperMinutes().audit(by_rep, dealt(by_rep, *twice))} == {F(4)}


def test_nobody_is_replaced_in_goal_within_a_stay() -> None:
    part = a_practice(Kind.PART, keepers=1)
    club = a_rotation_club(a_squad(3, willing=2), [[part]], reps=2)
    (found,) = KeeperMinutes().audit(club, dealt(club, "K1 a1 D1", "a1 K1 D1"))
    assert found.text == "Herons 1, block 1, rep 2: Noor replaces Ivo in goal before the stay is over"
