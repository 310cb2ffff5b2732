"""Sheets that print well on A4: one font by name, widths that fill the page, heights by the text, strings as text."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from scheduler.lettering import BETWEEN, lines_in

FONT = "Arial"
SIZE = 10
LINE = 12.0  # points a printed line of 10 points
UNIT = 7 / 8  # of a unit of lettering: this workbook's columns are counted in digits of 10 points
BOLD = ("head", "strong")
WIDER = 1.15  # than the columns ask for: pages are shrunk to their width, and fewer lines are broken
Cell = str | int | float | None


class Book:
    """A workbook with the formats of the welfare file. The same content gives the same bytes."""

    def __init__(self, path: Path, title: str, created: dt.date) -> None:
        import xlsxwriter

        # in memory: nothing about a child lies in temporary files, and it is quicker
        plain = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False,
                 "in_memory": True, "default_format_properties": {"font_name": FONT, "font_size": SIZE}}  # fmt: skip
        self.file: Any = xlsxwriter.Workbook(str(path), plain)
        self.file.set_properties({"title": title, "created": dt.datetime(created.year, created.month, created.day)})
        self.title = title
        base = {"font_name": FONT, "font_size": SIZE, "valign": "top", "text_wrap": True}
        boxed = {**base, "border": 1, "border_color": "#9A9A9A"}
        made = self.file.add_format
        self.formats: dict[str, Any] = {
            "title": made({**base, "font_size": 16, "bold": True, "text_wrap": False}),
            "heading": made({**base, "font_size": 12, "bold": True, "text_wrap": False, "bottom": 1}),
            "text": made(base),
            "lead": made({**base, "font_size": 12}),
            "strong": made({**boxed, "bold": True}),
            "head": made({**boxed, "bold": True, "bg_color": "#E6E6E6"}),
            "cell": made(boxed),
            "number": made({**boxed, "align": "center"}),
            "ratio": made({**boxed, "align": "center", "num_format": "0.00"}),
            "blank": made(boxed),
        }

    def page(self, name: str, widths: Sequence[float], *, landscape: bool = True) -> Page:
        """A new sheet of A4 with these column widths."""
        return Page(self, name, widths, landscape)

    def sheet(self, name: str, *, landscape: bool) -> Any:
        """A new bare sheet of A4, with the footer every page has."""
        sheet: Any = self.file.add_worksheet(name)
        sheet.set_paper(9)
        if landscape:
            sheet.set_landscape()
        sheet.set_margins(left=0.5, right=0.5, top=0.5, bottom=0.7)
        sheet.hide_gridlines(2)
        sheet.set_footer(f'&L&"{FONT}"&8Confidential: welfare officer only&R&"{FONT}"&8&A, page &P of &N')
        return sheet

    def close(self) -> None:
        """Write the file."""
        self.file.close()


class Page:
    """One sheet, filled from the top; `row` is the next free row."""

    def __init__(self, book: Book, name: str, widths: Sequence[float], landscape: bool) -> None:
        self.book, self.widths, self.row = book, [WIDER * width for width in widths], 0
        self.sheet: Any = book.sheet(name, landscape=landscape)
        self.sheet.fit_to_pages(1, 0)
        for column, width in enumerate(self.widths):
            self.sheet.set_column(column, column, width, book.formats["text"])

    def _lines(self, text: str, first: int, last: int, size: float = SIZE, *, bold: bool = False) -> int:
        return lines_in(text, sum(self.widths[first : last + 1]) * UNIT + BETWEEN * (last - first), size, bold)

    def title(self, text: str, under: str = "") -> None:
        """The page's title and a line under it."""
        self.sheet.set_row(self.row, 24)
        self.sheet.write_string(self.row, 0, text, self.book.formats["title"])
        self.row += 1
        if under:
            self.text(under)
        self.gap(6)

    def heading(self, text: str) -> None:
        """A heading over the full width."""
        self.gap(8)
        self.sheet.set_row(self.row, 19)
        for column in range(len(self.widths)):
            self.sheet.write_blank(self.row, column, None, self.book.formats["heading"])
        self.sheet.write_string(self.row, 0, text, self.book.formats["heading"])
        self.row += 1
        self.gap(3)

    def gap(self, points: float) -> None:
        """An empty row of this height."""
        self.sheet.set_row(self.row, points)
        self.row += 1

    def text(self, text: str, kind: str = "text") -> None:
        """A paragraph over the full width."""
        size = 12 if kind == "lead" else SIZE
        lines = self._lines(text, 0, len(self.widths) - 1, size)
        self.sheet.set_row(self.row, lines * LINE * size / SIZE + 3)
        self._span(0, len(self.widths) - 1, text, kind)
        self.row += 1

    def _span(self, first: int, last: int, text: str, kind: str) -> None:
        if last > first:
            self.sheet.merge_range(self.row, first, self.row, last, "", self.book.formats[kind])
        self.sheet.write_string(self.row, first, text, self.book.formats[kind])

    def head(self, names: Sequence[str], *, repeat: bool = False) -> None:
        """The headings of a table; `repeat`: on every printed page, and kept in sight on the screen."""
        self.line(names, kinds=["head"] * len(names))
        if repeat:
            self.sheet.repeat_rows(self.row - 1)
            self.sheet.freeze_panes(self.row, 1)

    def line(self, cells: Sequence[Cell], kinds: Sequence[str] | None = None) -> None:
        """One row of a table, as high as its text; numbers to the right, text always as text."""
        tallest = 1
        for column, value in enumerate(cells):
            kind = kinds[column] if kinds else None
            if value is None:
                self.sheet.write_blank(self.row, column, None, self.book.formats[kind or "cell"])
            elif isinstance(value, str):
                self.sheet.write_string(self.row, column, value, self.book.formats[kind or "cell"])
                tallest = max(tallest, self._lines(value, column, column, bold=kind in BOLD))
            else:
                number = kind or ("ratio" if isinstance(value, float) else "number")
                self.sheet.write_number(self.row, column, value, self.book.formats[number])
        self.sheet.set_row(self.row, tallest * LINE + 3)
        self.row += 1

    def box(self, label: str, height: float) -> None:
        """An empty box to write in, with its label."""
        self.sheet.set_row(self.row, height)
        self.sheet.write_string(self.row, 0, label, self.book.formats["strong"])
        last = len(self.widths) - 1
        if last > 1:
            self.sheet.merge_range(self.row, 1, self.row, last, "", self.book.formats["blank"])
        self.row += 1
