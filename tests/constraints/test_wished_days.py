"""Wished days: the club's own Sessions sheet."""

from __future__ import annotations

import pytest

from constraints.wished_days import WishedDays
from tests.clubs import a_club
from tests.weeks import held, notes, spoken, with_asks

RULE = WishedDays()


@pytest.mark.parametrize(("day", "paid"), [(0, [1]), (1, []), (2, [1]), (3, []), (4, [1]), (6, [1])])
def test_one_for_each_session_on_another_day(day: int, paid: list[int]) -> None:
    club = with_asks(a_club(), wished_days=frozenset({1, 3}))
    assert notes(RULE, club, held(club, day)) == paid
    if day == 0:
        assert spoken(RULE, club, held(club)) == ["Herons 1 is on Mon 7 Sep, wished for Tue, Thu"]


def test_no_wish_costs_nothing_and_switches_it_off() -> None:
    club = a_club()
    assert RULE.off(club) == "no session has a wished day"
    assert notes(RULE, club, held(club)) == []
