"""Space: ground divided by players, as IFAB Law 1, the FIH rules of hockey and the small-sided standards of U.S. Soccer
2017 give it. That the zones are shared evenly is our choice.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from constraints.space import Space
from scheduler.club.club import Club
from scheduler.club.places import Pitch
from scheduler.club.programme import Kind, PlanRow, Practice, Sizes
from scheduler.contract import Severity
from tests.clubs import a_club
from tests.weeks import FIVE, breaches, found, held, hours, notes, spoken, together, with_asks, with_practices

RULE = Space()


def on_ground(length: float, width: float, *practices: Practice, players: int = 10, zones: int = 1) -> Club:
    pitch = Pitch(id="Main", site="Marsh Lane", zones=zones, length=length, width=width, openings=hours(FIVE, 21 * 60))
    return with_practices(a_club(players=players, pitches=(pitch,)), *practices)


def a_game(a_side: int, keepers: int = 0, **changes: Any) -> Practice:
    sizes = Sizes(1, a_side, a_side)
    return Practice(id="Game", kind=Kind.GAME, attackers=sizes, keepers=keepers, rep=10, **changes)


@pytest.mark.parametrize(("least", "broken"), [(324.5, False), (324.6, True)])
def test_metres_a_player_of_a_full_pitch(least: float, broken: bool) -> None:
    """IFAB Law 1 allows 105 x 68 m: 7140 m2, 324.5 for each of 22 (a 2025 study prints 325)."""
    club = on_ground(105, 68, together("Eleven a side", m2_least=least), players=22, zones=3)
    assert bool(found(RULE, club, held(club))) is broken


@pytest.mark.parametrize(
    ("length", "width", "a_side", "keepers", "each"),
    [
        (22.86, 13.72, 4, 0, 39.2),  # 4 v 4 without keepers, 25 x 15 yards
        (32.00, 22.86, 4, 0, 91.4),
        (50.29, 32.00, 6, 1, 114.9),  # 7 v 7, 55 x 35 yards
        (59.44, 41.15, 6, 1, 174.7),
        (64.01, 41.15, 8, 1, 146.3),  # 9 v 9, 70 x 45 yards
        (73.15, 50.29, 8, 1, 204.3),
    ],
)
def test_small_sided_standards(length: float, width: float, a_side: int, keepers: int, each: float) -> None:
    """U.S. Soccer, small-sided standards 2017, in metres (a yard is 0.9144 m): each field just holds its two teams."""
    count = 2 * (a_side + keepers)
    fits = on_ground(length, width, a_game(a_side, keepers, m2_least=each), players=count)
    assert breaches(RULE, fits, held(fits)) == []
    tight = on_ground(length, width, a_game(a_side, keepers, m2_least=round(each + 0.2, 1)), players=count)
    assert len(breaches(RULE, tight, held(tight))) == 1


@pytest.mark.parametrize(("zones", "ground"), [((1,), "1256.75"), ((1, 2), "2513.5"), ((1, 2, 3, 4), "5027")])
def test_quarters_of_a_hockey_field(zones: tuple[int, ...], ground: str) -> None:
    """FIH: 91.40 x 55.00 m are 5027 m2 and a half 2513.5. The marked quarters are not equal (22.90, 22.80, 22.80 and
    22.90 m, in all 91.40); zones are equal strips of 22.85 m, 5 cm from the lines.
    """
    assert sum(map(Fraction, ("22.90", "22.80", "22.80", "22.90"))) == Fraction("91.40")
    assert 4 * Fraction("22.85") == Fraction("91.40")
    least = float(Fraction(ground) / 10)
    fits = with_asks(on_ground(91.40, 55.00, together("Ten", m2_least=least), zones=4), zones=len(zones))
    assert breaches(RULE, fits, held(fits, zones=zones)) == []
    tight = with_asks(on_ground(91.40, 55.00, together("Ten", m2_least=least + 0.01), zones=4), zones=len(zones))
    assert len(found(RULE, tight, held(tight, zones=zones))) == 1


def test_whoever_rests_takes_no_room() -> None:
    """Fourteen children, a game of four a side: 800 m2 for eight are 100 each, whoever else is there."""
    club = on_ground(40, 20, a_game(4, m2_least=100), players=14)
    assert breaches(RULE, club, held(club)) == []
    tight = on_ground(40, 20, a_game(4, m2_least=101), players=14)
    assert spoken(RULE, tight, held(tight)) == ["Game in Herons 1 has 100.0 m2 a player for 8, at least 101"]
    seven = held(tight, players=tuple(player.id for player in tight.players[:7]))
    assert breaches(RULE, tight, seven) == []


@pytest.mark.parametrize(("under", "playing"), [(7, 8), (8, 10)])
def test_games_up_to_u7_have_no_keepers(under: int, playing: int) -> None:
    """Keepers left blank: four a side are eight at U7 and ten, two of them in goal, at U8; 800 m2 for all who play."""
    game = a_game(4, m2_least=800 / playing).model_copy(update={"keepers": None})
    tight = game.model_copy(update={"m2_least": 800 / playing + 1})
    for practice, count in ((game, 0), (tight, 1)):
        club = on_ground(40, 20, practice, players=14)
        club = club.model_copy(update={"teams": (club.teams[0].model_copy(update={"age_group": under}),)})
        assert len(breaches(RULE, club, held(club))) == count


def test_stations_share_the_zones_and_the_players_out() -> None:
    """Two stations on 800 m2: five of ten children on 400 m2 have 80 each, six of eleven 66.7."""
    both = tuple(together(name, m2_least=80) for name in ("Passing", "Turning"))
    rows = tuple(PlanRow(plan="Evening", block="1", practice=practice.id, minutes=30) for practice in both)
    for players, count in ((10, 0), (11, 2)):
        club = on_ground(40, 20, *both, players=players, zones=2).model_copy(update={"plans": rows})
        assert len(breaches(RULE, club, held(club))) == count


PART = Practice(id="Ends", kind=Kind.PART, areas=2, attackers=Sizes(1, 2, 3), defenders=Sizes(1, 1, 2), keepers=1,
                rep=5)  # fmt: skip


@pytest.mark.parametrize(
    ("practice", "places"),
    [(PART, 12), (a_game(4, keepers=1), 10), (a_game(4), 8), (PART.model_copy(update={"keepers": 0}), 10)],
)
def test_more_ground_than_asked_for_is_a_wish(practice: Practice, places: int) -> None:
    """With every place taken 1200 m2 are 1200 / places for each: that much is as asked, a tenth less is too much."""
    for most, count in ((1200 / places, 0), (round(1200 / places - 0.1, 4), 1)):
        club = on_ground(60, 20, practice.model_copy(update={"m2_most": most}), players=12, zones=3)
        planned = held(club)
        assert breaches(RULE, club, planned) == []
        assert notes(RULE, club, planned) == [1] * count
        if count:
            (one,) = found(RULE, club, planned, severity=Severity.NOTE)
            assert one.text == "Herons 1 on Main has more ground than its practices ask for"


def test_off_without_bounds_or_sizes() -> None:
    assert RULE.off(a_club()) == "no practice says m2 a player"
    club = on_ground(40, 20, together(m2_least=10.0))
    assert RULE.off(club) is None
    bare = club.pitches[0].model_copy(update={"length": None})
    assert RULE.off(club.model_copy(update={"pitches": (bare,)})) == "no pitch has a length and a width"
    assert breaches(RULE, club.model_copy(update={"pitches": (bare,)}), held(club)) == []
