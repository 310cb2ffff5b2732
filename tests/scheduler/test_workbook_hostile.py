"""Files that are no club, broken or meant to harm: one clear sentence, no traceback, little memory."""

from __future__ import annotations

import datetime as dt
import io
import json
import subprocess
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from scheduler.workbook.read import read_club
from tests.club_files import faults_of, save_xlsx, village


def _zip(entries: dict[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in entries.items():
            archive.writestr(name, data)
    return buffer.getvalue()


def _repacked(entries: dict[str, bytes]) -> bytes:
    """A zip whose parts claim a compression method (97) that the standard library does not know."""
    data = bytearray(_zip(entries))
    for mark, at in ((b"PK\x03\x04", 8), (b"PK\x01\x02", 10)):
        place = data.find(mark)
        while place >= 0:
            data[place + at : place + at + 2] = (97).to_bytes(2, "little")
            place = data.find(mark, place + 1)
    return bytes(data)


_ENTITIES = b'<?xml version="1.0"?><!DOCTYPE z [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]><sst>&b;</sst>'
_BOMB = {"[Content_Types].xml": b"<Types/>", "xl/workbook.xml": b"<x/>", "xl/worksheets/sheet1.xml": b" " * 60_000_000}

NOT_WORKBOOKS: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "the file is empty"),
    "text": (b"Player,Name\n1,Ivo\n", "this is not a spreadsheet"),
    "old or locked": (bytes.fromhex("d0cf11e0a1b11ae1") + b"\0" * 600, "password or an old .xls"),
    "any zip": (_zip({"readme.txt": b"hello"}), "this is not a spreadsheet"),
    "document": (_zip({"[Content_Types].xml": b"<Types/>", "word/document.xml": b"<x/>"}), "this is not a spreadsheet"),
    "open document": (
        _zip({"mimetype": b"application/vnd.oasis.opendocument.spreadsheet", "content.xml": b"<x/>"}),
        "OpenDocument",
    ),
    "cut short": (_zip(_BOMB)[:300], "damaged or cut short"),
    "packed in another way": (
        _repacked({"[Content_Types].xml": b"<Types/>", "xl/workbook.xml": b"<x/>"}),
        "packed in a way",
    ),
    "zip bomb": (_zip(_BOMB), "far more than any club needs"),
    "entity bomb": (_zip({**_BOMB, "xl/worksheets/sheet1.xml": _ENTITIES}), "no spreadsheet program writes"),
    "utf-16 entity bomb": (
        _zip({**_BOMB, "xl/worksheets/sheet1.xml": _ENTITIES.decode().encode("utf-16")}),
        "no spreadsheet program writes",
    ),
    "broken parts": (
        _zip({"[Content_Types].xml": b"<Types>", "xl/workbook.xml": b"<x", "xl/worksheets/sheet1.xml": b"<"}),
        "some part of the workbook is broken",
    ),
}


@pytest.mark.parametrize("name", NOT_WORKBOOKS)
def test_not_a_workbook(tmp_path: Path, name: str) -> None:
    data, says = NOT_WORKBOOKS[name]
    path = tmp_path / "club.xlsx"
    path.write_bytes(data)
    (fault,) = faults_of(path)
    assert fault.startswith("club.xlsx: ")
    assert says in fault


def test_missing_file_and_folder(tmp_path: Path) -> None:
    assert "there is no such file" in faults_of(tmp_path / "club.xlsx")[0]
    assert "this is a folder" in faults_of(tmp_path)[0]


def _edited(tmp_path: Path, edit: Callable[[Any], None]) -> Path:
    """The village's workbook with something done to it."""
    path = save_xlsx(tmp_path, village())
    book = openpyxl.load_workbook(path)
    edit(book)
    book.save(path)
    return path


def test_a_cell_in_the_far_corner(tmp_path: Path) -> None:
    def edit(book: Any) -> None:
        book["Players"]["XFD1048576"] = "x"

    assert "cell XFD1048576" in faults_of(_edited(tmp_path, edit))[0]


def _sheet_of(path: Path, rows: int, cell: bytes) -> None:
    """Replace the Players sheet by one with so many more rows of this cell after the real ones."""
    with zipfile.ZipFile(path) as archive:
        entries = {info.filename: archive.read(info) for info in archive.infolist()}
    name = "xl/worksheets/sheet4.xml"
    assert b"<sheetData>" in entries[name]
    more = b"".join(b'<row r="%d">%s</row>' % (n, cell % n if b"%d" in cell else cell) for n in range(14, 14 + rows))
    entries[name] = entries[name].replace(b"</sheetData>", more + b"</sheetData>")
    path.write_bytes(_zip(entries))


def test_six_hundred_thousand_blank_rows(tmp_path: Path) -> None:
    path = save_xlsx(tmp_path, village())
    _sheet_of(path, 600_000, b"")
    assert len(read_club(path).players) == 12  # blank rows cost nothing: only so many are looked at


def test_six_hundred_thousand_formatted_rows(tmp_path: Path) -> None:
    path = save_xlsx(tmp_path, village())
    _sheet_of(path, 600_000, b'<c r="A%d" s="1"/><c r="B1" s="1"/><c r="C1" s="1"/>')
    assert "blank rows formatted to the bottom" in faults_of(path)[0]


@pytest.mark.parametrize(
    ("part", "piece", "says"),
    [
        ("xl/sharedStrings.xml", b"<si><t>x</t></si>", "more than 60000 texts"),
        ("xl/styles.xml", b"<xf/>", "more than 30000 cell formats"),
        ("xl/worksheets/sheet9.xml", b'<c s="1"/>', "more than 250000 cells"),
    ],
)
def test_far_too_many_of_anything(tmp_path: Path, part: str, piece: bytes, says: str) -> None:
    path = tmp_path / "club.xlsx"
    path.write_bytes(_zip({"[Content_Types].xml": b"<Types/>", "xl/workbook.xml": b"<x/>", part: piece * 300_000}))
    assert says in faults_of(path)[0]


def test_more_rows_than_are_read_are_never_dropped_in_silence(tmp_path: Path) -> None:
    # cells without addresses are lawful in the format; the 5001st row must not be lost without a word
    path = save_xlsx(tmp_path, village())
    _sheet_of(path, 5000, b'<c t="inlineStr"><is><t>Ivo</t></is></c>')
    assert "more than 5000 rows" in faults_of(path)[0]


@pytest.mark.parametrize("name", ["zip bomb", "blank rows"])
def test_memory_stays_small(tmp_path: Path, name: str) -> None:
    path = tmp_path / "club.xlsx"
    if name == "zip bomb":
        path.write_bytes(NOT_WORKBOOKS["zip bomb"][0])
    else:
        path = save_xlsx(tmp_path, village())
        _sheet_of(path, 600_000, b"")
    code = (
        "from pathlib import Path; from scheduler.errors import InputFaults\n"
        "from scheduler.workbook.read import read_club\n"
        "try:\n"
        f"    read_club(Path({str(path)!r}))\n"
        "except InputFaults:\n"
        "    pass\n"
        "lines = Path('/proc/self/status').read_text().splitlines()\n"
        "print(next(line.split()[1] for line in lines if line.startswith('VmHWM')))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert int(done.stdout) < 300_000  # kilobytes


def test_formulas_never_calculated(tmp_path: Path) -> None:
    def edit(book: Any) -> None:
        book["Players"]["A3"] = '="Noor "&"Haddad"'

    (fault,) = faults_of(_edited(tmp_path, edit))
    assert fault.startswith("Players!A3: ")
    assert "open and save the file once in a spreadsheet program" in fault


def test_a_calculated_formula_gives_its_value(tmp_path: Path) -> None:
    import xlsxwriter

    path = save_xlsx(tmp_path, village())
    book = xlsxwriter.Workbook(str(path))
    for name, rows in (
        ("Club", [["Field", "Value"], ["Name", "Brae"], ["Week", "2026-12-07"]]),
        ("Pitches", [["Pitch", "Lit", "From", "To"], ["Green", "yes", "17:00", "21:00"]]),
        ("Teams", [["Team", "Age group", "Coaches"], ["Wrens", "U11", "Ana; Ben"]]),
        ("Players", [["Name", "Born", "Team"], ["Ivo Kane", 2016, "Wrens"]]),
        ("Coaches", [["Coach"], ["Ana"], ["Ben"]]),
    ):
        sheet = book.add_worksheet(name)
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)
    book.get_worksheet_by_name("Players").write_formula("B3", "=2000+15", None, 2015)
    book.get_worksheet_by_name("Players").write_row("A3", ["Mia Roe"])
    book.get_worksheet_by_name("Players").write_row("C3", ["Wrens"])
    book.close()
    assert read_club(path).players[1].born == dt.date(2015, 12, 31)


def test_error_values_are_named(tmp_path: Path) -> None:
    def edit(book: Any) -> None:
        book["Players"]["C3"] = "#N/A"
        book["Players"]["C3"].data_type = "e"

    assert faults_of(_edited(tmp_path, edit)) == ["Players!C3: holds the error #N/A, type the value instead"]


def test_spreadsheet_values_as_they_come(tmp_path: Path) -> None:
    def edit(book: Any) -> None:
        pitches = book["Pitches"]
        pitches["C2"] = 0.75  # 18:00 in a cell without a time format
        pitches["D2"] = 1.0
        pitches["D2"].number_format = "hh:mm"  # 24:00
        players = book["Players"]
        players["B2"] = dt.datetime(2016, 3, 1)
        players["B2"].number_format = "mmm-yy"  # what a typed 2016-03 becomes
        players["A14"] = " "
        players["A40"].number_format = "0.00"

    club = read_club(_edited(tmp_path, edit))
    assert club.pitches[0].openings[0].span == (18 * 60, 24 * 60)
    assert club.players[0].born == dt.date(2016, 3, 31)
    assert len(club.players) == 12


def test_dates_where_sizes_and_zones_belong(tmp_path: Path) -> None:
    def edit(book: Any) -> None:
        sheet = book.create_sheet("Practices")
        sheet.append(["Practice", "Kind", "Attackers", "Rep"])
        sheet.append(["Game", "game", dt.datetime(2005, 4, 3), 8])
        sheet = book.create_sheet("Booked")
        sheet.append(["Pitch", "Zones", "Date", "From", "To"])
        sheet.append(["Green", dt.datetime(2026, 2, 1), dt.datetime(2026, 12, 8), "18:00", "19:00"])

    zones, sizes = faults_of(_edited(tmp_path, edit))
    assert "spreadsheets turn 1-2 into dates" in zones
    assert sizes.startswith("Practices!C2: ")
    assert "spreadsheets turn 3-4-5 into dates; write sizes as 4 (3 to 5)" in sizes


def test_merged_title_above_the_headings(tmp_path: Path) -> None:
    def edit(book: Any) -> None:
        sheet = book["Players"]
        sheet.insert_rows(1)
        sheet["A1"] = "Our players"
        sheet.merge_cells("A1:C1")

    assert "Players!A1: row 1 does not hold the headings, put them there: Name, Team" in faults_of(
        _edited(tmp_path, edit)
    )


def test_missing_and_doubled_headings(tmp_path: Path) -> None:
    def edit(book: Any) -> None:
        book["Players"]["C1"] = "name"

    faults = faults_of(_edited(tmp_path, edit))
    assert any("Players!C1: the heading 'name' stands twice" in fault for fault in faults)
    assert any("the column Team cannot be found" in fault for fault in faults)


BAD_JSON: dict[str, tuple[bytes, str]] = {
    "unreadable": (b'{"club": ', "line 1, column 10"),
    "a list": (b"[]", "a club is one JSON object"),
    "deep": (b"[" * 10_000 + b"]" * 10_000, "nested far too deep"),
    "deep inside": (b'{"players": ' + b"[" * 100_000, "nested far too deep"),
    "twice": (b'{"club": {}, "club": {}}', "'club' stands twice"),
    "not a number": (b'{"club": {"step": NaN}}', "NaN is not a number"),
    "no text": (b'{"club": "\xff\xfe"}', "UTF-8"),
    "endless digits": (b'{"club": {"step": ' + b"9" * 5000 + b"}}", "not readable JSON"),
}


@pytest.mark.parametrize("name", BAD_JSON)
def test_bad_json(tmp_path: Path, name: str) -> None:
    data, says = BAD_JSON[name]
    path = tmp_path / "club.json"
    path.write_bytes(data)
    (fault,) = faults_of(path)
    assert says in fault


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ({"players": "none"}, "players must be a list of objects"),
        ({"players": [1, 2]}, "players must be a list of objects"),
        ({"players": [{"name": {"first": "Ivo"}}]}, "write one plain value"),
        ({"players": [{"name": ["Ivo", ["Kane"]]}]}, "write one plain value"),
        ({"players": [{"name": "Ivo Kane", "Name": "Ivo"}]}, "given twice"),
        ({"players": [{"name": True}]}, "write text"),
    ],
)
def test_json_of_another_shape(tmp_path: Path, rows: dict[str, Any], says: str) -> None:
    path = tmp_path / "club.json"
    path.write_text(json.dumps(village(**rows)), encoding="utf-8")
    assert any(says in fault for fault in faults_of(path))


def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    rows = village()
    rows["players"][0]["name"] = "=1+1"
    rows["players"][1]["name"] = "@SUM(A1)"
    path = save_xlsx(tmp_path, rows)
    sheet = openpyxl.load_workbook(path)["Players"]
    assert [sheet["A2"].data_type, sheet["A3"].data_type] == ["s", "s"]
    assert [player.name for player in read_club(path).players[:2]] == ["=1+1", "@SUM(A1)"]
