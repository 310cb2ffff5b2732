"""Sheets of the timetable: one font by name at 11 points or more, heights by the text, every text written as text."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from scheduler.lettering import BETWEEN, lines_in

FONT = "Arial"
SIZE = 11
LINE = 14.5  # points a printed line of 11 points
ACROSS, UPRIGHT = 1058, 732  # pixels of A4 between the margins: a column takes 8 a unit and 5
_DARK = "#333333"


class Book:
    """A workbook with the timetable's formats. The same content gives the same bytes."""

    def __init__(self, path: Path, title: str, created: dt.date, number: str) -> None:
        import xlsxwriter

        plain = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False, "in_memory": True,
                 "default_format_properties": {"font_name": FONT, "font_size": SIZE}}  # fmt: skip
        self.file: Any = xlsxwriter.Workbook(str(path), plain)
        self.file.set_properties({"title": title, "created": dt.datetime(created.year, created.month, created.day)})
        self.number, self.week = number, created.isoformat()
        self._names: set[str] = set()
        base = {"font_name": FONT, "font_size": SIZE, "valign": "top", "text_wrap": True}
        boxed = {**base, "border": 1, "border_color": _DARK}
        kinds: dict[str, dict[str, Any]] = {
            "title": {**base, "font_size": 20, "bold": True, "valign": "vcenter"},
            "when": {**base, "font_size": 14, "bold": True, "align": "right", "valign": "vcenter"},
            "heading": {**base, "font_size": 13, "bold": True, "bottom": 2},
            "block": {**base, "font_size": 12, "bold": True, "top": 2, "valign": "vcenter"},
            "beside": {**base, "top": 2, "align": "right", "valign": "vcenter"},
            "text": base,
            "lead": {**base, "font_size": 13},
            "label": {**base, "bold": True},
            "head": {**boxed, "bold": True, "bg_color": "#E8E8E8", "valign": "vcenter"},
            "cell": {**boxed, "valign": "vcenter"},
            "strong": {**boxed, "bold": True, "valign": "vcenter"},
            "rep": {**boxed, "bold": True, "font_size": 12, "align": "center", "valign": "vcenter"},
            "whistle": {**boxed, "bold": True, "valign": "vcenter", "bg_color": "#F4F4F4"},
            "day": {**boxed, "bold": True, "font_size": 12, "valign": "vcenter"},
            "box": {**boxed, "bold": True, "border": 2, "bg_color": "#EDEDED", "valign": "vcenter"},
            "taken": {**boxed, "italic": True, "valign": "vcenter"},
            "grid": {**base, "border": 4, "border_color": "#B0B0B0"},
            "number": {**boxed, "align": "right", "valign": "vcenter"},
            "strip": {**boxed, "font_name": "Courier New", "align": "center", "valign": "vcenter", "text_wrap": False},
        }
        self.formats = {kind: self.file.add_format(of) for kind, of in kinds.items()}

    def page(self, name: str, widths: Sequence[float], *, landscape: bool = False, one: bool = False) -> Page:
        """A new sheet of A4 with columns in these proportions; `one`: shrunk to a single page should it be too long."""
        return Page(self, self.sheet_name(name), widths, landscape, one)

    def keep(self, name: str) -> None:
        """Keep a sheet's name free for later."""
        self._names.add(name.casefold())

    def sheet_name(self, wanted: str) -> str:
        """A name every spreadsheet program takes, not used yet in this book."""
        kept = "".join(" " if letter in "[]:*?/\\" else letter for letter in wanted).strip().strip("'")
        name, number = (kept or "sheet")[:31].strip("' "), 2
        while name.casefold() in self._names or name.casefold() == "history":
            tail = f" {number}"
            name, number = f"{(kept or 'sheet')[: 31 - len(tail)].strip()}{tail}", number + 1
        self._names.add(name.casefold())
        return name

    def close(self) -> None:
        """Write the file."""
        self.file.close()


class Page:
    """One sheet, filled from the top; `row` is the next free row (from 0)."""

    def __init__(self, book: Book, name: str, widths: Sequence[float], landscape: bool, one: bool) -> None:
        self.book, self.widths, self.row, self.name = book, list(widths), 0, name
        self.sheet: Any = book.file.add_worksheet(name)
        self.sheet.set_paper(9)
        if landscape:
            self.sheet.set_landscape()
        self.sheet.set_margins(left=0.3, right=0.3, top=0.3, bottom=0.5)
        self.sheet.center_horizontally()
        self.sheet.fit_to_pages(1, 1 if one else 0)
        self.sheet.hide_gridlines(2)
        # the spreadsheet's own date field turns day and month round with the country it is set to; its time does not
        self.sheet.set_footer(f'&L&"{FONT}"&11{book.number}&R&"{FONT}"&11week of {book.week}, printed at &T')
        stretch = (ACROSS if landscape else UPRIGHT) - 5 * len(self.widths)
        self.widths = [width * stretch / 8 / sum(self.widths) for width in self.widths]
        for column, width in enumerate(self.widths):
            self.sheet.set_column(column, column, width, book.formats["text"])

    @property
    def last(self) -> int:
        """The last column."""
        return len(self.widths) - 1

    def lines(self, text: str, first: int, last: int, size: float = SIZE) -> int:
        """Printed lines of a text over some columns."""
        return lines_in(text, sum(self.widths[first : last + 1]) + BETWEEN * (last - first), size)

    def title(self, text: str, under: str = "") -> None:
        """The page's title and a line under it."""
        self.sheet.set_row(self.row, 28 * lines_in(text, sum(self.widths), 20, True))
        self.span(0, self.last, text, "title")
        self.row += 1
        if under:
            self.text(under)
        self.gap(5)

    def heading(self, text: str, kind: str = "heading") -> None:
        """A heading over the full width."""
        self.sheet.set_row(self.row, 20 * self.lines(text, 0, self.last, 13))
        self.span(0, self.last, text, kind)
        self.row += 1

    def gap(self, points: float) -> None:
        """An empty row of this height."""
        self.sheet.set_row(self.row, points)
        self.row += 1

    def text(self, text: str, kind: str = "text") -> None:
        """A paragraph over the full width."""
        size = 13 if kind == "lead" else SIZE
        self.sheet.set_row(self.row, self.lines(text, 0, self.last, size) * LINE * size / SIZE + 1)
        self.span(0, self.last, text, kind)
        self.row += 1

    def labelled(self, label: str, text: str, columns: int = 1, kind: str = "text") -> None:
        """A label over the first columns and its text over the rest."""
        self.sheet.set_row(self.row, self.lines(text, columns, self.last) * LINE + 1)
        self.span(0, columns - 1, label, "label")
        self.span(columns, self.last, text, kind)
        self.row += 1

    def span(self, first: int, last: int, text: str, kind: str, *, down: int = 0) -> None:
        """A text over some columns of this row, and `down` rows below it, merged where that is more than one cell."""
        form = self.book.formats[kind]
        if last > first or down:
            self.sheet.merge_range(self.row, first, self.row + down, last, "", form)
        self.sheet.write_string(self.row, first, text, form)

    def line(self, cells: Sequence[str | int], kinds: Sequence[str] | None = None) -> None:
        """One row of a table, as high as its text; numbers to the right."""
        tallest = 1
        for column, value in enumerate(cells):
            kind = kinds[column] if kinds else ("cell" if isinstance(value, str) else "number")
            if isinstance(value, str):
                self.sheet.write_string(self.row, column, value, self.book.formats[kind])
                tallest = max(tallest, self.lines(value, column, column))
            else:
                self.sheet.write_number(self.row, column, value, self.book.formats[kind])
        self.sheet.set_row(self.row, tallest * LINE + 4)
        self.row += 1

    def head(self, names: Sequence[str], *, in_sight: bool = True) -> None:
        """The headings of a table, repeated on every printed page; `in_sight`: and kept in sight on the screen."""
        self.line(names, kinds=["head"] * len(names))
        self.sheet.repeat_rows(self.row - 1)
        if in_sight:
            self.sheet.freeze_panes(self.row, 0)
