"""What a child must lose by counting alone, against every way of leaving out and cutting short."""

from __future__ import annotations

from itertools import combinations, product
from random import Random

import pytest

from scheduler.booking.losses import Caps, Worth, least_lost, minutes_for


def by_trying(worths: dict[str, Worth], caps: Caps) -> int:
    """The least of every subset of sessions, each cut at its end by every number of minutes."""
    best = sum(worth.can for worth in worths.values())
    for number in range(len(worths) + 1):
        for kept in combinations(worths.values(), number):
            for cuts in product(*(range(worth.stays + 1) for worth in kept)):
                there = sum(worth.stays for worth in kept) - sum(cuts)
                load = sum(worth.loads[cut] for worth, cut in zip(kept, cuts, strict=True))
                lawful = (
                    (caps.sessions is None or number <= caps.sessions)
                    and (caps.minutes is None or there <= caps.minutes)
                    and (caps.load is None or load <= caps.load)
                )
                if lawful:
                    best = min(best, sum(worth.can for worth in worths.values()) - there)
    return best


def a_worth(random: Random) -> Worth:
    can = random.randint(3, 8)
    stays = can - random.choice((0, 0, 2))
    loads = [0]
    for _ in range(stays):
        loads.insert(0, loads[0] + random.randint(1, 9))
    return Worth(can, stays, tuple(loads))


@pytest.mark.parametrize("seed", range(40))
def test_as_little_is_lost_as_any_way_of_cutting_would(seed: int) -> None:
    random = Random(seed)
    worths = {f"session {n}": a_worth(random) for n in range(random.randint(1, 3))}
    whole = sum(worth.loads[0] for worth in worths.values())
    caps = Caps(
        sessions=random.choice((None, 1, 2)),
        minutes=random.choice((None, random.randint(0, 15))),
        load=random.choice((None, random.randint(0, whole))),
    )
    assert least_lost(worths, caps) == by_trying(worths, caps)


def test_nothing_is_lost_without_caps() -> None:
    assert least_lost({"Monday": Worth(60, 60), "Thursday": Worth(75, 75)}, Caps()) == 0


def test_where_the_load_depends_on_the_slot_it_is_left_out_of_the_count() -> None:
    known, unknown = Worth(2, 2, (10, 5, 0)), Worth(2, 2)
    assert least_lost({"Monday": known}, Caps(load=5)) == 1
    assert least_lost({"Monday": unknown}, Caps(load=5)) == 0


def test_minutes_come_from_the_session_where_they_gain_most() -> None:
    slow, quick = [0, 1, 2, 3], [0, 2, 4, 12]
    assert [minutes_for([slow, quick], wanted, 9) for wanted in (0, 1, 2, 4, 5, 12, 13)] == [0, 1, 1, 2, 3, 3, 4]
    assert minutes_for([slow], 99, 9) == 9
