"""The blank club workbook: drop-downs, a note on every heading, default rows, one worked row a sheet."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

from scheduler.defaults import PACKAGED
from scheduler.errors import UsageFault
from scheduler.stopping import unheard
from scheduler.workbook.columns import Column, Kind, Need, Sheet, snake
from scheduler.workbook.sheets import EXAMPLE_MARK, SHEETS, UNREAD_SHEETS
from scheduler.workbook.write import Formats, cell_value, close_book, open_book, write_cell

ROWS = 500
_NEED_WORDS = {
    Need.MUST: "Must be filled.",
    Need.TOGETHER: "Fill in every row, or leave the whole column blank.",
    Need.MAY: "May stay blank.",
}
_START = (
    ("h", "Start here"),
    ("p", "Least to fill in: Club (Name, Week), Pitches (Pitch, Lit, From, To), Teams (Team, Age group, Coaches), "
          "Players (Name, Born, Team), Coaches (Coach). A blank then means what its heading's note says."),
    ("p", "Point at a heading to read its note. Headings in bold must be filled; the others may stay blank."),
    ("p", f"A row whose first filled cell begins with \"{EXAMPLE_MARK}\" is a worked row and is never read. "
          "Type over it or delete it."),
    ("p", "Several entries in one cell are separated by a semicolon: Ana; Ben. Days: Mon; Wed-Fri. Sizes: 4 (3 to 5)."),
    ("p", "Then, in a terminal: evenweek check FILE tells what is wrong or impossible; evenweek plan FILE plans the "
          "week."),
    ("h", "Please read"),
    ("p", "This file holds children's data. Keep it with the head of coaching and the welfare officer; it never needs "
          "to leave this machine. Columns marked Confidential are not shown on cards or noticeboards."),
    ("p", "Ages, Practices and Plans are filled with planning defaults, each with its source or \"common practice\". "
          "They are not medical advice. The rules of your association, safeguarding rules and the judgement of "
          "qualified people come first."),
    ("p", "Goals are anchored before use and never climbed. At the first thunder, leave; back 30 minutes after the "
          "last. A blow to the head: off now, not back today, not left alone, parents told, medical help."),
)  # fmt: skip


def _start_sheet(book: Any, formats: Formats) -> None:
    worksheet = book.add_worksheet(UNREAD_SHEETS[0])
    worksheet.set_column(0, 0, 76)
    worksheet.hide_gridlines(2)
    for number, (kind, words) in enumerate(_START):
        if kind == "h":
            worksheet.write_string(number, 0, words, formats.get(bold=True, font_size=14))
            worksheet.set_row(number, 24)
        else:
            worksheet.write_string(number, 0, words, formats.get(text_wrap=True, font_size=11))
            worksheet.set_row(number, 15 * (1 + len(words) // 84) + 6)
    _page(worksheet, landscape=False)


def _page(worksheet: Any, landscape: bool = True) -> None:
    worksheet.set_paper(9)
    if landscape:
        worksheet.set_landscape()
    worksheet.fit_to_pages(1, 0)
    worksheet.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
    worksheet.set_footer("&L&A&RPage &P of &N")


def _choices(column: Column) -> list[str]:
    if column.kind is Kind.AGE_GROUP:
        return [f"U{age}" for age in range(5, 20)]
    if column.kind is Kind.ZONE_COUNT:
        return [*(str(count) for count in range(1, 7)), "whole"]
    return ["yes", "no"] if column.kind is Kind.LIT else list(column.choices)


def _validation(column: Column) -> dict[str, Any] | None:
    """The rule of a column's cells; wrong entries are refused, and only warned of where more than the list is right."""
    rule: dict[str, Any] = {"error_title": column.heading, "error_message": column.note[:255], "error_type": "stop"}
    listed = _choices(column)
    if listed:
        soft = column.kind is Kind.LIT
        return {**rule, "validate": "list", "source": listed, "error_type": "warning" if soft else "stop"}
    if column.kind is Kind.TEXT and column.refers in (("Teams",), ("Practices",), ("Pitches",), ("Sites",), ("Plans",)):
        soft = column.refers == ("Sites",)
        source = f"={column.refers[0]}!$A$2:$A${ROWS}"
        return {**rule, "validate": "list", "source": source, "error_type": "warning" if soft else "stop"}
    if column.kind is Kind.WHOLE:
        return {**rule, "validate": "integer", "criteria": "between", "minimum": column.least, "maximum": column.most}
    if column.kind is Kind.NUMBER:
        return {**rule, "validate": "decimal", "criteria": "between", "minimum": column.least, "maximum": column.most}
    if column.kind is Kind.TIME:
        return {**rule, "validate": "decimal", "criteria": "between", "minimum": 0, "maximum": 1}
    if column.kind is Kind.DATE:
        first, last = dt.date(1901, 1, 1), dt.date(2199, 12, 31)
        return {**rule, "validate": "date", "criteria": "between", "minimum": first, "maximum": last}
    return None


def _note(worksheet: Any, at: tuple[int, int], column: Column) -> None:
    example = cell_value(column.example, column)
    words = f"{column.note} {_NEED_WORDS[column.need]}"
    if example is not None:
        shown = example.strftime("%H:%M") if isinstance(example, dt.time) else example
        words += f" Example: {shown}"
    size = {"width": 260, "height": 24 + 16 * (1 + len(words) // 40)}
    worksheet.write_comment(*at, words, {"author": "", "font_name": "Arial", "font_size": 9, **size})


def _example_row(worksheet: Any, sheet: Sheet, formats: Formats) -> None:
    style: dict[str, object] = {"italic": True, "font_color": "#595959"}
    marked = False
    for index, column in enumerate(sheet.columns):
        if column.example is None:
            continue
        if marked:
            write_cell(worksheet, (1, index), column.example, column, formats, **style)
        else:
            words = f"{EXAMPLE_MARK} {cell_value(column.example, column)}"
            worksheet.write_string(1, index, words, formats.get(num_format="@", text_wrap=True, **style))
            marked = True


def _sheet(book: Any, sheet: Sheet, formats: Formats) -> None:
    worksheet = book.add_worksheet(sheet.name)
    defaults = PACKAGED.get(sheet.name, ())
    worksheet.set_row(0, 42)
    for index, column in enumerate(sheet.columns):
        example = f"{EXAMPLE_MARK} {column.example}" if index == 0 and not defaults else ""
        worksheet.set_column(index, index, max(column.width, min(24, len(example) + 2)), formats.of(column))
        bold = column.need == Need.MUST
        head = formats.get(
            bold=bold, text_wrap=True, bottom=1, valign="vcenter", bg_color="#D9E2EC" if bold else "#F0F4F8"
        )
        worksheet.write_string(0, index, column.heading, head)
        _note(worksheet, (0, index), column)
        rule = _validation(column)
        if rule:
            worksheet.data_validation(1, index, ROWS, index, rule)
    if defaults:
        for number, row in enumerate(defaults, 1):
            cells = {snake(heading): value for heading, value in row.items()}
            for index, column in enumerate(sheet.columns):
                write_cell(worksheet, (number, index), cells.get(column.key), column, formats)
            long = max(len(str(cells.get(column.key) or "")) / column.width for column in sheet.columns)
            worksheet.set_row(number, 14 * (1 + int(long * 1.05)) + 2)
    else:
        _example_row(worksheet, sheet, formats)
        worksheet.set_row(1, 32)
    worksheet.freeze_panes(1, 1)
    worksheet.set_default_row(16)
    worksheet.repeat_rows(0)
    _page(worksheet)


def _club_sheet(book: Any, sheet: Sheet, formats: Formats) -> None:
    worksheet = book.add_worksheet(sheet.name)
    head = formats.get(bold=True, bottom=1, valign="vcenter", bg_color="#D9E2EC")
    for index, (heading, width) in enumerate((("Field", 18), ("Value", 26), ("Notes", 84))):
        worksheet.write_string(0, index, heading, head)
        worksheet.set_column(index, index, width)
    for number, column in enumerate(sheet.columns, 1):
        worksheet.write_string(number, 0, column.heading, formats.get(bold=column.need == Need.MUST))
        write_cell(worksheet, (number, 1), None, column, formats, border=1)
        _note(worksheet, (number, 0), column)
        example = f" Example: {cell_value(column.example, column)}" if column.example is not None else ""
        words = f"{column.note} {_NEED_WORDS[column.need]}{example}"
        worksheet.write_string(number, 2, words, formats.get(text_wrap=True, font_color="#595959"))
        worksheet.set_row(number, 18 if len(words) < 95 else 30)
        rule = _validation(column)
        if column.heading == "Week":
            rule = {"validate": "custom", "value": f"=WEEKDAY(B{number + 1},2)=1", "error_title": "Week",
                    "error_message": "Write the date of a Monday."}  # fmt: skip
        if rule:
            worksheet.data_validation(number, 1, number, 1, rule)
    worksheet.freeze_panes(1, 0)
    _page(worksheet)


@unheard()
def write_blank(path: Path) -> None:
    """Write a blank club workbook; `UsageFault` where a file of this name is there already or the name is no .xlsx."""
    if path.exists():
        raise UsageFault(f"{path} is there already and is not overwritten; choose another name")
    if path.suffix.casefold() != ".xlsx":
        raise UsageFault(f"{path}: a club workbook ends in .xlsx, such as {path.stem or 'club'}.xlsx")
    if not path.parent.is_dir():
        raise UsageFault(f"{path}: there is no folder {path.parent}; make it first")
    book, part = open_book(path)
    formats = Formats(book)
    _start_sheet(book, formats)
    for sheet in SHEETS:
        if sheet.upright:
            _club_sheet(book, sheet, formats)
        else:
            _sheet(book, sheet, formats)
    close_book(book, part, path)
