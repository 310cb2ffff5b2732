"""Two sessions kept apart in time, said in two ways: tightly, moment by moment, or briefly, by which comes first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import TYPE_CHECKING

from scheduler.booking.slots import travel

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.booking.times import Linear, Times

    Spells = list[tuple[dt.date, int, int, Linear]]


def keep_apart_by_moments(model: Times, on: IntVar, one: str, other: str, with_travel: bool) -> None:
    """At no minute are both on; with travel, while the one is on at a site the other is not on its way either.

    Tight but long: a row for every greatest set of moments of the two that lie across one minute.
    """
    sites = [site.id for site in model.club.sites]
    everywhere = dict.fromkeys(sites, 0)
    _never_both(model, on, _spells(model, one, everywhere), _spells(model, other, everywhere))
    for here in sites if with_travel else ():
        ways = {site: travel(model.club, here, site) for site in sites}
        if any(ways.values()):
            _never_both(model, on, _spells(model, one, {here: 0}), _spells(model, other, ways))


def _spells(model: Times, session: str, ways: Mapping[str, int]) -> Spells:
    """The moments of a session at some sites: date, first and last minute with the way there and back, and literal."""
    lasts = model.club.session(session).minutes
    return [
        (moment.date, moment.start - ways[moment.site], moment.start + lasts + ways[moment.site], literal)
        for moment, literal in model.moments(session).items()
        if moment.site in ways
    ]


def _never_both(model: Times, on: IntVar, first: Spells, second: Spells) -> None:
    """No spell of the first and one of the second across any minute of a day."""
    for date in sorted({spell[0] for spell in first} & {spell[0] for spell in second}):
        today = [(of, spell) for of, spells in enumerate((first, second)) for spell in spells if spell[0] == date]
        across = [
            {number for number, (_, (_, start, end, _)) in enumerate(today) if start <= minute < end}
            for minute in sorted({start for _, (_, start, _, _) in today})
        ]
        both = [numbers for numbers in across if len({today[number][0] for number in numbers}) == 2]
        for before, here, after in zip([set[int](), *both], both, [*both[1:], set[int]()], strict=False):
            if not (here < before or here <= after):  # the row of the minute before or after says as much
                model.model.add(sum(today[number][1][3] for number in sorted(here)) <= 2 - on)


def keep_apart_by_order(model: Times, on: IntVar, one: str, other: str) -> None:
    """One session ends before the other starts, on the clock of the whole week, travel included; short but loose."""
    cp = model.model
    first = cp.new_bool_var(f"first[{one}|{other}]")
    sites = [site.id for site in model.club.sites]
    at = {(s, site): model.at_site(s, site) for s in (one, other) for site in sites}
    for early, late, order in ((one, other, first), (other, one, ~first)):
        lasts = model.club.session(early).minutes
        row = cp.add(model.minute(late) - model.minute(early) >= lasts)
        row.only_enforce_if([on, order])
        for a in sites:
            for b in sites:
                way = travel(model.club, a, b)
                given = [literal for literal in (at[early, a], at[late, b]) if not isinstance(literal, int)]
                if way and 0 not in (x for x in (at[early, a], at[late, b]) if isinstance(x, int)):
                    row = cp.add(model.minute(late) - model.minute(early) >= lasts + way)
                    row.only_enforce_if([on, order, *given])
