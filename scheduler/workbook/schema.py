"""The JSON Schema of the club file, made from the table of sheets and columns."""

from __future__ import annotations

import json
from typing import Any

from scheduler.workbook.columns import Column, Kind, Sheet
from scheduler.workbook.sheets import SHEETS

_TEXTS: dict[str, Any] = {"type": ["string", "null"]}
_LISTED: dict[str, Any] = {"type": ["string", "array", "null"], "items": {"type": "string"}}
_DATE: dict[str, Any] = {"type": ["string", "null"], "format": "date"}
_TIME: dict[str, Any] = {"type": ["string", "null"], "pattern": "^([01]?[0-9]|2[0-4])[:.][0-5][0-9]$"}
_ID: dict[str, Any] = {"type": ["string", "integer", "null"]}
_MIXED: dict[str, Any] = {"type": ["string", "integer", "array", "null"], "items": {"type": ["string", "integer"]}}

_TYPES: dict[Kind, dict[str, Any]] = {
    Kind.TEXT: _ID,
    Kind.LIST: _LISTED,
    Kind.WHOLE: {"type": ["integer", "null"]},
    Kind.NUMBER: {"type": ["number", "null"]},
    Kind.DATE: _DATE,
    Kind.DATES: _LISTED,
    Kind.DATE_OR_DAYS: _TEXTS,
    Kind.BORN: {"type": ["string", "integer", "null"]},
    Kind.TIME: _TIME,
    Kind.DAYS: _LISTED,
    Kind.YES_NO: {"type": ["boolean", "string", "null"]},
    Kind.CHOICE: _TEXTS,
    Kind.SIZES: {"type": ["string", "integer", "null"]},
    Kind.KIT: _LISTED,
    Kind.LIMITS: _LISTED,
    Kind.HOURS: _LISTED,
    Kind.ZONES: _MIXED,
    Kind.ZONE_COUNT: {"type": ["string", "integer", "null"]},
    Kind.LIT: {"type": ["boolean", "string", "null"]},
    Kind.AGE_GROUP: {"type": ["string", "integer"]},
    Kind.WARMTH: {"type": ["string", "number", "null"]},
}


def _column(column: Column) -> dict[str, Any]:
    found = {"title": column.heading, "description": column.note, **_TYPES[column.kind]}
    if column.choices and column.kind is Kind.CHOICE:
        found = {"title": column.heading, "description": column.note, "enum": [*column.choices, None]}
    if column.kind in (Kind.WHOLE, Kind.NUMBER) and column.least is not None:
        found = {**found, "minimum": column.least, "maximum": column.most}
    if column.need == "must":
        kinds = found.get("type")
        if isinstance(kinds, list):
            left = [kind for kind in kinds if kind != "null"]
            found["type"] = left[0] if len(left) == 1 else left
        elif "enum" in found:
            found["enum"] = list(column.choices)
    return found


def _sheet(sheet: Sheet) -> dict[str, Any]:
    row = {
        "type": "object",
        "properties": {column.key: _column(column) for column in sheet.columns},
        "required": [column.key for column in sheet.columns if column.need == "must"],
    }
    if sheet.upright:
        field = {"type": "object", "required": ["field", "value"]}
        return {"description": sheet.note, "anyOf": [row, {"type": "array", "items": field}]}
    return {"description": sheet.note, "type": "array", "items": row}


def club_schema() -> dict[str, Any]:
    """The schema (draft 2020-12) of a club as JSON: sheets are lists, keys the headings in lower snake case."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Club of one week",
        "type": "object",
        "properties": {sheet.key: _sheet(sheet) for sheet in SHEETS},
        "required": [sheet.key for sheet in SHEETS if sheet.required],
    }


def schema_text() -> str:
    """The schema as it is published."""
    return json.dumps(club_schema(), indent=2, ensure_ascii=False) + "\n"
