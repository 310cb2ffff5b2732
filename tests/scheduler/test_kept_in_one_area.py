"""Two who are to be kept apart cannot both play where there is one area and nobody rests: counted, not solved."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from constraints import RULES
from scheduler.club.people import KeeperWish, Player
from scheduler.club.programme import Contact, Kind, Practice, Sizes
from scheduler.outcome import Demand
from scheduler.rotation.setting import settings
from scheduler.rotation.shortages import shortages
from scheduler.workbook.check import impossibilities
from tests.clubs import a_club
from tests.rotations import a_practice, a_rotation_club, a_squad, booked


def a_pair_in(count: int) -> tuple[Player, ...]:
    first, second, *others = a_squad(count)
    return first.model_copy(update={"apart_from": (second.id,)}), second, *others


def demands(players: Sequence[Player], practice: Practice) -> list[Demand]:
    club = a_rotation_club(players, [[practice]])
    week = booked(club)
    return [demand for ring in settings(club, week) for demand in shortages(club, ring, RULES)]


def test_one_area_and_nobody_rests() -> None:
    """Six play two sides of three: both of the pair are among them."""
    (found,) = demands(a_pair_in(6), a_practice(Kind.GAME, attackers=Sizes(2, 3, 3)))
    assert found.rule == "apart"
    assert "two players to be kept apart (welfare file, row 1) are there" in found.text
    assert "there is only one area" in found.text
    assert not any(player.called in found.text for player in a_pair_in(6)[:2])


def test_one_more_than_can_play_may_rest() -> None:
    """Seven for two sides of three: one rests in every rep, and it may be one of the two."""
    assert demands(a_pair_in(7), a_practice(Kind.GAME, attackers=Sizes(2, 3, 3))) == []


def test_the_sides_of_a_part_may_leave_somebody_to_rest_though_there_is_room_for_all() -> None:
    """Up to three attack and one defends: of four, two on each side, one rests in every rep. Of three against one
    all could play, but sides that start even are never so; with sizes for two and two everybody plays."""
    assert demands(a_pair_in(4), a_practice(attackers=Sizes(1, 2, 3), defenders=Sizes(1, 1, 1))) == []
    (found,) = demands(a_pair_in(4), a_practice(attackers=Sizes(1, 2, 3), defenders=Sizes(1, 1, 2)))
    assert found.rule == "apart"


def test_two_of_one_side_in_goal_leave_the_sides_uneven() -> None:
    """Six in sides of three, two of one side in goal: three play one, who may be at most two, so somebody rests."""
    first, second, *others = (child.model_copy(update={"keeper": KeeperWish.WILLING}) for child in a_pair_in(6))
    game = a_practice(Kind.GAME, attackers=Sizes(1, 2, 2), keepers=1)
    assert demands((first, second, *others), game) == []
    two = tuple(child.model_copy(update={"keeper": KeeperWish.NO}) for child in (first, second, *others[:2]))
    (found,) = demands((*two, *others[2:]), game)  # the other two are in goal and nowhere else
    assert found.rule == "apart"


def test_two_areas_part_them() -> None:
    assert demands(a_pair_in(8), a_practice(Kind.GAME, areas=2, attackers=Sizes(1, 2, 2))) == []


def test_nobody_to_be_kept_apart() -> None:
    assert demands(a_squad(6), a_practice(Kind.GAME, attackers=Sizes(2, 3, 3))) == []


def test_three_age_years_where_everybody_meets() -> None:
    """Born in May 2014 and in May 2011: three whole years apart on any Monday; two are allowed."""
    eldest, *others = a_squad(6)
    game = a_practice(Kind.GAME, attackers=Sizes(2, 3, 3), contact=Contact.SOME)
    three = (eldest.model_copy(update={"born": dt.date(2011, 5, 1)}), *others)
    (found,) = demands(three, game)
    assert found.rule == "age gap"
    assert f"{eldest.called} and {others[0].called} are 3 age years apart, at most 2" in found.text
    two = (eldest.model_copy(update={"born": dt.date(2012, 5, 1)}), *others)
    assert demands(two, game) == []
    assert demands(three, a_practice(Kind.GAME, attackers=Sizes(2, 3, 3))) == []  # no contact


def test_check_says_so_before_any_planning() -> None:
    """Fourteen with two keepers: the game of 6 (at most) a side takes all, both ends are two areas."""
    club = a_club()
    assert impossibilities(club) == []
    first, second, *others = club.players
    parted = (first.model_copy(update={"apart_from": (second.id,)}), second, *others)
    (fault,) = impossibilities(club.model_copy(update={"players": parted}))
    assert str(fault).startswith("Sessions, Herons 1: in block 3 everybody plays in one area, two players to be")
    assert "(welfare file, row 1)" in str(fault)
    resting = club.practices[2].model_copy(update={"attackers": Sizes(4, 5, 5)})
    practices = (*club.practices[:2], resting)  # ten and two keepers play, two of the fourteen rest
    assert impossibilities(club.model_copy(update={"players": parted, "practices": practices})) == []
    three_in_attack = a_practice(attackers=Sizes(1, 2, 3), defenders=Sizes(1, 1, 1))
    four = a_rotation_club(a_pair_in(4), [[three_in_attack]])
    assert impossibilities(four) == []
    both = three_in_attack.model_copy(update={"defenders": Sizes(1, 1, 2)})
    (fault,) = impossibilities(four.model_copy(update={"practices": (both,)}))
    assert "everybody plays in one area" in str(fault)
