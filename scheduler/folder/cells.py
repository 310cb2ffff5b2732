"""Cells of an edited timetable: read with care, and turned into names, days, times and zones."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from scheduler.club.when import DAY_NAMES, LONG_DAY_NAMES, day_words, parse_hhmm
from scheduler.errors import Fault, InputFaults
from scheduler.plan.names import plain
from scheduler.workbook.guard import NotAWorkbook, look

MARK = re.compile(r"\s*\bNEW \(was: [^)]*\)")


class NotUnderstood(ValueError):
    """What is wrong with a cell and what would be right."""


class Sheets:
    """The sheets of a workbook and the faults found in them so far."""

    def __init__(self, path: Path) -> None:
        try:
            look(path)
            self.book: Any = _load(path)
        except NotAWorkbook as wrong:
            raise InputFaults((Fault(str(path), str(wrong)),)) from None
        except (KeyError, ValueError, TypeError, AttributeError, IndexError):
            text = "it cannot be read as a workbook; save it again as .xlsx in your spreadsheet program"
            raise InputFaults((Fault(str(path), text),)) from None
        self.faults: list[Fault] = []

    def has(self, sheet: str) -> bool:
        """Whether there is a sheet of this name."""
        return sheet in self.book.sheetnames

    def size(self, sheet: str) -> tuple[int, int]:
        """Rows and columns in use."""
        return int(self.book[sheet].max_row), int(self.book[sheet].max_column)

    def value(self, sheet: str, row: int, column: int) -> object:
        """A cell's value, rows and columns from 0; texts on one line, None where there is nothing."""
        if self.formula(sheet, row, column):
            self.fault(sheet, row, column, "it holds a formula; write the value itself")
            return None
        found: object = self.book[sheet].cell(row + 1, column + 1).value
        return (plain(found) or None) if isinstance(found, str) else found

    def formula(self, sheet: str, row: int, column: int) -> bool:
        """Whether a cell holds a formula; none is ever worked out here."""
        return bool(self.book[sheet].cell(row + 1, column + 1).data_type == "f")

    def text(self, sheet: str, row: int, column: int) -> str:
        """A cell as text; whole numbers without a point, empty where there is nothing."""
        found = self.value(sheet, row, column)
        if isinstance(found, float) and found.is_integer():
            return str(int(found))
        return "" if found is None else str(found)

    def lines(self, sheet: str, row: int, column: int) -> list[str]:
        """A cell's text line by line, each made plain."""
        found = self.book[sheet].cell(row + 1, column + 1).value
        return [plain(part) for part in found.split("\n")] if isinstance(found, str) else []

    def listed(self, sheet: str, row: int, column: int) -> str:
        """A cell that lists names, with line breaks read as commas."""
        if self.value(sheet, row, column) is None:
            return ""
        return ", ".join(self.lines(sheet, row, column)) or self.text(sheet, row, column)

    def merged(self, sheet: str) -> dict[tuple[int, int], tuple[int, int]]:
        """For each merged range, rows and columns from 0: its first cell and its last."""
        ranges = self.book[sheet].merged_cells.ranges
        return {(r.min_row - 1, r.min_col - 1): (r.max_row - 1, r.max_col - 1) for r in ranges}

    def fault(self, sheet: str, row: int, column: int, text: str) -> None:
        """Note what is wrong with a cell."""
        fault = Fault(f"{sheet}!{cell_name(row, column)}", text)
        if fault not in self.faults:
            self.faults.append(fault)


def _load(path: Path) -> Any:
    import warnings

    from scheduler.workbook.light_import import load_workbook

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of parts of a workbook that are not read here
        return load_workbook(path)


def cell_name(row: int, column: int) -> str:
    """`D4` for row 3 and column 3."""
    letters, number = "", column + 1
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{row + 1}"


def listed_names(text: str, known: Sequence[str]) -> tuple[list[str], list[str]]:
    """The names a cell lists, as they are known, and what is none of them.

    Marks of a change are dropped. Names may hold commas, so the longest known name that fits comes first.
    """
    clean = plain(MARK.sub("", text))
    words = {word.strip().casefold(): word.strip() for word in re.split(r"[,;]", clean)}
    by_fold = {name.casefold(): name for name in known}
    ordered = sorted(by_fold, key=len, reverse=True)
    found: list[str] = []
    strange: list[str] = []
    left = clean.casefold()
    while left := left.lstrip(" ,;"):
        fits = next((name for name in ordered if left.startswith(name) and _ends(left, len(name))), None)
        if fits is not None:
            found.append(by_fold[fits])
            left = left[len(fits) :]
        else:
            word, left = re.split(r"[,;]|$", left, maxsplit=1)
            strange.append(words.get(word.strip(), word.strip()))
    return found, strange


def _ends(text: str, at: int) -> bool:
    return at == len(text) or re.match(r"\s*[,;]", text[at:]) is not None


def day_in(value: object, dates: Sequence[dt.date]) -> dt.date:
    """The date a cell means: `Tue 8 Sep`, `Tue`, `2026-09-08`, a real date; NotUnderstood outside the week."""
    if isinstance(value, dt.datetime):
        value = value.date()
    if isinstance(value, dt.date):
        if value in dates:
            return value
    elif isinstance(value, str):
        folded = value.casefold()
        for number, date in enumerate(dates):
            if folded in {day_words(date).casefold(), date.isoformat(), DAY_NAMES[number].casefold(),
                          LONG_DAY_NAMES[number].casefold()}:  # fmt: skip
                return date
    shown = "nothing" if value is None else f"'{value}'"
    raise NotUnderstood(f"{shown} is no day of this week; write one such as {day_words(dates[0])}")


def minute_in(value: object) -> int:
    """The minute of the day a cell means: `18:00` or a real time."""
    if isinstance(value, dt.datetime):
        value = value.time()
    if isinstance(value, dt.time):
        return value.hour * 60 + value.minute
    if isinstance(value, str):
        with suppress(ValueError):  # then it is said below what would be right
            return parse_hhmm(value)
    shown = "nothing" if value is None else f"'{value}'"
    raise NotUnderstood(f"{shown} is no time of day; write one such as 18:00")


def zones_in(value: object, most: int) -> tuple[int, ...]:
    """The zones a cell means: `1; 2`, `1-2`, `2`."""
    if isinstance(value, bool) or value is None:
        text = ""
    elif isinstance(value, float) and value.is_integer():
        text = str(int(value))
    else:
        text = str(value)
    zones: list[int] = []
    for part in re.split(r"[;,\s]+", re.sub(r"\s*(?:-|\u2013|to)\s*", "-", text.strip())):
        match = re.fullmatch(r"(\d{1,2})(?:-(\d{1,2}))?", part)
        if match is None:
            raise NotUnderstood(f"'{text}' is no list of zones; write one such as 1; 2")
        zones += range(int(match[1]), int(match[2] or match[1]) + 1)
    if not zones or min(zones) < 1 or max(zones) > most:
        raise NotUnderstood(f"'{text}' names a zone this pitch does not have; its zones are 1 to {most}")
    return tuple(dict.fromkeys(zones))


def one_of(text: str, known: Mapping[str, str], what: str) -> str:
    """The id behind a name in any case; NotUnderstood where there is none."""
    folded = {name.casefold(): key for name, key in known.items()}
    if text.casefold() not in folded:
        raise NotUnderstood(f"'{text}' is no {what} of this club; write one of {', '.join(list(known)[:8])}")
    return folded[text.casefold()]
