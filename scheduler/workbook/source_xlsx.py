"""The club as a workbook: row 1 holds the headings, cells keep their addresses. Formulas are never evaluated."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NoReturn

from scheduler.errors import Fault, InputFaults
from scheduler.workbook.columns import Sheet, snake
from scheduler.workbook.guard import MAX_COLUMNS, MAX_ROWS, NotAWorkbook, look
from scheduler.workbook.rows import Findings, Row, Table, is_example, known_key, known_sheet
from scheduler.workbook.sheets import SHEETS
from scheduler.workbook.values import is_blank, shown

_UNCALCULATED = object()
_KNOWN = frozenset(sheet.key for sheet in SHEETS)
_FORMULA_TEXT = "holds a formula that was never calculated, open and save the file once in a spreadsheet program"


class _Error(str):
    """An error value such as #N/A."""


def _no(path: Path, what: str) -> NoReturn:
    raise InputFaults((Fault(path.name, what),))


def _month_only(value: Any, number_format: str) -> object:
    """A date shown without its day (`mmm-yy`) is what a spreadsheet makes of a typed year and month."""
    plain = re.sub(r'"[^"]*"|\[[^\]]*\]|\\.', "", number_format.casefold())
    if hasattr(value, "year") and "y" in plain and "d" not in plain and "h" not in plain:
        return f"{value.year}-{value.month:02d}" if "m" in plain else f"{value.year}"
    return value


def _grid(worksheet: Any) -> list[list[object]]:
    worksheet.reset_dimensions()  # a declared size may be false, and rows beyond it would be dropped
    grid: list[list[object]] = []
    for cells in worksheet.iter_rows(max_row=MAX_ROWS + 1, max_col=MAX_COLUMNS):
        line: list[object] = []
        for cell in cells:
            value = cell.value
            if value is not None and cell.data_type == "e":
                value = _Error(value)
            elif value is not None and cell.is_date:
                value = _month_only(value, cell.number_format or "")
            line.append(value)
        grid.append(line)
    if any(not is_blank(value) for line in grid[MAX_ROWS:] for value in line):
        raise NotAWorkbook(f"sheet {worksheet.title} has more than {MAX_ROWS} rows, far more than any club needs")
    return grid


def _mark_formulas(worksheet: Any, grid: list[list[object]]) -> None:
    worksheet.reset_dimensions()
    for line, cells in zip(grid, worksheet.iter_rows(max_row=MAX_ROWS, max_col=MAX_COLUMNS), strict=False):
        for index, cell in enumerate(cells):
            if index < len(line) and line[index] is None and cell.data_type == "f":
                line[index] = _UNCALCULATED


def _grids(path: Path, formulas: bool) -> dict[str, list[list[object]]]:
    """The cells of every known sheet by its title; of others the title alone."""
    import warnings

    from scheduler.workbook.light_import import load_workbook

    grids: dict[str, list[list[object]]] = {}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library warns of decorations it does not keep; nothing is written back
        book = load_workbook(path, read_only=True, data_only=True, keep_links=False)
        try:
            for worksheet in book.worksheets:
                grids[worksheet.title] = _grid(worksheet) if snake(worksheet.title) in _KNOWN else []
        finally:
            book.close()
        if formulas:
            book = load_workbook(path, read_only=True, data_only=False, keep_links=False)
            try:
                for worksheet in book.worksheets:
                    if grids.get(worksheet.title):
                        _mark_formulas(worksheet, grids[worksheet.title])
            finally:
                book.close()
    return grids


def _letter(index: int) -> str:
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def _headings(table: Table, line: list[object], findings: Findings) -> dict[int, str]:
    sheet = table.sheet
    found: dict[int, str] = {}
    for index, value in enumerate(line):
        if is_blank(value) or value is _UNCALCULATED:
            continue
        where = f"{sheet.name}!{_letter(index)}1"
        key = known_key(sheet, str(value), where, findings)
        if key in table.headings:
            findings.add_sheet(sheet, where, f"the heading {shown(value)} stands twice, keep one of the two columns")
        elif key is not None:
            table.headings.add(key)
            found[index] = key
    return found


def _checked(row: Row, key: str, value: object, findings: Findings) -> None:
    if value is _UNCALCULATED:
        row.bad.add(key)
        findings.add(row, key, _FORMULA_TEXT)
    elif isinstance(value, _Error):
        row.bad.add(key)
        findings.add(row, key, f"holds the error {value}, type the value instead")
    else:
        row.raw[key] = value


def _rows(table: Table, lines: Iterable[list[object]], columns: dict[int, str], findings: Findings) -> None:
    sheet = table.sheet
    for number, line in enumerate(lines, 2):
        filled = {index: value for index, value in enumerate(line) if not is_blank(value)}
        if not filled or is_example({str(index): value for index, value in filled.items()}):
            continue
        if columns and not any(index in columns for index in filled):
            findings.note(
                f"{sheet.name}!{_letter(min(filled))}{number} stands outside the known columns and was ignored"
            )
            continue
        places = {key: f"{sheet.name}!{_letter(index)}{number}" for index, key in columns.items()}
        row = Row(sheet, number, {}, {**places, "": f"A{number}"})
        for index, key in columns.items():
            _checked(row, key, line[index] if index < len(line) else None, findings)
        table.rows.append(row)


def _upright(table: Table, grid: list[list[object]], findings: Findings) -> None:
    """Field in column A, Value in column B, made into one row."""
    sheet = table.sheet
    row = Row(sheet, 1, {}, {"": "A1"})
    for number, line in enumerate(grid, 1):
        if not line or is_blank(line[0]) or snake(str(line[0])) == "field":
            continue
        key = known_key(sheet, str(line[0]), f"{sheet.name}!A{number}", findings)
        if key is None:
            continue
        if key in row.places:
            findings.add(row, key, f"stands again in row {number}, keep one of the two")
            continue
        row.places[key] = f"{sheet.name}!B{number}"
        table.headings.add(key)
        _checked(row, key, line[1] if len(line) > 1 else None, findings)
    if table.headings:
        table.rows.append(row)


def _table(sheet: Sheet, grid: list[list[object]], findings: Findings) -> Table:
    table = Table(sheet)
    if sheet.upright:
        _upright(table, grid, findings)
    elif grid:
        columns = _headings(table, grid[0], findings)
        _rows(table, grid[1:], columns, findings)
    return table


def read_xlsx(path: Path, findings: Findings) -> dict[str, Table]:
    """The tables of a workbook by sheet name; `InputFaults` where the file is no workbook that can be read."""
    try:
        grids = _grids(path, look(path))
    except NotAWorkbook as error:
        _no(path, str(error))
    except MemoryError:
        _no(path, "it needs more memory than there is; copy the filled rows into a new workbook")
    except OSError:
        raise
    except Exception:  # the library raises nearly anything on a workbook with broken parts
        _no(path, "some part of the workbook is broken; open it in your spreadsheet program and save it again as .xlsx")
    tables: dict[str, Table] = {}
    for name, grid in grids.items():
        sheet = known_sheet(name, findings)
        if sheet is not None and sheet.name in tables:
            findings.add_sheet(sheet, sheet.name, "stands twice under different spellings, keep one")
        elif sheet is not None:
            tables[sheet.name] = _table(sheet, grid, findings)
    return tables
