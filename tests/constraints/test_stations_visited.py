"""Groups move round."""

from __future__ import annotations

from constraints.stations_visited import StationsVisited
from scheduler.club.programme import Kind
from scheduler.plan.plan import Place
from scheduler.rotation.places import with_places
from scheduler.rotation.setting import settings
from tests.rotations import a_practice, a_rotation_club, a_squad, booked

ONE, TWO = a_practice(Kind.GAME, name="one"), a_practice(Kind.GAME, name="two")


def visited(*path: tuple[int, int, int], blocks: int = 2) -> list[str]:
    """One child's way: (block, station, group)."""
    club = a_rotation_club(a_squad(1), [[ONE, TWO]] * blocks)
    plan = booked(club)
    keys = {turn.key: [] for turn in settings(club, plan)[0].turns}
    for block, station, group in path:
        keys["Herons 1", block, station, 1] = [Place(player="Ivo", group=group, area=1, side="red", role="play")]
    return [found.text for found in StationsVisited().audit(club, with_places(club, plan, keys))]


def test_each_station_once() -> None:
    assert visited((1, 1, 1), (2, 2, 1)) == []
    assert visited((1, 1, 1), (2, 1, 2)) == [
        "Herons 1: Ivo is moved from group 1 to another",
        "Herons 1: Ivo comes to the same station twice",
    ]


def test_a_second_time_round_begins_once_all_have_been_visited() -> None:
    """Four blocks of the same two stations: round twice. In the wrong order the second time is still once each."""
    assert visited((1, 1, 1), (2, 2, 1), (3, 1, 1), (4, 2, 1), blocks=4) == []
    assert visited((1, 1, 1), (2, 2, 1), (3, 2, 1), (4, 1, 1), blocks=4) == []
    assert visited((1, 1, 1), (2, 2, 1), (3, 1, 1), (4, 1, 1), blocks=4) == [
        "Herons 1: Ivo comes to the same station twice"
    ]
