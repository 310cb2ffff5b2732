"""Kit and bibs worked out from the plan: what lies in each area, and what to carry to a site on a day."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.club.programme import KitNeed
from scheduler.club.when import Span
from scheduler.plan.names import join, plain, side_words, site_of
from scheduler.plan.plan import Block, PlannedSession, Station, WeekPlan

BIB = "bib"
OWN_SHIRTS = "own shirts"


@dataclass(frozen=True)
class Carry:
    """So many of one item at one site on one day: the most in use at any minute, from when, and by whom."""

    date: dt.date
    site: str
    item: str
    count: int
    held: int | None
    span: Span
    sessions: tuple[str, ...]


def is_bib(item: str) -> bool:
    """Whether an item is bibs, plain or of a colour."""
    return item.split()[:1] == [BIB]


def item_names(club: Club, need: KitNeed, players: Iterable[str]) -> tuple[str, ...]:
    """The item a need means; `ball` and `goal` by the age rows of the players, several where their ages differ."""
    if need.item not in ("ball", "goal"):
        return (need.item,)
    rows = [club.age_row(club.player(player)) for player in players if club.has("player", player)]
    found = {(row.ball if need.item == "ball" else row.goal) or need.item for row in rows if row is not None}
    return tuple(sorted(found)) or (need.item,)


def at_station(station: Station) -> tuple[str, ...]:
    """Everybody who has a place at a station in any of its reps, in order of first appearance."""
    return tuple(dict.fromkeys(place.player for rep in station.reps for place in rep.places))


def bibs(planned: PlannedSession, station: Station) -> dict[str, int]:
    """For each side in bibs the most of its children in the outfield in any rep; keepers wear a keeper's bib."""
    most: dict[str, int] = {}
    for rep in station.reps:
        for side, count in Counter(p.side for p in rep.places if p.role != "keep" and p.side).items():
            most[side] = max(most.get(side, 0), count)
    return {side: most[side] for side in planned.sides if side in most and side != OWN_SHIRTS}


def _bib_items(club: Club, planned: PlannedSession, station: Station, need: KitNeed) -> Counter[str]:
    """Bibs by the item of their colour where the Kit sheet has it; else one side's worth of the item asked for."""
    worn, held = bibs(planned, station), {row.item for row in club.kit}
    named = Counter({f"{BIB} {side_words(side)}": count for side, count in worn.items()})
    if named and set(named) <= held:
        return named
    return Counter({need.item: max(worn.values(), default=0)})


def amounts(club: Club, planned: PlannedSession, station: Station) -> Counter[str]:
    """Items in use at a station from the block's start to its end; where ages differ the first item is counted."""
    practice, players = club.practice(station.practice), at_station(station)
    found: Counter[str] = Counter()
    for need in practice.kit_per_area:
        found[item_names(club, need, players)[0]] += need.quantity * practice.areas
    for need in practice.kit_per_player:
        if is_bib(need.item):
            for item, count in _bib_items(club, planned, station, need).items():
                found[item] += need.quantity * count
        else:
            found[item_names(club, need, players)[0]] += need.quantity * len(players)
    return +found


def kit_words(club: Club, planned: PlannedSession, station: Station) -> str:
    """`each area 5 x ball size 4, 1 x goal small (10 and 2 in all); bibs 7 green, 6 orange`."""
    practice, players = club.practice(station.practice), at_station(station)
    parts = []
    each = [f"{need.quantity} x {_item(club, need, players)}" for need in practice.kit_per_area]
    if each and practice.areas > 1:
        total = join([str(need.quantity * practice.areas) for need in practice.kit_per_area])
        parts.append(f"each area {', '.join(each)} ({total} in all)")
    elif each:
        parts.append(", ".join(each))
    for need in practice.kit_per_player:
        if not is_bib(need.item):
            parts.append(f"{len(players) * need.quantity} x {_item(club, need, players)}")
        elif worn := bibs(planned, station):
            counts = [f"{need.quantity * n} {side_words(side)}".removesuffix(" bibs") for side, n in worn.items()]
            parts.append(f"bibs {', '.join(counts)}")
    return "; ".join(parts)


def _item(club: Club, need: KitNeed, players: Iterable[str]) -> str:
    return " or ".join(plain(item) for item in item_names(club, need, players))


def carry(club: Club, plan: WeekPlan) -> tuple[Carry, ...]:
    """What each evening needs at each site, items in the order of the Kit sheet, then those it does not list."""
    used: dict[tuple[dt.date, str], list[tuple[Span, str, Counter[str]]]] = {}
    for planned in plan.sessions:
        for block in planned.blocks:
            for station in _known(club, block):
                entry = (block.span, planned.session, amounts(club, planned, station))
                used.setdefault((planned.date, site_of(club, planned)), []).append(entry)
    return tuple(
        line
        for (date, site), entries in sorted(used.items(), key=lambda pair: pair[0])
        for line in _of_evening(club, date, site, entries)
    )


def _known(club: Club, block: Block) -> Iterator[Station]:
    return (station for station in block.stations if club.has("practice", station.practice))


def _of_evening(club: Club, date: dt.date, site: str,
                entries: list[tuple[Span, str, Counter[str]]]) -> Iterator[Carry]:  # fmt: skip
    listed = [row.item for row in club.kit if row.site == site]
    needed = dict.fromkeys(item for _, _, counts in entries for item in counts)
    order = [item for item in dict.fromkeys(listed) if item in needed]
    order += [item for item in needed if item not in listed]
    for item in order:
        moments = sorted({span.start for span, _, counts in entries if counts[item]})
        sums = {
            moment: sum(counts[item] for span, _, counts in entries if span.start <= moment < span.end)
            for moment in moments
        }
        count = max(sums.values())
        first = next(moment for moment in moments if sums[moment] == count)
        then = [(span, session) for span, session, counts in entries if span.start <= first < span.end and counts[item]]
        held = [row.count_on(date) for row in club.kit if row.site == site and row.item == item]
        yield Carry(
            date, site, item, count, sum(held) if held else None,
            Span(first, min(span.end for span, _ in then)), tuple(dict.fromkeys(session for _, session in then)),
        )  # fmt: skip
