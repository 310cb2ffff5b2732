"""The club as JSON: sheets are lists of objects, keys are the headings in lower snake case."""

from __future__ import annotations

import json
from pathlib import Path
from typing import NoReturn

from scheduler.errors import Fault, InputFaults
from scheduler.workbook.columns import Kind, Sheet
from scheduler.workbook.rows import Findings, Row, Table, is_example, known_key, known_sheet
from scheduler.workbook.values import is_blank, text

MAX_BYTES = 20_000_000
MAX_ROWS = 5000


def _no(path: Path, what: str) -> NoReturn:
    raise InputFaults((Fault(path.name, what),))


def _pairs(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) != len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"the key '{twice[:40]}' stands twice in one object, keep one")
    return found


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a number, write digits")


def _load(path: Path) -> dict[str, object]:
    if path.stat().st_size > MAX_BYTES:
        _no(path, "the file is larger than 20 MB, far more than any club needs; check that it is the right file")
    try:
        found = json.loads(path.read_bytes(), object_pairs_hook=_pairs, parse_constant=_no_constant)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        _no(path, f"this is not readable JSON ({where}: {error.msg}); mend it there or use the .xlsx form")
    except RecursionError:
        _no(path, "the lists are nested far too deep; a club is an object of lists of flat objects")
    except UnicodeDecodeError:
        _no(path, "the file is not text in UTF-8; save it as UTF-8")
    except ValueError as error:
        _no(path, f"this is not readable JSON: {error}")
    if not isinstance(found, dict):
        _no(path, 'a club is one JSON object with a list for each sheet, such as {"players": [...]}')
    return found


def _cell(value: object, kind: Kind) -> object:
    """A JSON value as a cell would hold it; a list of texts becomes text with semicolons."""
    if isinstance(value, list) and all(isinstance(part, (str, int)) and not isinstance(part, bool) for part in value):
        if not value:
            return None
        return "; ".join(str(part) for part in value) if kind not in (Kind.TEXT, Kind.WHOLE, Kind.NUMBER) else value
    return value


def _row(table: Table, number: int, entry: dict[str, object], findings: Findings) -> Row | None:
    sheet = table.sheet
    base = f"{sheet.name}!" + ("" if sheet.upright else f"{number} ")
    raw: dict[str, object] = {}
    places = {column.key: f"{base}{column.key}" for column in sheet.columns}
    row = Row(sheet, number, raw, {**places, "": f"{number}"})
    for name, value in entry.items():
        key = known_key(sheet, name, f"{sheet.name}", findings)
        if key is None:
            continue
        table.headings.add(key)
        if key in raw and raw[key] is not None:
            row.bad.add(key)
            findings.add(row, key, "is given twice under different spellings, keep one")
        raw[key] = _cell(value, sheet.by_key[key].kind)
        if isinstance(raw[key], (dict, list)):
            row.bad.add(key)
            findings.add(row, key, "holds a list or an object, write one plain value")
    if is_example(raw) or all(is_blank(value) for value in raw.values()) and not row.bad:
        return None
    return row


def _upright(entries: list[dict[str, object]]) -> list[dict[str, object]]:
    """Field and Value objects as one object."""
    if entries and all("field" in entry for entry in entries):
        return [{text(entry["field"]): entry.get("value") for entry in entries}]
    return entries


def _entries(path: Path, sheet: Sheet, value: object, findings: Findings) -> list[dict[str, object]]:
    listed = [value] if sheet.upright and isinstance(value, dict) else value
    if not isinstance(listed, list) or not all(isinstance(entry, dict) for entry in listed):
        findings.add_sheet(sheet, sheet.name, f"{sheet.key} must be a list of objects, one for each row")
        return []
    if len(listed) > MAX_ROWS:
        findings.add_sheet(sheet, sheet.name, f"has more than {MAX_ROWS} rows, far more than any club needs")
        return []
    return _upright(listed) if sheet.upright else listed


def read_json(path: Path, findings: Findings) -> dict[str, Table]:
    """The tables of a JSON club by sheet name; `InputFaults` where the file is no JSON club at all."""
    tables: dict[str, Table] = {}
    for name, value in _load(path).items():
        sheet = None if name == "$schema" else known_sheet(name, findings)
        if sheet is None or value is None:
            continue
        if sheet.name in tables:
            findings.add_sheet(sheet, sheet.name, "stands twice under different spellings, keep one")
            continue
        table = tables.setdefault(sheet.name, Table(sheet))
        for number, entry in enumerate(_entries(path, sheet, value, findings), 1):
            row = _row(table, number, entry, findings)
            if row is not None:
                table.rows.append(row)
        table.headings.update(key for row in table.rows for key in row.places if key)
    return tables
