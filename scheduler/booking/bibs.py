"""Kit by name: bibs of a colour count as bibs, and the two sides of a session are named after what lies at the site."""

from __future__ import annotations

import datetime as dt

from scheduler.club.club import Club

BIB = "bib"
OWN_SHIRTS = "own shirts"


def is_bib(item: str) -> bool:
    """Whether a kit item is bibs, plain or of a colour (`bib`, `bib green`)."""
    return item == BIB or item.startswith(BIB + " ")


def count_at(club: Club, site: str, item: str, date: dt.date | None = None) -> int:
    """How many of an item lie at a site (on a date: less what is missing then); `bib` may be bibs of any name."""
    return sum(
        row.count if date is None else row.count_on(date)
        for row in club.kit
        if row.site == site and (row.item == item or (item == BIB and is_bib(row.item)))
    )


def _side(item: str) -> str:
    return "bibs" if item == BIB else f"bibs {item.removeprefix(BIB + ' ')}"


def sides_at(club: Club, site: str) -> tuple[str, str]:
    """The names of the two sides at a site: the two sets of bibs with the most pieces, else one and own shirts.

    Sets as large as each other stand in the order of the Kit sheet.
    """
    rows = [row for row in club.kit if row.site == site and is_bib(row.item) and row.count]
    rows.sort(key=lambda row: -row.count)
    names = [_side(row.item) for row in rows[:2]]
    if not names:
        return (_side(BIB), OWN_SHIRTS)
    return (names[0], names[1] if len(names) > 1 else OWN_SHIRTS)
