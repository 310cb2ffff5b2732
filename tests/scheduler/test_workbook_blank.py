"""The blank workbook: complete, noted, refusing wrong entries, and read back without its worked rows."""

from __future__ import annotations

import json
from pathlib import Path

import openpyxl
import pytest

from scheduler.errors import UsageFault
from scheduler.workbook.blank import write_blank
from scheduler.workbook.read import read_club
from scheduler.workbook.schema import club_schema, schema_text
from scheduler.workbook.sheets import SHEETS
from scheduler.workbook.write import write_rows
from tests.club_files import faults_of, full, save_xlsx, village

ROOT = Path(__file__).parents[2]


@pytest.fixture
def blank(tmp_path: Path) -> Path:
    path = tmp_path / "new.xlsx"
    write_blank(path)
    return path


def test_every_sheet_heading_and_note_is_there(blank: Path) -> None:
    book = openpyxl.load_workbook(blank)
    assert book.sheetnames == ["Start here", *(sheet.name for sheet in SHEETS)]
    for sheet in SHEETS:
        worksheet = book[sheet.name]
        cells = [worksheet.cell(i, 1) for i in range(2, 2 + len(sheet.columns))] if sheet.upright else worksheet[1]
        assert [cell.value for cell in cells] == [column.heading for column in sheet.columns]
        assert all(cell.comment is not None and cell.comment.text.strip() for cell in cells)
        assert worksheet.freeze_panes is not None
        assert all(cell.font.name == "Arial" for cell in cells)


def test_drop_downs_refuse_wrong_entries(blank: Path) -> None:
    book = openpyxl.load_workbook(blank)
    for sheet in SHEETS:
        rules = book[sheet.name].data_validations.dataValidation
        assert all(rule.showErrorMessage for rule in rules)
        for column in sheet.columns:
            if column.choices:
                listed = '"' + ",".join(column.choices) + '"'
                assert any(rule.formula1 == listed and rule.errorStyle in (None, "stop") for rule in rules), column


def test_worked_rows_are_not_read(blank: Path) -> None:
    # Name and Week of the club and the rows of the required sheets are asked for: the worked rows count for nothing
    places = [fault.partition(":")[0] for fault in faults_of(blank)]
    assert places == ["Club!B2", "Club!B3", "Pitches", "Teams", "Players", "Coaches"]


def test_filling_the_least_gives_the_village(blank: Path, tmp_path: Path) -> None:
    book = openpyxl.load_workbook(blank)
    book["Club"]["B2"], book["Club"]["B3"] = "Brae", "2026-12-07"
    for name, sheet in (("pitches", "Pitches"), ("teams", "Teams"), ("players", "Players"), ("coaches", "Coaches")):
        worksheet = book[sheet]
        headings = {str(cell.value).lower().replace(" ", "_"): cell.column for cell in worksheet[1]}
        for number, row in enumerate(village()[name], 3):
            for key, value in row.items():
                worksheet.cell(number, headings[key]).value = "yes" if value is True else value
    book.save(blank)
    club, typed = read_club(blank), read_club(save_xlsx(tmp_path, village()))
    assert (club.players, club.teams, club.pitches) == (typed.players, typed.teams, typed.pitches)
    assert (club.ages, club.practices) == (typed.ages, typed.practices + club.practices[len(typed.practices) :])
    assert club.sessions == typed.sessions


def test_nothing_is_overwritten(blank: Path) -> None:
    before = blank.read_bytes()
    with pytest.raises(UsageFault, match=r"\.xlsx is there already and is not overwritten"):
        write_blank(blank)
    assert blank.read_bytes() == before


def test_only_xlsx_and_only_where_there_is_a_folder(tmp_path: Path) -> None:
    with pytest.raises(UsageFault, match=r"ends in \.xlsx"):
        write_blank(tmp_path / "club.ods")
    with pytest.raises(UsageFault, match="there is no folder"):
        write_blank(tmp_path / "away" / "club.xlsx")


def test_the_same_bytes_every_time(blank: Path, tmp_path: Path) -> None:
    write_blank(tmp_path / "again.xlsx")
    assert blank.read_bytes() == (tmp_path / "again.xlsx").read_bytes()


def test_unknown_sheets_and_columns_are_not_written(tmp_path: Path) -> None:
    with pytest.raises(UsageFault, match="no sheet"):
        write_rows(tmp_path / "club.xlsx", {"Playrs": []})
    with pytest.raises(UsageFault, match="no column"):
        write_rows(tmp_path / "club.xlsx", {"Players": [{"Naem": "Ivo"}]})


def test_the_published_schema_is_up_to_date() -> None:
    assert (ROOT / "examples" / "club.schema.json").read_text(encoding="utf-8") == schema_text()


def test_the_schema_knows_every_key_of_a_full_club() -> None:
    properties = club_schema()["properties"]
    for sheet, rows in full().items():
        known = properties[sheet]["anyOf"][0] if "anyOf" in properties[sheet] else properties[sheet]["items"]
        for row in [rows] if isinstance(rows, dict) else rows:
            assert set(row) <= set(known["properties"])
            assert set(known["required"]) <= set(row) or sheet == "pitches"
    assert json.loads(schema_text()) == club_schema()
