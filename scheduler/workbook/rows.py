"""Raw rows of a club file, whatever it was, and the faults and notes that reading them gave."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from scheduler.errors import Fault
from scheduler.workbook.columns import Column, Sheet, snake
from scheduler.workbook.phrases import read_value
from scheduler.workbook.sheets import BY_NAME, EXAMPLE_MARK, SHEETS, UNREAD_HEADINGS, UNREAD_SHEETS
from scheduler.workbook.values import Wrong, clean, is_blank, shown

MAX_FAULTS_SHOWN = 200


@dataclass(eq=False)
class Row:
    """One filled row. `places` maps a key to its address; `values` holds what could be read, by key."""

    sheet: Sheet
    number: int
    raw: dict[str, object]
    places: dict[str, str]
    packaged: bool = False
    values: dict[str, object] = field(default_factory=dict)
    bad: set[str] = field(default_factory=set)

    def get(self, key: str, default: Any = None) -> Any:
        """The value read from a cell, in the form its column's kind gives; the default where blank or faulty."""
        return self.values.get(key, default)

    def at(self, key: str) -> str:
        """The address of a cell: `Players!D4`; the row's where the column is not there."""
        return self.places.get(key) or f"{self.sheet.name}!{self.places.get('', self.number)}"


@dataclass
class Table:
    """The rows of one sheet in order, and the headings that are there."""

    sheet: Sheet
    rows: list[Row] = field(default_factory=list)
    headings: set[str] = field(default_factory=set)


@dataclass
class Findings:
    """Faults and notes gathered while reading, faults in reading order at the end."""

    _faults: list[tuple[tuple[int, int, int, int], Fault]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def add(self, row: Row, key: str, text: str) -> None:
        """A fault of one cell."""
        order = [column.key for column in row.sheet.columns]
        column = order.index(key) if key in order else -1
        self._put(row.sheet, row.number, column, Fault(row.at(key), text))

    def add_sheet(self, sheet: Sheet, where: str, text: str) -> None:
        """A fault of a sheet or its headings."""
        self._put(sheet, 0, 0, Fault(where, text))

    def note(self, text: str) -> None:
        """Something filled in or ignored, once."""
        if text not in self.notes:
            self.notes.append(text)

    def _put(self, sheet: Sheet, number: int, column: int, fault: Fault) -> None:
        place = SHEETS.index(sheet), number, column, len(self._faults)
        if all(fault != known for _, known in self._faults):
            self._faults.append((place, fault))

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Every fault in reading order; a flood is cut short and says so."""
        found = [fault for _, fault in sorted(self._faults, key=lambda entry: entry[0])]
        if len(found) > MAX_FAULTS_SHOWN:
            rest = len(found) - MAX_FAULTS_SHOWN
            found = [*found[:MAX_FAULTS_SHOWN], Fault("", f"and {rest} more; mend these first, then check again")]
        return tuple(found)


def near(word: str, known: Iterator[str] | list[str]) -> str:
    """`, did you mean X?` where something close is known, else nothing."""
    by_fold = {name.casefold(): name for name in known}
    close = get_close_matches(word.casefold(), list(by_fold), n=1, cutoff=0.6)
    return f", did you mean {by_fold[close[0]]}?" if close else ""


def known_sheet(name: str, findings: Findings) -> Sheet | None:
    """The sheet of this name in any case; others are ignored with a note."""
    for sheet in SHEETS:
        if snake(name) == sheet.key:
            return sheet
    if snake(name) not in [snake(unread) for unread in UNREAD_SHEETS]:
        findings.note(f"Sheet {shown(name)} is not known and was ignored{near(clean(name), list(BY_NAME))}")
    return None


def known_key(sheet: Sheet, heading: str, where: str, findings: Findings) -> str | None:
    """The key of a heading; unknown ones are ignored with a note."""
    column = sheet.by_key.get(snake(heading))
    if column is not None:
        return column.key
    if snake(heading) not in UNREAD_HEADINGS:
        hint = near(clean(heading), [known.heading for known in sheet.columns])
        findings.note(f"{where}: column {shown(heading)} is not known and was ignored{hint}")
    return None


def is_example(raw: dict[str, object]) -> bool:
    """Whether the first filled cell of a row marks it as a worked example."""
    first = next((value for value in raw.values() if not is_blank(value)), None)
    return isinstance(first, str) and clean(first).casefold().startswith(EXAMPLE_MARK.casefold())


def check_headings(table: Table, findings: Findings) -> None:
    """Faults for required columns that are missing from a sheet that has rows."""
    sheet = table.sheet
    missing = [c for c in sheet.columns if c.need == "must" and c.key not in table.headings]
    if not table.rows or not missing or sheet.upright:
        return
    names = ", ".join(column.heading for column in missing)
    where = f"{sheet.name}!A1" if not any(row.packaged for row in table.rows) else sheet.name
    if not table.headings:
        headings = ", ".join(column.heading for column in sheet.columns if column.need == "must")
        findings.add_sheet(sheet, where, f"row 1 does not hold the headings, put them there: {headings}")
    else:
        word = "column" if len(missing) == 1 else "columns"
        findings.add_sheet(sheet, where, f"the {word} {names} cannot be found, row 1 must have each as a heading")


def parse(row: Row, findings: Findings) -> None:
    """Read every cell of a row by its column, each fault named; blanks stay out of `values`."""
    for column in row.sheet.columns:
        value = row.raw.get(column.key)
        if column.key in row.bad:
            continue
        if is_blank(value):
            if column.need == "must" and (row.sheet.upright or column.key in row.places):
                row.bad.add(column.key)
                findings.add(row, column.key, f"{column.heading} is empty, {_asked(column)}")
            continue
        try:
            row.values[column.key] = read_value(value, column)
        except Wrong as wrong:
            row.bad.add(column.key)
            quoted = "what stands here" if column.private else shown(value)
            findings.add(row, column.key, f"{column.heading}: {str(wrong).replace('{}', quoted)}")


def _asked(column: Column) -> str:
    example = f", such as {_plain(column.example)}" if column.example is not None else ""
    return f"fill it in{example}"


def _plain(value: object) -> str:
    import datetime as dt

    return value.strftime("%H:%M") if isinstance(value, dt.time) else str(value)


def check_partly_filled(table: Table, findings: Findings) -> None:
    """Faults for blanks in columns that are filled in other rows and that a rule needs in all of them."""
    for column in table.sheet.columns:
        if column.need != "all or none":
            continue
        filled = [row for row in table.rows if column.key in row.values or column.key in row.bad]
        for row in table.rows if filled else ():
            if row not in filled:
                said = "fill it in here too, or leave the whole column blank and the rules that need it are off"
                findings.add(row, column.key, f"{column.heading} is empty here and filled in other rows; {said}")
