"""Trades for as long as bibs stay on: the figure is the audit's, every rule still holds, and no number moves."""

from __future__ import annotations

from collections import Counter

import pytest

from constraints import RULES
from constraints.balanced_sides import BalancedSides
from constraints.mixing import Mixing
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.contract import is_rotation_rule
from scheduler.plan.plan import WeekPlan
from scheduler.rotation import quick
from scheduler.rotation.draft import Draft
from scheduler.rotation.places import with_places
from scheduler.rotation.placing import places_of
from scheduler.rotation.setting import laid, settings
from scheduler.rotation.trades import Trades
from tests.booked import random_pool

POOLS = (9, 10, 13, 23)
ROTATION = tuple(rule for rule in RULES if is_rotation_rule(rule))


def a_draft(number: int, monkeypatch: pytest.MonkeyPatch, apart: bool) -> tuple[Club, WeekPlan, Draft]:
    """The draft of a random pool before it is mixed; some children marked under Even-up, two to be kept apart."""
    kept: list[Draft] = []
    monkeypatch.setattr(quick, "places_of", lambda draft: kept.append(draft) or places_of(draft))
    club, plan = random_pool(number)
    squad = [one.model_copy(update={"even_up": (-1, 0, 1)[place % 3]}) for place, one in enumerate(club.players)]
    if apart:
        squad[0] = squad[0].model_copy(update={"apart_from": (squad[-1].id,)})
    blank = club.blank - {"Players.Apart from", "Players.Even-up"}
    club = club.model_copy(update={"players": tuple(squad), "blank": blank})
    plan = plan.model_copy(update={"sessions": tuple(laid(club, one) for one in plan.sessions)})
    quick.rotate_quickly(club, plan, settings(club, plan)[0], mix=False)
    return club, plan, kept[0]


def numbers(draft: Draft) -> list[Counter[tuple[int, int, int]]]:
    """How many of each side have each role in each area, turn by turn."""
    return [
        Counter((draft.sides[one.stay][p], one.role[p], one.area.get(p, 0)) for p in one.field) for one in draft.lineups
    ]


@pytest.mark.parametrize("apart", [False, True])
def test_trades_keep_their_figure_and_break_nothing(apart: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    gained = evened = 0
    for number in POOLS:
        club, plan, draft = a_draft(number, monkeypatch, apart)
        assert bool(draft.apart) is apart
        before = with_places(club, plan, places_of(draft))
        walks = [draft.walk(player) for player in range(len(draft.names))]
        sizes, breaches = numbers(draft), audit(club, before, ROTATION).breaches
        trades = Trades(draft)
        first = trades.value
        assert first == _repeats(club, before)
        reached = trades.run()
        after = with_places(club, plan, places_of(draft))
        assert reached == _repeats(club, after)
        assert (_uneven(club, after), reached) <= (_uneven(club, before), first)
        assert numbers(draft) == sizes
        assert len(audit(club, after, ROTATION).breaches) <= len(breaches)
        now = [draft.walk(player) for player in range(len(draft.names))]
        assert all(one[0] <= two[0] for one, two in zip(now, walks, strict=True))
        assert sum(end for _, end in now) <= sum(end for _, end in walks)
        gained += reached < first
        evened += _uneven(club, after) < _uneven(club, before)
    assert gained
    assert evened or apart


def _repeats(club: Club, plan: WeekPlan) -> int:
    return sum(int(found.by) for found in Mixing().audit(club, plan))


def _uneven(club: Club, plan: WeekPlan) -> int:
    return sum(int(found.by) for found in BalancedSides().audit(club, plan))
