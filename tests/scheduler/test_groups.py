"""Groups of pooled evenings of 40 to 80 children at 3 to 6 stations, looked at by counting.

What a group must be is common practice and has no source: sizes within one, a keeper for every goal it meets, nobody
with somebody to be kept apart, in contact no more than two age years, late children and levels dealt out.
"""

from __future__ import annotations

import datetime as dt
from itertools import combinations
from random import Random

import pytest

from constraints import RULES
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.club.people import Absence, KeeperWish, Player
from scheduler.club.programme import Contact, Kind, Sizes
from scheduler.club.when import Occurs, Span
from scheduler.contract import is_rotation_rule
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.rotation.groups import make_groups
from scheduler.rotation.rotate import rotate
from scheduler.rotation.setting import Ring, settings
from tests.clubs import MONDAY
from tests.rotations import EIGHTEEN, a_practice, a_rotation_club, booked

LATE = EIGHTEEN + 12  # within the first block
OLD, YOUNG = dt.date(2012, 3, 1), dt.date(2015, 3, 1)


def an_evening(number: int, *, contact: bool = False) -> Club:
    """Every group visits every station: parts and games in turn. In contact of two ages, whole groups each."""
    random = Random(number)
    stations, size = random.randint(4 if contact else 3, 6), random.randint(12, 14)
    while not 40 <= stations * size <= 80:
        size += 1 if stations * size < 40 else -1
    children = stations * size + (0 if contact else random.randint(0, min(stations - 1, 80 - stations * size)))
    rough = Contact.SOME if contact else Contact.NONE
    row = [
        a_practice(Kind.PART if i % 2 else Kind.GAME, f"station {i}", areas=2 if i % 2 else 1, keepers=1, contact=rough,
                   attackers=Sizes(2, 3, 5), defenders=Sizes(1, 2, 4) if i % 2 else None)
        for i in range(stations)
    ]  # fmt: skip
    old = size * random.randint(2, max(2, stations - 2))  # two groups at least, for those to be kept apart
    squad = [a_player(random, number=i, born=OLD if i < old else YOUNG) for i in range(children)]
    for group in range(stations):  # enough who may keep, whatever their age
        for child in range(group * size, group * size + 4):
            squad[child] = squad[child].model_copy(update={"keeper": KeeperWish.WILLING})
    for one in random.sample(range(children - 1), 5):
        squad[one] = squad[one].model_copy(update={"apart_from": (squad[one + 1].id,)})
    club = a_rotation_club(squad, [row] * stations, reps=2)
    late = Absence(who=tuple(child.id for child in random.sample(squad, stations)), occurs=Occurs(date=MONDAY),
                   span=Span(0, LATE))  # fmt: skip
    return club.model_copy(update={"absences": (late,)})


def a_player(random: Random, number: int, born: dt.date) -> Player:
    name = f"child {number:02}"
    level = random.randint(-1, 1)
    return Player(id=name, name=name, called=name, born=born, team="Herons", keeper=KeeperWish.NO, even_up=level)


def grouped(club: Club) -> tuple[WeekPlan, Ring, dict[int, list[Player]], int]:
    plan = booked(club)
    (ring,) = settings(club, plan)
    found, faults = make_groups(club, plan, ring)
    groups: dict[int, list[Player]] = {}
    for (player, _), group in found.items():
        groups.setdefault(group, []).append(club.player(player))
    return plan, ring, groups, faults


@pytest.mark.parametrize("contact", [False, True])
@pytest.mark.parametrize("number", range(6))
def test_groups_of_a_pooled_evening(number: int, contact: bool) -> None:
    club = an_evening(number, contact=contact)
    _, ring, groups, faults = grouped(club)
    assert faults == 0
    sizes = [len(mates) for mates in groups.values()]
    assert sum(sizes) == len(club.players)
    assert 40 <= sum(sizes) <= 80
    assert max(sizes) - min(sizes) <= 1
    for group, mates in groups.items():
        for one, two in combinations(mates, 2):
            assert two.id not in one.apart_from
            assert one.id not in two.apart_from
        for turn in ring.turns:
            if turn.groups == (group,):
                keep = [child for child in mates if child.id in turn.there and child.keeper is not KeeperWish.NO]
                assert len(keep) >= turn.goals
        if contact:
            assert len({child.born for child in mates}) == 1
    on_time = [sum(child.id not in club.absences[0].who for child in mates) for mates in groups.values()]
    levels = [sum(child.even_up for child in mates) for mates in groups.values()]
    if not contact:
        assert max(on_time) - min(on_time) <= 1
        assert max(levels) - min(levels) <= 2


@pytest.mark.parametrize(("number", "contact"), [(0, False), (3, True)])
def test_a_pooled_evening_is_lawful(number: int, contact: bool) -> None:
    club = an_evening(number, contact=contact)
    outcome = rotate(club, booked(club), RULES)
    assert isinstance(outcome, Booked)
    assert audit(club, outcome.plan, [rule for rule in RULES if is_rotation_rule(rule)]).breaches == ()
