"""Two sessions kept apart in time, said in two ways: tightly, moment by moment, or briefly, by which comes first."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from scheduler.booking.slots import Moment, travel

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.booking.times import Linear, Times

    _OnThen = dict[dt.date, list[tuple[Moment, int, Linear]]]


def keep_apart_by_moments(model: Times, on: IntVar, one: str, other: str, with_travel: bool) -> None:
    """At no start is the other session on, nor (at another site) still on the way; tight but long."""
    sites = [site.id for site in model.club.sites]
    pairs: list[tuple[frozenset[str], frozenset[str], int]] = [(frozenset(sites), frozenset(sites), 0)]
    for a in sites:
        for b in sites:
            way = travel(model.club, a, b) if with_travel else 0
            if way:
                pairs.append((frozenset({a}), frozenset({b}), way))
    for first, second, way in pairs:
        on_then = [_on_then(model, one, first, way), _on_then(model, other, second, way)]
        starts = {(m.date, m.start) for session in (one, other) for m in model.moments(session)}
        for date, minute in sorted(starts):
            uses = [
                [literal for moment, end, literal in by_date.get(date, ()) if moment.start <= minute < end]
                for by_date in on_then
            ]
            if uses[0] and uses[1]:
                model.model.add(sum(uses[0]) + sum(uses[1]) <= 2 - on)


def _on_then(model: Times, session: str, sites: frozenset[str], way: int) -> _OnThen:
    """The moments of a session at some sites by date, each with the minute at which it is over and the way gone."""
    lasts = model.club.session(session).minutes
    found: _OnThen = {}
    for moment, literal in model.moments(session).items():
        if moment.site in sites:
            found.setdefault(moment.date, []).append((moment, moment.start + lasts + way, literal))
    return found


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
