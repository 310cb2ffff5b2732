"""Kit: one use at a time of one thing (common practice, no source), counted by hand block by block."""

from __future__ import annotations

import datetime as dt

import pytest

from constraints.kit import Kit
from scheduler.club.club import Club
from scheduler.club.places import KitItem, Pitch, Site
from scheduler.club.programme import Kind, KitNeed, PlanRow, Practice, Sizes
from tests.clubs import MONDAY, a_club, an_age_row
from tests.weeks import FIVE, SIX, breaches, found, held, hours, spoken, together, with_asks, with_practices

RULE = Kit()
BALLS = together(kit_per_player=(KitNeed("ball", 1),))
CALM = together("Stretching")
BIBS = together(kit_per_player=(KitNeed("bib", 1),))
GOALS = Practice(id="Ends", kind=Kind.PART, areas=2, attackers=Sizes(1, 1, 9), defenders=Sizes(1, 1, 9), rep=5,
                 kit_per_area=(KitNeed("goal", 2), KitNeed("marker", 8)))  # fmt: skip


def lying(**counts: int) -> tuple[KitItem, ...]:
    return tuple(KitItem(item=item.replace("_", " "), site="Marsh Lane", count=n) for item, n in counts.items())


def a_kit_club(*practices: Practice, players: int = 5, teams: int = 1, **counts: int) -> Club:
    return with_practices(a_club(teams=teams, players=players, kit=lying(**counts)), *practices, minutes=60)


@pytest.mark.parametrize(("balls", "short"), [(5, []), (4, [1])])
def test_a_ball_a_child(balls: int, short: list[int]) -> None:
    """`ball` stands for the ball of the age row: five children of U13 need five of size 4, not four."""
    club = a_kit_club(BALLS, ball_size_4=balls, ball_size_3=9)
    assert breaches(RULE, club, held(club)) == short
    if short:
        said = "Marsh Lane needs 5 of ball size 4 on Mon 7 Sep at 17:00 and has 4"
        assert spoken(RULE, club, held(club)) == [said]


@pytest.mark.parametrize(("age", "ball"), [(12, "ball size 4"), (13, "ball size 3")])
def test_the_oldest_of_the_youngest_team_chooses_the_ball(age: int, ball: str) -> None:
    """U13 are 12 at most: the row for ages up to 12 decides, the next one where that ends at 11."""
    rows = (an_age_row(from_age=age, ball="ball size 4"), an_age_row(to_age=age - 1, ball="ball size 3"))
    club = with_practices(a_club(players=5, ages=rows, kit=lying(**{ball.replace(" ", "_"): 5})), BALLS)
    assert breaches(RULE, club, held(club)) == []
    other = club.model_copy(update={"kit": lying(ball=5)})
    assert [one.about for one in found(RULE, other, held(other))] == [(ball, "Marsh Lane")]


@pytest.mark.parametrize(("children", "bibs", "short"), [(5, 3, []), (5, 2, [1]), (6, 3, []), (6, 2, [1])])
def test_bibs_for_one_side_only(children: int, bibs: int, short: list[int]) -> None:
    """One side of five is three at most; the other wears its own shirts. Bibs of any name will do."""
    club = a_kit_club(BIBS, players=children, bib_green=bibs - 1, bib=1)
    assert breaches(RULE, club, held(club)) == short


@pytest.mark.parametrize(("others", "short"), [(3, []), (2, [1])])
def test_bibs_of_one_name_are_bibs_too(others: int, short: list[int]) -> None:
    """Five take three green bibs and five take three of any name: six in all."""
    green = together("Green", kit_per_player=(KitNeed("bib green", 1),))
    club = a_kit_club(BIBS, green, teams=2, bib_green=3, bib=others)
    rows = tuple(PlanRow(plan=one.id, block="1", practice=one.id, minutes=60) for one in (BIBS, green))
    asks = tuple(ask.model_copy(update={"plan": row.plan}) for ask, row in zip(club.sessions, rows, strict=True))
    club = club.model_copy(update={"plans": rows, "sessions": asks})
    assert breaches(RULE, club, held(club), held(club, number=1)) == short


def test_kit_of_each_area() -> None:
    """Two areas of two goals and eight markers: 4 and 16."""
    club = a_kit_club(GOALS, goal_small=4, marker=16)
    assert breaches(RULE, club, held(club)) == []
    club = a_kit_club(GOALS, goal_small=3, marker=14)
    assert breaches(RULE, club, held(club)) == [1, 2]


@pytest.mark.parametrize(("start", "short"), [(FIVE + 30, []), (FIVE + 29, [5]), (FIVE, [5]), (FIVE - 30, [])])
def test_block_by_block(start: int, short: list[int]) -> None:
    """Balls in the first half hour only: a second team that starts then, or half an hour earlier, shares the bag."""
    club = a_kit_club(BALLS, CALM, teams=2, ball_size_4=5)
    assert breaches(RULE, club, held(club), held(club, start=start, number=1)) == short


def test_each_site_has_its_own() -> None:
    sites = (Site(id="Marsh Lane"), Site(id="Mill Road"))
    pitches = tuple(Pitch(id=s.id, site=s.id, zones=3, openings=hours(FIVE, 21 * 60)) for s in sites)
    club = a_kit_club(BALLS, teams=2, ball_size_4=10).model_copy(update={"sites": sites, "pitches": pitches})
    two = (held(club), held(club, number=1))
    assert breaches(RULE, club, *two) == []
    assert breaches(RULE, club, held(club), held(club, number=1, pitch="Mill Road")) == [5]


def test_what_is_missing_on_a_day_is_not_there() -> None:
    club = a_kit_club(BALLS, ball_size_4=6)
    gone = (club.kit[0].model_copy(update={"missing": ((MONDAY, 2), (MONDAY + dt.timedelta(days=1), 1))}),)
    club = club.model_copy(update={"kit": gone})
    assert [breaches(RULE, club, held(club, day)) for day in (0, 1, 2)] == [[1], [], []]


def test_stations_side_by_side_share_the_players_out() -> None:
    """Five children at two stations, a ball each at one of them: the larger group may be there, three balls."""
    rows = tuple(PlanRow(plan="Evening", block="1", practice=p.id, minutes=30) for p in (BALLS, CALM))
    for balls, short in ((3, []), (2, [1])):
        club = a_kit_club(BALLS, CALM, ball_size_4=balls).model_copy(update={"plans": rows})
        assert breaches(RULE, club, held(club)) == short


def test_only_whoever_comes_needs_kit_and_an_empty_sheet_switches_it_off() -> None:
    club = a_kit_club(BALLS, ball_size_4=4)
    assert breaches(RULE, club, held(club, start=SIX, players=tuple(p.id for p in club.players[:4]))) == []
    assert RULE.off(club) is None
    assert RULE.off(with_asks(a_club(kit=()))) == "the Kit sheet is empty"
