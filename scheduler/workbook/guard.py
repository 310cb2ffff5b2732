"""Is this a workbook at all? A look at the file before anything unpacks it: a club file may come from anywhere."""

from __future__ import annotations

import re
import zipfile
import zlib
from collections import Counter
from pathlib import Path

MAX_FILE_BYTES = 20_000_000
MAX_UNPACKED_BYTES = 40_000_000
MAX_PARTS = 1000
MAX_ROWS = 5000
MAX_COLUMNS = 60
_MOST = ((b"<c ", "xl/worksheets/", 250_000, "cells"), (b"<si", "xl/sharedStrings", 60_000, "texts"),
         (b"<xf", "xl/styles", 30_000, "cell formats"))  # fmt: skip
_OLD_OFFICE = bytes.fromhex("d0cf11e0a1b11ae1")
_FAR_CELL = re.compile(rb'<c r="([A-Z]{1,3})(\d{1,7})"[^>]*>\s*(?:<f[^>]*>[^<]*</f>|<f[^>]*/>)?\s*<(?:v|is)>')


_TOO_MUCH = (
    "far more than any club needs (blank rows formatted to the bottom of a sheet do this); copy the filled rows into a "
    "new workbook made by evenweek new"
)


class NotAWorkbook(ValueError):
    """What is wrong with the file as a whole, and what to do."""


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def _check_sheet(data: bytes, name: str) -> None:
    if len(data) < 400_000 and b'r="' not in data:
        return
    for match in _FAR_CELL.finditer(data):
        row, column = int(match[2]), _column(match[1])
        if row > MAX_ROWS or column > MAX_COLUMNS:
            where = f"{match[1].decode()}{row}"
            raise NotAWorkbook(
                f"there is something in cell {where} ({name}), far outside any club; delete it, at most "
                f"{MAX_ROWS} rows and {MAX_COLUMNS} columns are read"
            )


def _check_parts(book: zipfile.ZipFile) -> bool:
    infos = book.infolist()
    names = {info.filename for info in infos}
    if "mimetype" in names:
        raise NotAWorkbook(
            "this is an OpenDocument file; save it as .xlsx (Excel 2007-365) in your spreadsheet program"
        )
    if "[Content_Types].xml" not in names or not any(name.startswith("xl/") for name in names):
        raise NotAWorkbook("this is not a spreadsheet; save the club as .xlsx in your spreadsheet program")
    if len(infos) > MAX_PARTS or sum(info.file_size for info in infos) > MAX_UNPACKED_BYTES:
        raise NotAWorkbook(f"it unpacks to more than 40 MB, {_TOO_MUCH}")
    formulas = False
    counted: Counter[str] = Counter()
    for info in infos:
        if not info.filename.endswith((".xml", ".rels")):
            continue
        data = book.read(info)
        if b"<!DOCTYPE" in data[:4096] or b"<!ENTITY" in data or b"<\x00!\x00" in data[:8192]:
            raise NotAWorkbook("it holds instructions no spreadsheet program writes; save it anew as .xlsx")
        for mark, start, most, what in _MOST:
            if info.filename.startswith(start):
                counted[what] += data.count(mark)
                if counted[what] > most:
                    raise NotAWorkbook(f"it holds more than {most} {what}, {_TOO_MUCH}")
        if info.filename.startswith("xl/worksheets/"):
            _check_sheet(data, info.filename.rpartition("/")[2].removesuffix(".xml"))
            formulas = formulas or b"<f>" in data or b"<f " in data or b"<f/>" in data
    return formulas


def look(path: Path) -> bool:
    """Whether the workbook holds formulas; `NotAWorkbook` with what to do where it is none or is not safe to open."""
    size = path.stat().st_size
    if size == 0:
        raise NotAWorkbook("the file is empty; make a new one with evenweek new")
    if size > MAX_FILE_BYTES:
        raise NotAWorkbook(
            "the file is larger than 20 MB, far more than any club needs; check that it is the right one"
        )
    with path.open("rb") as file:
        start = file.read(8)
    if start == _OLD_OFFICE:
        raise NotAWorkbook(
            "it is protected by a password or an old .xls; open it in your spreadsheet program, take the password "
            "off and save it as .xlsx"
        )
    if not start.startswith(b"PK"):
        raise NotAWorkbook("this is not a spreadsheet; save the club as .xlsx in your spreadsheet program")
    try:
        with zipfile.ZipFile(path) as book:
            return _check_parts(book)
    except NotImplementedError:
        raise NotAWorkbook("it is packed in a way that cannot be read here; save it again as .xlsx") from None
    except (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError, OSError):
        raise NotAWorkbook("the file is damaged or cut short; copy it anew or save it again as .xlsx") from None
