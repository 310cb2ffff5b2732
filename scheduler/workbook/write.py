"""Writing club workbooks from rows: real dates and times, text as text, the same bytes for the same rows."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from scheduler.club.programme import Sizes
from scheduler.club.when import DAY_NAMES
from scheduler.errors import UsageFault
from scheduler.workbook import values
from scheduler.workbook.columns import Column, Kind, Sheet, snake
from scheduler.workbook.sheets import SHEETS
from scheduler.workbook.values import Wrong

FONT = "Arial"
CREATED = dt.datetime(2000, 1, 1)  # a fixed date: the same rows give the same bytes
_TEXT_KINDS = (Kind.TEXT, Kind.LIST, Kind.SIZES, Kind.ZONES, Kind.KIT, Kind.LIMITS, Kind.HOURS, Kind.DAYS, Kind.DATES)


class Formats:
    """The cell formats of one workbook, made once each."""

    def __init__(self, book: Any) -> None:
        self._book = book
        self._made: dict[tuple[tuple[str, object], ...], Any] = {}

    def get(self, **properties: object) -> Any:
        """A format with an explicit font and these properties."""
        full = {"font_name": FONT, "font_size": 10, "valign": "vcenter", **properties}
        key = tuple(sorted(full.items()))
        if key not in self._made:
            self._made[key] = self._book.add_format(full)
        return self._made[key]

    def of(self, column: Column, **properties: object) -> Any:
        """The format of a column's cells. Text columns are text, so that no spreadsheet turns `3-4-5` into a date."""
        if column.kind in _TEXT_KINDS:
            return self.get(num_format="@", text_wrap=True, **properties)
        if column.kind in (Kind.DATE, Kind.DATE_OR_DAYS):
            return self.get(num_format="yyyy-mm-dd", align="left", **properties)
        if column.kind in (Kind.TIME, Kind.LIT):
            return self.get(num_format="hh:mm", align="left", **properties)
        return self.get(align="left", **properties)


def _joined(value: Iterable[object], kind: Kind) -> str:
    if kind is Kind.DAYS:
        return "; ".join(DAY_NAMES[day] if isinstance(day, int) else str(day) for day in value)
    return "; ".join(str(part) for part in value)


def cell_value(value: object, column: Column) -> object:
    """A value as it goes into a cell: dates and times real, truth as yes or no, lists joined by `; `."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Sizes):
        return str(value)
    if isinstance(value, (list, tuple, set, frozenset)):
        return _joined(sorted(value) if isinstance(value, (set, frozenset)) else value, column.kind)
    try:
        if column.kind in (Kind.DATE, Kind.DATE_OR_DAYS) and isinstance(value, str):
            return values.date(value)
        if column.kind is Kind.BORN and isinstance(value, str) and len(value) > 7:
            return values.date(value)
        if column.kind in (Kind.TIME, Kind.LIT) and isinstance(value, str):
            minute = values.time(value)
            return dt.time(minute // 60, minute % 60) if minute < 24 * 60 else value
    except Wrong:
        return value  # written as it stands: the reader names the fault
    return value


def write_cell(worksheet: Any, at: tuple[int, int], value: object, column: Column, formats: Formats,
               **properties: object) -> None:  # fmt: skip
    """Write one cell; nothing becomes a formula or a link."""
    cell = cell_value(value, column)
    style = formats.of(column, **properties)
    if cell is None or cell == "":
        worksheet.write_blank(*at, None, style)
    elif isinstance(cell, (dt.date, dt.time)):
        if column.kind is Kind.BORN:
            style = formats.get(num_format="yyyy-mm-dd", align="left", **properties)
        worksheet.write_datetime(*at, cell, style)
    elif isinstance(cell, (int, float)):
        worksheet.write_number(*at, cell, style)
    else:
        worksheet.write_string(*at, str(cell), style)


def open_book(path: Path) -> tuple[Any, Path]:
    """A new workbook under a temporary name beside its place, and that name."""
    import xlsxwriter

    part = path.with_name(f".{path.name}.part")
    book = xlsxwriter.Workbook(str(part), {"strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"created": CREATED, "title": "Club workbook"})
    return book, part


def close_book(book: Any, part: Path, path: Path) -> None:
    """Finish the workbook and put it in its place in one step."""
    from xlsxwriter.exceptions import FileCreateError

    try:
        book.close()
    except FileCreateError:
        raise UsageFault(f"{path}: cannot be written there; choose a folder that is there and open to you") from None
    os.replace(part, path)


def _cells(row: Mapping[str, object]) -> dict[str, object]:
    return {snake(heading): value for heading, value in row.items()}


def _write_upright(worksheet: Any, sheet: Sheet, row: Mapping[str, object], formats: Formats) -> None:
    bold = formats.get(bold=True)
    for index, heading in enumerate(("Field", "Value")):
        worksheet.write_string(0, index, heading, bold)
    cells = _cells(row)
    number = 1
    for column in sheet.columns:
        if column.key in cells:
            worksheet.write_string(number, 0, column.heading, formats.get())
            write_cell(worksheet, (number, 1), cells[column.key], column, formats)
            number += 1
    worksheet.set_column(0, 1, 22)


def _write_sheet(worksheet: Any, sheet: Sheet, rows: Sequence[Mapping[str, object]], formats: Formats) -> None:
    cells = [_cells(row) for row in rows]
    used = {key for row in cells for key in row}
    columns = [column for column in sheet.columns if column.need == "must" or used & set(column.keys)]
    for index, column in enumerate(columns):
        worksheet.set_column(index, index, column.width)
        worksheet.write_string(0, index, column.heading, formats.get(bold=True, text_wrap=True))
        for number, row in enumerate(cells, 1):
            value = next((row[key] for key in column.keys if key in row), None)
            write_cell(worksheet, (number, index), value, column, formats)
    worksheet.freeze_panes(1, 1)


def _check_known(sheet: Sheet, rows: Iterable[Mapping[str, object]]) -> None:
    unknown = sorted({snake(heading) for row in rows for heading in row} - set(sheet.by_key))
    if unknown:
        raise UsageFault(f"{sheet.name}: there is no column {', '.join(unknown)}")


def write_rows(path: Path, rows: Mapping[str, Any]) -> None:
    """Write a club workbook from rows: sheet name (or key) to rows of heading (or key) to value.

    Only the sheets and columns that are used are written. `UsageFault` for an unknown sheet or column.
    """
    by_key = {snake(name): found for name, found in rows.items() if name != "$schema"}
    unknown = sorted(set(by_key) - {sheet.key for sheet in SHEETS})
    if unknown:
        raise UsageFault(f"there is no sheet {', '.join(unknown)} in a club workbook")
    found = {
        sheet: [by_key[sheet.key]] if isinstance(by_key[sheet.key], Mapping) else by_key[sheet.key]
        for sheet in SHEETS
        if sheet.key in by_key
    }
    for sheet, entries in found.items():
        _check_known(sheet, entries)
    book, part = open_book(path)
    formats = Formats(book)
    for sheet, entries in found.items():
        worksheet = book.add_worksheet(sheet.name)
        if sheet.upright:
            _write_upright(worksheet, sheet, entries[0] if entries else {}, formats)
        else:
            _write_sheet(worksheet, sheet, entries, formats)
    close_book(book, part, path)
