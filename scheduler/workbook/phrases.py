"""Values of several words: lists, sizes, kit, limits, hours, zones. Each either reads a value or says what is right."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from contextlib import suppress
from typing import NamedTuple

from scheduler.club.people import Limits
from scheduler.club.programme import KitNeed, Sizes
from scheduler.club.when import DAY_MINUTES, Span
from scheduler.workbook import values
from scheduler.workbook.columns import Column, Kind
from scheduler.workbook.values import Wrong, clean

_ALL_DAYS = frozenset(range(7))


class When(NamedTuple):
    """What a `Date` cell says: a date, or weekdays of every week."""

    date: dt.date | None
    days: frozenset[int]


class Lit(NamedTuple):
    """Whether a pitch is lit, and until when (minute of the day, None: to closing time)."""

    lit: bool
    until: int | None


def parts(value: object) -> tuple[str, ...]:
    """The entries of a list, separated by `;` or line breaks, each once."""
    whole = values.text(value) if not isinstance(value, str) else clean(value)
    found = (values.text(part) for part in re.split(r"[;\n]", whole))
    return tuple(dict.fromkeys(part for part in found if part))


def dates(value: object) -> tuple[dt.date, ...]:
    """One date, or ISO dates separated by `;`."""
    if not isinstance(value, str):
        return (values.date(value),)
    return tuple(values.date(part) for part in parts(value))


def date_or_days(value: object) -> When:
    """A date, or days of every week."""
    if isinstance(value, str) and not re.match(r"\s*\d", value):
        return When(None, values.days(value))
    return When(values.date(value), frozenset())


def sizes(value: object) -> Sizes:
    """`4 (3 to 5)`, `4` (exactly four) or `3-4-5` (least, wanted, most)."""
    if isinstance(value, (dt.date, dt.time)):
        raise Wrong("{} is a date: spreadsheets turn 3-4-5 into dates; write sizes as 4 (3 to 5)")
    plain = clean(str(value)).removesuffix(".0")
    if match := re.fullmatch(r"(\d{1,2})\s*\(\s*(\d{1,2})\s*(?:to|-|\u2013)\s*(\d{1,2})\s*\)", plain):
        wanted, least, most = (int(match[i]) for i in (1, 2, 3))
    elif match := re.fullmatch(r"(\d{1,2})\s*[-\u2013]\s*(\d{1,2})\s*[-\u2013]\s*(\d{1,2})", plain):
        least, wanted, most = (int(match[i]) for i in (1, 2, 3))
    elif re.fullmatch(r"\d{1,2}", plain):
        least = wanted = most = int(plain)
    else:
        raise Wrong("{} does not give sizes, write wanted (least to most) such as 4 (3 to 5), or 4 alone")
    if not 1 <= least <= wanted <= most:
        raise Wrong("{} is out of order, write wanted (least to most) such as 4 (3 to 5), the least at least 1")
    return Sizes(least, wanted, most)


def kit(value: object) -> tuple[KitNeed, ...]:
    """`ball size 4 10; goal 1`: the last word of an entry is the count."""
    found: list[KitNeed] = []
    for part in parts(value):
        item, _, count = part.rpartition(" ")
        if not item or not re.fullmatch(r"\d{1,3}", count) or int(count) < 1:
            raise Wrong("{} has an entry without a count, end each with a whole number such as ball 5; goal 1")
        found.append(KitNeed(item, int(count)))
    return tuple(found)


def limits(value: object) -> Limits:
    """`no contact; no heading; max 30`."""
    found: dict[str, int | bool] = {}
    for part in parts(value):
        plain = part.casefold()
        if plain in ("no contact", "no heading"):
            found[plain.replace(" ", "_")] = True
        elif (match := re.fullmatch(r"max(?:imum)? (\d{1,3})(?: ?min(?:utes)?)?", plain)) and int(match[1]) > 0:
            found["max_minutes"] = int(match[1])
        else:
            raise Wrong("{} is not understood, write no contact; no heading; max 30 or a part of it")
    return Limits.model_validate(found)


def hours(value: object) -> tuple[tuple[frozenset[int], Span], ...]:
    """`Mon 17:00-20:30; Wed-Thu 18:00-21:00`; a day without hours is the whole day."""
    found: list[tuple[frozenset[int], Span]] = []
    for part in parts(value):
        clock = r"(\d{1,2}[:.h]\d{2})\s*(?:-|\u2013|to)\s*(\d{1,2}[:.h]\d{2})"
        match = re.fullmatch(rf"(?P<days>[^\d]*?)\s*(?:{clock})?", part)
        if not match:
            raise Wrong("{} does not give days and hours, write them such as Mon 17:00-20:30; Wed 18:00-21:00")
        on = values.days(match["days"]) if match["days"].strip() else _ALL_DAYS
        span = Span(values.time(match[2]), values.time(match[3])) if match[2] else Span(0, DAY_MINUTES)
        if span.start >= span.end:
            raise Wrong("{} has hours that end before they begin, write them such as Mon 17:00-20:30")
        found.append((on, span))
    return tuple(found)


def zones(value: object) -> tuple[int, ...]:
    """Zone numbers: `1; 2`, `1-3` or `whole` (an empty tuple)."""
    if isinstance(value, (dt.date, dt.time)):
        raise Wrong("{} is a date: spreadsheets turn 1-2 into dates; write zones as 1; 2")
    plain = clean(str(value)).casefold().removesuffix(".0")
    if plain in ("whole", "all"):
        return ()
    found: set[int] = set()
    for part in re.split(r"[;,\n]", plain):
        match = re.fullmatch(r"\s*(\d)\s*(?:(?:-|\u2013|to)\s*(\d))?\s*", part)
        if not match or not 1 <= int(match[1]) <= int(match[2] or match[1]):
            raise Wrong("{} does not give zone numbers, write them such as 1; 2, or whole")
        found.update(range(int(match[1]), int(match[2] or match[1]) + 1))
    return tuple(sorted(found))


def zone_count(value: object) -> int:
    """A number of neighbouring zones; 0 for `whole`."""
    if isinstance(value, (dt.date, dt.time)):
        raise Wrong("{} is a date where a number of zones belongs, write a number such as 2, or whole")
    if isinstance(value, str) and clean(value).casefold() == "whole":
        return 0
    try:
        found = values.whole(value)
    except Wrong:
        raise Wrong("{} is not a number of zones, write a number such as 2, or whole") from None
    values.bounds(found, 1, 6)
    return found


def lit(value: object) -> Lit:
    """Yes, no, or the time the lights go out."""
    with suppress(Wrong):  # then it may be a time
        return Lit(values.yes_no(value), None)
    try:
        return Lit(True, values.time(value))
    except Wrong:
        raise Wrong("{} is not yes, no or the time the lights go out, write yes, no or a time such as 21:00") from None


_READERS: dict[Kind, Callable[[object], object]] = {
    Kind.TEXT: values.text,
    Kind.LIST: parts,
    Kind.WHOLE: values.whole,
    Kind.NUMBER: values.number,
    Kind.DATE: values.date,
    Kind.DATES: dates,
    Kind.DATE_OR_DAYS: date_or_days,
    Kind.BORN: values.born,
    Kind.TIME: values.time,
    Kind.DAYS: values.days,
    Kind.YES_NO: values.yes_no,
    Kind.SIZES: sizes,
    Kind.KIT: kit,
    Kind.LIMITS: limits,
    Kind.HOURS: hours,
    Kind.ZONES: zones,
    Kind.ZONE_COUNT: zone_count,
    Kind.LIT: lit,
    Kind.AGE_GROUP: values.age_group,
    Kind.WARMTH: values.warmth,
}


def _choice(value: object, column: Column) -> str:
    plain = values.yes_no(value) if isinstance(value, bool) else clean(str(value)).casefold()
    found = {True: "yes", False: "no"}.get(plain, plain) if isinstance(plain, bool) else plain
    if found not in column.choices:
        raise Wrong(f"{{}} is not one of the choices, write {' or '.join(column.choices)}")
    return found


def read_value(value: object, column: Column) -> object:
    """The value of one filled cell of this column; `Wrong` with what would be right."""
    if column.kind is Kind.CHOICE:
        return _choice(value, column)
    found = _READERS[column.kind](value)
    if column.kind in (Kind.WHOLE, Kind.NUMBER) and isinstance(found, (int, float)):
        values.bounds(found, column.least, column.most)
    return found
