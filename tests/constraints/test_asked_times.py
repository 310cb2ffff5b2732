"""Days and times asked for: the club's own Sessions sheet is the source, each cell in pairs just inside and outside."""

from __future__ import annotations

from typing import Any

import pytest

from constraints.asked_times import AskedTimes
from scheduler.club.places import Pitch, Site
from scheduler.club.programme import HeldAt
from tests.clubs import a_club
from tests.weeks import FIVE, SIX, breaches, held, hours, spoken, with_asks

RULE = AskedTimes()
SITES = (Site(id="Marsh Lane"), Site(id="Mill Road"))
GROUNDS = tuple(
    Pitch(id=name, site=site, zones=3, openings=hours(FIVE, 21 * 60))
    for name, site in (("North", "Marsh Lane"), ("South", "Marsh Lane"), ("Mill", "Mill Road"))
)


@pytest.mark.parametrize(
    ("asked", "inside", "outside", "by"),
    [
        ({"days": frozenset({0, 1})}, {"day": 1}, {"day": 2}, 1),
        ({"earliest": SIX}, {"start": SIX}, {"start": SIX - 1}, 1),
        ({"latest": SIX + 75}, {"start": SIX}, {"start": SIX + 1}, 1),
        ({"sites": ("Marsh Lane",)}, {"pitch": "South"}, {"pitch": "Mill"}, 1),
        ({"pitches": ("South", "Mill")}, {"pitch": "Mill"}, {"pitch": "North"}, 1),
        ({"held_at": HeldAt(1, None, None, ())}, {"day": 1, "start": SIX}, {"day": 2}, 1),
        ({"held_at": HeldAt(None, SIX, None, ())}, {"day": 3, "start": SIX}, {"start": SIX + 15}, 1),
        ({"held_at": HeldAt(None, None, "South", ())}, {"pitch": "South"}, {"pitch": "North"}, 1),
        ({"held_at": HeldAt(None, None, "North", (2,))}, {"zones": (2,)}, {"zones": (1,)}, 1),
        ({"held_at": HeldAt(None, None, "North", (2,))}, {"zones": (2,)}, {"zones": (2, 3)}, 1),
        ({}, {"day": 6, "start": 0}, None, 0),
    ],
)
def test_just_inside_and_just_outside(asked: dict[str, Any], inside: Any, outside: Any, by: int) -> None:
    club = with_asks(a_club(sites=SITES, pitches=GROUNDS), **asked)
    assert breaches(RULE, club, held(club, **inside)) == []
    if outside is not None:
        assert breaches(RULE, club, held(club, **outside)) == [by]


def test_sentences() -> None:
    asked = {"days": frozenset({0, 1}), "earliest": SIX, "latest": SIX + 60, "pitches": ("South",),
             "held_at": HeldAt(0, SIX, "South", (1, 2))}  # fmt: skip
    club = with_asks(a_club(sites=SITES, pitches=GROUNDS), **asked)
    assert spoken(RULE, club, held(club, day=2, start=SIX - 5)) == [
        "Herons 1 is on Wed 9 Sep, asked for Mon, Tue",
        "Herons 1 starts at 17:55, before 18:00",
        "Herons 1 ends at 19:10, after 19:00",
        "Herons 1 is on North, asked for South",
        "Herons 1 is not where it is held by hand: Mon 18:00 South zone 1, 2",
    ]
