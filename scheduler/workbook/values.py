"""Single values of a cell: text, numbers, dates, times and days. Each either reads a value or says what would be right.

A cell holds what a spreadsheet or JSON gives: text, a number, a truth value, a date, a time or a duration. `Wrong`
carries what is wrong and what would be right; `{}` in it stands for the value, which confidential columns never quote.
"""

from __future__ import annotations

import calendar
import datetime as dt
import math
import re
import unicodedata

from scheduler.club.when import DAY_MINUTES, DAY_NAMES, LONG_DAY_NAMES, parse_hhmm

_INVISIBLE = re.compile("[\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2064\u2066-\u2069\ufeff]")
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]00:00(?::00(?:\.0+)?)?)?")
_MONTH = re.compile(r"(\d{4})-(\d{1,2})")
FIRST_YEAR, LAST_YEAR = 1900, 2200


class Wrong(ValueError):
    """What is wrong with a value and what would be right; `{}` stands for the value."""


def clean(text: str) -> str:
    """Text in one Unicode form (NFKC), without invisible characters, outer blanks and doubled blanks in a line."""
    plain = _INVISIBLE.sub("", unicodedata.normalize("NFKC", text))
    plain = "".join(c if c in "\n\t" or unicodedata.category(c) != "Cc" else " " for c in plain)
    lines = (" ".join(line.split()) for line in plain.splitlines())
    return "\n".join(line for line in lines if line)


def is_blank(value: object) -> bool:
    """Whether a cell counts as empty."""
    return value is None or (isinstance(value, str) and not clean(value))


def shown(value: object) -> str:
    """A value as a message quotes it, cut to a readable length."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime):
        return value.strftime("%Y-%m-%d %H:%M") if value.time() != dt.time() else value.strftime("%Y-%m-%d")
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    text = clean(str(value)).replace("\n", "; ")
    return f"'{text[:40]}...'" if len(text) > 43 else f"'{text}'" if isinstance(value, str) else text


def text(value: object) -> str:
    """A line of text; whole numbers are read as written."""
    if isinstance(value, bool):
        raise Wrong("{} is a yes/no value, write text")
    if isinstance(value, (dt.date, dt.time, dt.timedelta)):
        raise Wrong("{} is a date or time, write text (put an apostrophe before it, or format the cell as text)")
    if isinstance(value, float) and not value.is_integer():
        raise Wrong("{} is a number, write text")
    if isinstance(value, float):
        value = int(value)
    plain = clean(str(value)).replace("\n", " ")
    if len(plain) > 500:
        raise Wrong("{} is longer than 500 characters, write a shorter text")
    return plain


def number(value: object) -> float:
    """A number; digits typed as text are read too."""
    if isinstance(value, str):
        plain = clean(value).replace("\u2212", "-")
        if re.fullmatch(r"[-+]?\d{1,15}(?:\.\d{1,15})?", plain):
            return float(plain)
        if re.fullmatch(r"[-+]?\d{1,15},\d{1,15}", plain):
            return float(plain.replace(",", "."))
        raise Wrong("{} is not a number, write digits only")
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise Wrong("{} is not a number, write digits only (and format the cell as a number)")
    if isinstance(value, int) and abs(value) > 10**15:
        raise Wrong("the number is far too large, write a smaller one")
    if not math.isfinite(value):
        raise Wrong("{} is not a number, write digits only")
    return float(value)


def whole(value: object) -> int:
    """A whole number."""
    found = number(value)
    if not found.is_integer():
        raise Wrong("{} is not a whole number, write one without decimals")
    return int(found)


def bounds(value: float, least: float | None, most: float | None) -> None:
    """Raise `Wrong` where a number lies outside its bounds, both included."""
    if least is not None and most is not None and not least <= value <= most:
        raise Wrong(f"{{}} is outside what is possible, write a number from {least:g} to {most:g}")


def _a_date(year: int, month: int, day: int) -> dt.date:
    try:
        found = dt.date(year, month, day)
    except ValueError:
        raise Wrong("{} is not a day of the calendar, write one such as 2026-09-07") from None
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise Wrong(f"{{}} is not a likely date, write one between {FIRST_YEAR + 1} and {LAST_YEAR}")
    return found


def date(value: object) -> dt.date:
    """A date: a real spreadsheet date or ISO text."""
    if isinstance(value, dt.datetime):
        if value.time() != dt.time():
            raise Wrong("{} has a time of day in it, write the date alone")
        return _a_date(value.year, value.month, value.day)
    if isinstance(value, dt.date):
        return value
    if isinstance(value, str):
        plain = clean(value)
        if match := _ISO.fullmatch(plain):
            return _a_date(int(match[1]), int(match[2]), int(match[3]))
        if _MONTH.fullmatch(plain):
            raise Wrong("{} is a month, give the day too, such as 2026-09-07")
        raise Wrong("{} is text, not a date; write a real date, or year-month-day such as 2026-09-07")
    if isinstance(value, (int, float)) and not isinstance(value, bool) and 20000 < value < 80000:
        raise Wrong("{} is a number where a date belongs; format the cell as a date")
    raise Wrong("{} is not a date, write one such as 2026-09-07")


def born(value: object) -> dt.date:
    """A birth date; a year alone or a year and month is read as its last day, the youngest possible."""
    if isinstance(value, (int, float)) and not isinstance(value, bool) and FIRST_YEAR <= value <= LAST_YEAR:
        return dt.date(whole(value), 12, 31)
    if isinstance(value, str):
        plain = clean(value)
        if re.fullmatch(r"\d{4}", plain):
            return _a_date(int(plain), 12, 31)
        if match := _MONTH.fullmatch(plain):
            year, month = int(match[1]), int(match[2])
            if not 1 <= month <= 12 or year < 1:
                raise Wrong("{} is not a month, write one such as 2014-05")
            return _a_date(year, month, calendar.monthrange(year, month)[1])
    return date(value)


def time(value: object) -> int:
    """Minutes after midnight; 24:00 is 1440."""
    if isinstance(value, dt.datetime):
        if value == dt.datetime(1900, 1, 1) or value == dt.datetime(1904, 1, 2):  # how spreadsheets keep 24:00
            return DAY_MINUTES
        raise Wrong("{} is a date where a time belongs, write one such as 18:00")
    if isinstance(value, dt.timedelta):
        return _minute(value.total_seconds() / 60)
    if isinstance(value, dt.time):
        return _minute(value.hour * 60 + value.minute + (value.second + value.microsecond / 1e6) / 60)
    if isinstance(value, str):
        try:
            return parse_hhmm(clean(value))
        except ValueError:
            raise Wrong("{} is not a time, write one between 00:00 and 24:00 such as 18:00") from None
    if isinstance(value, float) and 0 < value < 1:  # a time in a cell without a time format
        return _minute(value * DAY_MINUTES)
    raise Wrong("{} is not a time, write one such as 18:00")


def _minute(minutes: float) -> int:
    nearest = round(minutes)
    if abs(minutes - nearest) > 1 / 60 or not 0 <= nearest <= DAY_MINUTES:
        raise Wrong("{} is not a time in whole minutes, write one between 00:00 and 24:00 such as 18:00")
    return nearest


def yes_no(value: object) -> bool:
    """Yes or no."""
    if isinstance(value, bool):
        return value
    plain = clean(value).casefold() if isinstance(value, str) else ""
    if plain in ("yes", "y", "true"):
        return True
    if plain in ("no", "n", "false"):
        return False
    raise Wrong("{} is not yes or no, write yes or no")


def _day(word: str) -> int:
    plain = word.strip().rstrip(".").casefold()
    for index, (short, full) in enumerate(zip(DAY_NAMES, LONG_DAY_NAMES, strict=True)):
        if plain == short.casefold() or (len(plain) > 3 and full.casefold().startswith(plain)):
            return index
    raise Wrong("{} does not name days, write days such as Mon; Wed-Fri")


def days(value: object) -> frozenset[int]:
    """Weekdays, Monday 0: `Mon; Wed-Fri`; a range may run over the weekend, `Sat-Mon`."""
    if isinstance(value, (dt.date, dt.time)):
        raise Wrong("{} is a date where days of the week belong, write days such as Mon; Wed-Fri")
    found: set[int] = set()
    for part in re.split(r"[;,\n]", clean(str(value))):
        if not part.strip():
            continue
        ends = [_day(word) for word in re.split(r"\s*(?:-|\u2013|\bto\b)\s*", part.strip())]
        if len(ends) > 2:
            raise Wrong("{} does not name days, write days such as Mon; Wed-Fri")
        span = (ends[-1] - ends[0]) % 7
        found.update((ends[0] + step) % 7 for step in range(span + 1))
    if not found:
        raise Wrong("{} does not name days, write days such as Mon; Wed-Fri")
    return frozenset(found)


def age_group(value: object) -> int:
    """`U14`, `Under 14` or 14."""
    match = re.fullmatch(r"(?:u|under)?[ -]?(\d{1,2})s?", clean(str(value)).casefold().removesuffix(".0"))
    if not match or not 4 <= int(match[1]) <= 21:
        raise Wrong("{} is not an age group, write one from U4 to U21 such as U14")
    return int(match[1])


def warmth(value: object) -> float:
    """A temperature in degrees Fahrenheit from `31 C`, `88 F` or a bare number, read as Fahrenheit."""
    plain = clean(str(value)).upper().replace("\u00b0", "").replace("DEG", "").replace("\u2212", "-")
    match = re.fullmatch(r"([-+]?\d{1,3}(?:[.,]\d{1,3})?)\s*([CF]?)", plain)
    if not match:
        raise Wrong("{} is not a temperature, write one with its unit such as 31 C or 88 F")
    degrees = float(match[1].replace(",", "."))
    return round(degrees * 9 / 5 + 32, 3) if match[2] == "C" else degrees
