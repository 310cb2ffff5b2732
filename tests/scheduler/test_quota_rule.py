"""End-of-week counts against apportionment: rests dealt out to players by attendance, as seats to parties by votes.

The outside view is the `apportionment` package (M. Lackner and others): its largest-remainder method gives everybody
the quota rounded down or up, and no other whole numbers with the same sum come closer to the quotas at the worst
(G. Birkhoff, House monotone apportionment schemes, PNAS 73, 1976: largest remainders are nearest in every norm).
"""

from __future__ import annotations

import math
from fractions import Fraction
from random import Random

import pytest
from apportionment.methods import compute, within_quota

from constraints import RULES
from scheduler.club.club import Club
from scheduler.club.people import Absence
from scheduler.club.programme import Kind, Sizes
from scheduler.club.when import Occurs, Span
from scheduler.outcome import Booked
from scheduler.plan.ledger import ledger
from scheduler.rotation.proofs import least_distance
from scheduler.rotation.rotate import rotate
from tests.clubs import MONDAY
from tests.rotations import EIGHTEEN, a_practice, a_rotation_club, a_squad, booked

REP, STRIDE = 4, 5


def a_pool(number: int) -> Club:
    """Games of three or four a side without keepers; 10 to 16 players, some of them late.

    Late ones come two by two, so that the sides can stay even: with odd sides in bibs the quota can be out of reach.
    """
    random = Random(number)
    players, reps = 2 * random.randint(5, 8), random.randint(6, 12)
    game = a_practice(Kind.GAME, attackers=Sizes(2, 3, random.randint(3, 4)), rep=REP, changeover=STRIDE - REP)
    club = a_rotation_club(a_squad(players), [[game]], reps=reps)
    late = tuple(
        Absence(who=(one.id, two.id), occurs=Occurs(date=MONDAY), span=Span(0, EIGHTEEN + STRIDE * first))
        for one, two in zip(club.players[8::2], club.players[9::2], strict=True)
        if (first := random.randint(-reps, reps - 1)) > 0
    )
    return club.model_copy(update={"absences": late})


@pytest.mark.parametrize("number", range(12))
def test_rests_keep_the_quota_as_largest_remainders_do(number: int) -> None:
    club = a_pool(number)
    outcome = rotate(club, booked(club), RULES)
    assert isinstance(outcome, Booked)
    lines = [line for line in ledger(club, outcome.plan) if line.role == "rest"]
    held = {line.player: int(line.held / REP) for line in lines}
    quotas = {line.player: line.share / REP for line in lines}
    seats = sum(held.values())
    assert sum(quotas.values()) == seats
    votes = list(quotas.values())
    scale = math.lcm(*(quota.denominator for quota in votes))
    whole = [int(quota * scale) for quota in votes]
    told_apart = [10**6 * vote + number for number, vote in enumerate(whole)]  # of equal remainders it takes wrong ones
    best = compute("largest_remainder", told_apart, seats, fractions=True)
    assert within_quota(whole, best)
    assert all(math.floor(quotas[player]) <= held[player] <= math.ceil(quotas[player]) for player in held)
    assert within_quota(whole, list(held.values()))
    nearest = max(abs(Fraction(int(given)) - quota) for given, quota in zip(best, votes, strict=True))
    minutes = {line.player: line.held for line in lines}, {line.player: line.share for line in lines}
    assert least_distance(*minutes, {line.player: line.bound for line in lines}, REP) == nearest
