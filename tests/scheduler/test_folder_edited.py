"""A timetable edited by hand is read back as edited; what cannot be understood is named by sheet and cell."""

from __future__ import annotations

import datetime as dt
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from scheduler.club.club import Club
from scheduler.club.places import Opening, Pitch
from scheduler.club.programme import PlanRow, SessionAsk
from scheduler.club.when import Span
from scheduler.errors import InputFaults
from scheduler.folder.cells import listed_names
from scheduler.folder.edited import read_timetable
from scheduler.folder.find import read_plan
from scheduler.folder.timetable import write_timetable
from scheduler.plan.plan import News, StoodDown, Unmet, WeekPlan
from tests.clubs import BOTH_ENDS, SMALL_GAME, WARM_UP, a_club
from tests.plans import a_plan, in_which_all_stay

ODD = ("Zoë", "Björn Łuk.", "Nguyễn", "Oğuz", "Max <b>", "=1+1", "Ana, Bea", "-Ines", "@Omar", "O'Neil", 'Quo"te')
WEDNESDAY = dt.date(2026, 9, 9)


def two_pitches(**changes: Any) -> Club:
    """Two teams, one zone each session, on two pitches of three zones; odd names."""
    club = a_club(teams=2, sessions=2, **changes)
    south = Pitch(id="South", site="Marsh Lane", zones=3, openings=(Opening(span=Span(17 * 60, 21 * 60)),))
    asks = tuple(ask.model_copy(update={"zones": 1}) for ask in club.sessions)
    players = tuple(p.model_copy(update={"called": ODD[i]}) if i < len(ODD) else p for i, p in enumerate(club.players))
    return club.model_copy(update={"pitches": (*club.pitches, south), "sessions": asks, "players": players})


def written(tmp_path: Path, club: Club, plan: WeekPlan, earlier: WeekPlan | None = None) -> Path:
    path = tmp_path / "timetable.xlsx"
    write_timetable(club, plan, path, earlier)
    return path


def edit(path: Path, change: Callable[[Any], None]) -> None:
    book = load_workbook(path)
    change(book)
    book.save(path)


def find(sheet: Any, text: str, nth: int = 0) -> Any:
    """The nth cell that begins with a text."""
    cells = [c for row in sheet.iter_rows() for c in row if isinstance(c.value, str) and c.value.startswith(text)]
    return cells[nth]


def card(book: Any, session: str) -> Any:
    """The first sheet of a session's card."""
    return next(book[name] for name in book.sheetnames if name.startswith(session))


def office(path: Path, folder: Path) -> Path:
    """The workbook as LibreOffice saves it again."""
    profile = f"-env:UserInstallation=file://{folder / 'profile'}"
    command = ["soffice", profile, "--headless", "--convert-to", "xlsx", "--outdir", str(folder / "again"), str(path)]
    subprocess.run(command, check=True, capture_output=True)
    return folder / "again" / path.name


def test_without_edits_the_plan_is_the_one_that_was_written(tmp_path: Path) -> None:
    club = two_pitches()
    plan = a_plan(club)
    path = written(tmp_path, club, plan)
    assert read_timetable(path, club) == (plan, ())
    assert read_plan(path, club) == plan


def test_stations_late_news_and_a_former_plan_are_read_back_too(tmp_path: Path) -> None:
    rows = (
        PlanRow(plan="Evening", block="1", practice=WARM_UP.id, minutes=10),
        *(
            PlanRow(plan="Evening", block=block, practice=practice, minutes=24)
            for block in "23"
            for practice in (BOTH_ENDS.id, SMALL_GAME.id)
        ),
        PlanRow(plan="Evening", block="4", practice=SMALL_GAME.id, minutes=8),
    )
    ask = SessionAsk(id="Pooled: [all]/*?", teams=("Herons", "Kites"), plan="Evening", minutes=75, zones=None)
    club = a_club(teams=2, keepers=4).model_copy(update={"plans": rows, "sessions": (ask,)})
    news = (
        News(kind="absent", about="Herons Mia", date=WEDNESDAY),
        News(kind="absent", about="coach Kites 2", date=WEDNESDAY),
        News(kind="closed", about="North", date=WEDNESDAY),
    )
    plan = a_plan(club, news=news, revision=2)
    path = written(tmp_path, club, plan, a_plan(club, start=18 * 60 + 15))
    assert read_timetable(path, club) == (plan, ())


def test_reasons_and_wishes_stay_behind_unless_the_plan_lies_beside(tmp_path: Path) -> None:
    club = a_club()
    down = StoodDown(player="Herons Lena", why="own limit reached", start=18 * 60 + 45, end=19 * 60 + 15)
    wish = Unmet(wish="spread of days", about=("Herons",), text="two evenings in a row")
    plan = a_plan(club, stood_down={"Herons 1": (down,)}, unmet=(wish,))
    path = written(tmp_path, club, plan)
    found, faults = read_timetable(path, club)
    assert not faults
    assert found != plan
    assert found.sessions[0].stood_down[0].why == "see the welfare file"
    assert found.sessions[0].blocks == plan.sessions[0].blocks
    (tmp_path / "plan.json").write_text(plan.to_json())
    assert read_timetable(path) == (plan, ())
    (tmp_path / "plan.json").write_text(a_plan(club).to_json())  # the plan of another timetable is not believed
    assert read_timetable(path, club) == (found, ())


def test_reps_on_one_line_follow_the_rep_above(tmp_path: Path) -> None:
    """Nobody moves in the game, so its later reps say `Everybody stays.`: a swap in the first is a swap in all."""
    club = a_club()
    plan = in_which_all_stay(a_plan(club), 3)
    path = written(tmp_path, club, plan)
    assert read_timetable(path, club) == (plan, ())

    def swap(book: Any) -> None:
        sheet = card(book, "Herons 1")
        cell = find(sheet, "Rep 1", 2).offset(0, 2)
        other = cell.offset(1, 0)
        one, two = cell.value.split(", ")[0], other.value.split(", ")[0]
        cell.value, other.value = cell.value.replace(one, two), other.value.replace(two, one)

    edit(path, swap)
    found, _ = read_timetable(path, club)
    before, after = ([rep.places for rep in one.sessions[0].blocks[2].stations[0].reps] for one in (plan, found))
    assert after[0] != before[0]
    assert after == [after[0]] * 3
    assert found.sessions[0].blocks[:2] == plan.sessions[0].blocks[:2]


def test_two_names_swapped_on_a_card_swap_their_places(tmp_path: Path) -> None:
    """In rep 1 of the game Tara plays in green and Aiko rests; on the card the coach swaps the two names."""
    club = a_club()
    plan = a_plan(club)
    path = written(tmp_path, club, plan)

    def swap(book: Any) -> None:
        sheet = card(book, "Herons 1")
        block = find(sheet, "Block 3").row
        row = next(row for row in range(block, sheet.max_row) if str(sheet.cell(row, 1).value).startswith("Rep 1"))
        play, rest = sheet.cell(row, 3), sheet.cell(row, 6)
        assert "Tara" in play.value
        assert "Aiko" in rest.value
        play.value, rest.value = play.value.replace("Tara", " aiko"), rest.value.replace("Aiko", "TARA;")

    edit(path, swap)
    found, faults = read_timetable(path, club)
    assert faults == ()
    before = {p.player: p for p in plan.sessions[0].blocks[2].stations[0].reps[0].places}
    after = {p.player: p for p in found.sessions[0].blocks[2].stations[0].reps[0].places}
    changed = {player for player in before if before[player] != after[player]}
    assert changed == {"Herons Tara", "Herons Aiko"}
    assert (after["Herons Aiko"].role, after["Herons Aiko"].area) == ("play", 1)
    assert after["Herons Aiko"].side == "bibs green"
    assert (after["Herons Tara"].role, after["Herons Tara"].area) == ("rest", None)
    others = [found.sessions[0].blocks[b] == plan.sessions[0].blocks[b] for b in (0, 1)]
    assert others == [True, True]
    assert found.sessions[0].blocks[2].stations[0].reps[1:] == plan.sessions[0].blocks[2].stations[0].reps[1:]


def test_a_child_written_in_from_another_team_comes_to_the_session(tmp_path: Path) -> None:
    club = a_club(teams=2, sessions=1)
    path = written(tmp_path, club, a_plan(club))

    def add(book: Any) -> None:
        cell = find(card(book, "Herons 1"), "Tara, Aiko")
        cell.value = cell.value.replace("Tara", "Yara")

    edit(path, add)
    found, faults = read_timetable(path, club)
    assert faults == ()
    places = found.sessions[0].blocks[1].stations[0].reps[0].places
    assert [p.role for p in places if p.player == "Kites Yara"] == ["attack"]
    assert "Kites Yara" in found.sessions[0].players
    assert not [p for p in places if p.player == "Herons Tara"]


def test_a_name_nobody_has_and_a_child_named_twice_are_named_by_cell(tmp_path: Path) -> None:
    club = a_club()
    path = written(tmp_path, club, a_plan(club))
    where = []

    def spoil(book: Any) -> None:
        first, second = find(card(book, "Herons 1"), "Tara, Aiko"), find(card(book, "Herons 1"), "Tara, Mia", 1)
        first.value, second.value = "Tarra, Aiko", second.value + ", Tara"
        where.extend([first.coordinate, second.coordinate])

    edit(path, spoil)
    found, faults = read_timetable(path, club)
    assert [fault.where for fault in faults] == [f"Herons 1!{cell}" for cell in where]
    assert "'Tarra' is no child of this session" in faults[0].text
    assert "Tara stands twice in this rep" in faults[1].text
    with pytest.raises(InputFaults, match="Herons 1!"):
        read_plan(path, club)
    assert found.sessions[0].session == "Herons 1"


@pytest.mark.parametrize(
    ("day", "start"),
    [
        ("Sat 12 Sep", "18:30"),
        ("saturday", dt.time(18, 30)),
        (dt.datetime(2026, 9, 12), "18.30"),
        ("2026-09-12", "18:30"),
    ],
)
def test_a_session_moved_on_the_list_moves_with_everything_in_it(day: object, start: object, tmp_path: Path) -> None:
    club = two_pitches()
    down = StoodDown(player="Herons Lena", why="limit", start=18 * 60 + 45, end=19 * 60 + 15)
    plan = a_plan(club, stood_down={"Herons 1": (down,)})
    (tmp_path / "plan.json").write_text(plan.to_json())
    path = written(tmp_path, club, plan)

    def move(book: Any) -> None:
        row = find(book["Sessions"], "Herons 1").row
        for column, value in ((2, day), (3, start), (5, "South"), (6, 2)):
            book["Sessions"].cell(row, column).value = value

    edit(path, move)
    found, faults = read_timetable(path, club)
    assert faults == ()
    session = found.by_session["Herons 1"]
    assert (session.date, session.start, session.end) == (dt.date(2026, 9, 12), 18 * 60 + 30, 19 * 60 + 45)
    assert (session.pitch, session.zones) == ("South", (2,))
    assert {station.zones for block in session.blocks for station in block.stations} == {(2,)}
    was = plan.by_session["Herons 1"]
    assert [b.start - w.start for b, w in zip(session.blocks, was.blocks, strict=True)] == [30, 30, 30]
    assert session.blocks[1].stations[0].reps[0].start == 18 * 60 + 45
    assert (session.stood_down[0].start, session.stood_down[0].why) == (19 * 60 + 15, "limit")
    assert [s.session for s in found.sessions] == ["Herons 2", "Kites 1", "Kites 2", "Herons 1"]
    assert [found.by_session[s] == plan.by_session[s] for s in ("Herons 2", "Kites 1", "Kites 2")] == [True] * 3


def move_box(book: Any, name: str, rows: int, columns: int, text: str | None = None) -> str:
    """Cut a box of the week page and paste it elsewhere, as a spreadsheet program does; its new cell."""
    sheet = book["Week"]
    cell = find(sheet, name)
    block = next(m for m in sheet.merged_cells.ranges if cell.coordinate in m)
    height, width, value = block.max_row - block.min_row, block.max_col - block.min_col, cell.value
    sheet.unmerge_cells(str(block))
    cell.value = None
    new = sheet.cell(cell.row + rows, cell.column + columns)
    new.value = text or value
    sheet.merge_cells(start_row=new.row, start_column=new.column, end_row=new.row + height,
                      end_column=new.column + width)  # fmt: skip
    return str(new.coordinate)


def test_a_box_moved_on_the_week_page_moves_the_session(tmp_path: Path) -> None:
    """One row a zone, one column a quarter of an hour: two rows down and one to the right is zone 3 at 18:15."""
    club = two_pitches()
    plan = a_plan(club)
    path = written(tmp_path, club, plan)
    edit(path, lambda book: move_box(book, "Herons 1", 2, 1) and None)
    found, faults = read_timetable(path, club)
    assert faults == ()
    session = found.by_session["Herons 1"]
    assert (session.start, session.end, session.zones) == (18 * 60 + 15, 19 * 60 + 30, (3,))
    assert session.blocks[0].start == 18 * 60 + 15


def test_the_time_in_a_box_counts_where_the_box_stays(tmp_path: Path) -> None:
    club = two_pitches()
    path = written(tmp_path, club, a_plan(club))
    edit(path, lambda book: move_box(book, "Herons 1", 0, 0, "Herons 1, 18:05-19:20, Coach Herons 1") and None)
    found, faults = read_timetable(path, club)
    assert faults == ()
    assert found.by_session["Herons 1"].span == Span(18 * 60 + 5, 19 * 60 + 20)


def test_contradictions_and_slips_are_named_and_change_nothing(tmp_path: Path) -> None:
    club = two_pitches()
    plan = a_plan(club)
    path = written(tmp_path, club, plan)
    where = []

    def spoil(book: Any) -> None:
        where.append("Week!" + move_box(book, "Herons 1", 1, 0))
        where.append("Week!" + move_box(book, "Kites 1", 0, 1, "Kites 1, 17:00-18:15"))
        rows = {name: find(book["Sessions"], name).row for name in ("Herons 1", "Herons 2", "Kites 2")}
        book["Sessions"].cell(rows["Herons 1"], 6).value = "3"
        for column, value in ((2, "Mon 14 Sep"), (3, "teatime"), (5, "East"), (6, "7"), (7, "Owls"), (8, "Nobody")):
            book["Sessions"].cell(rows["Herons 2"], column).value = value
            where.append(f"Sessions!{book['Sessions'].cell(rows['Herons 2'], column).coordinate}")
        book["Sessions"].cell(rows["Kites 2"], 4).value = "=C5+1"
        where.append(f"Sessions!D{rows['Kites 2']}")

    edit(path, spoil)
    found, faults = read_timetable(path, club)
    assert sorted(fault.where for fault in faults) == sorted(where)
    assert found == plan
    texts = {fault.where: fault.text for fault in faults}
    assert "make the two alike" in texts[where[0]]
    assert "another column than the time in it says" in texts[where[1]]
    assert "no day of this week; write one such as Mon 7 Sep" in texts[where[2]]
    assert "'teatime' is no time of day; write one such as 18:00" in texts[where[3]]
    assert "'East' is no pitch of this club; write one of North, South" in texts[where[4]]
    assert "its zones are 1 to 3" in texts[where[5]]
    assert "write Herons here" in texts[where[6]]
    assert "'Nobody' is no adult of this club" in texts[where[7]]
    assert "holds a formula" in texts[where[8]]


def test_other_adults_take_over_at_the_stations(tmp_path: Path) -> None:
    club = two_pitches()
    path = written(tmp_path, club, a_plan(club))

    def change(book: Any) -> None:
        row = find(book["Sessions"], "Herons 1").row
        book["Sessions"].cell(row, 8).value = "Coach Kites 1"
        book["Sessions"].cell(row, 9).value = "Coach Herons 1; Coach Herons 2"

    edit(path, change)
    found, faults = read_timetable(path, club)
    assert faults == ()
    coaches = ("coach Kites 1", "coach Herons 1", "coach Herons 2")
    session = found.by_session["Herons 1"]
    assert session.coaches == coaches
    assert {station.coaches for block in session.blocks for station in block.stations} == {coaches}


def test_deleted_sheets_rows_and_boxes_are_named(tmp_path: Path) -> None:
    club = two_pitches()
    plan = a_plan(club)
    path = written(tmp_path, club, plan)

    def spoil(book: Any) -> None:
        del book[card(book, "Kites 2").title]
        book["Sessions"].delete_rows(find(book["Sessions"], "Kites 2").row)
        find(book["Week"], "Kites 2").value = None
        find(card(book, "Herons 1"), "1: green attack").value = "here"

    edit(path, spoil)
    found, faults = read_timetable(path, club)
    assert found == plan
    texts = " | ".join(str(fault) for fault in faults)
    for part in ("Kites 2!A1: the sheet is missing", "the row of Kites 2 is missing", "the box of Kites 2 is missing",
                 "the row '1: green attack' of this rep is missing"):  # fmt: skip
        assert part in texts
    assert len(faults) == 4


def test_what_is_no_timetable_is_refused_with_a_sentence(tmp_path: Path) -> None:
    club = a_club()
    other = tmp_path / "other.xlsx"
    from openpyxl import Workbook

    Workbook().save(other)
    with pytest.raises(InputFaults, match="hidden sheet is missing"):
        read_timetable(other, club)
    other.write_text("Day,Start")
    with pytest.raises(InputFaults, match="not a spreadsheet"):
        read_timetable(other, club)
    path = written(tmp_path, club, a_plan(club))
    with pytest.raises(InputFaults, match="give the club it was planned for"):
        read_timetable(path)
    with pytest.raises(InputFaults, match="players the club does not have"):
        read_timetable(path, a_club(players=8))
    edit(path, lambda book: setattr(book["for evenweek"]["A2"], "value", "x" * 50))
    with pytest.raises(InputFaults, match="hidden sheet is damaged"):
        read_timetable(path, club)


def test_names_with_commas_and_marks_are_told_apart() -> None:
    known = ["Ana", "Ana, Bea", "Bea", "Max <b>", "Mia (Kites)"]
    assert listed_names("Ana, Bea, Bea; max <B>,Mia (Kites) NEW (was: rest)", known) == (
        ["Ana, Bea", "Bea", "Max <b>", "Mia (Kites)"], [],
    )  # fmt: skip
    assert listed_names("Anas, Mia", known) == ([], ["Anas", "Mia"])
    assert listed_names("", known) == ([], [])


@pytest.mark.office
def test_libreoffice_saves_it_again_and_nothing_is_lost(tmp_path: Path) -> None:
    club = two_pitches()
    plan = a_plan(club, revision=2)
    again = office(written(tmp_path, club, plan, a_plan(club, start=18 * 60 + 30)), tmp_path)
    assert read_timetable(again, club) == (plan, ())

    def change(book: Any) -> None:
        first, second = find(card(book, "Herons 1"), "Zoë", 1), find(card(book, "Herons 1"), "Björn Łuk.")
        assert (first.value, second.value) == ("Zoë", "Björn Łuk.")  # the two goals of block 2, rep 1
        first.value, second.value = second.value, first.value
        book["Sessions"].cell(find(book["Sessions"], "Kites 1").row, 3).value = "19:00"

    edit(again, change)
    shutil.move(again, tmp_path / "timetable.xlsx")
    found, faults = read_timetable(office(tmp_path / "timetable.xlsx", tmp_path), club)
    assert faults == ()
    assert found.by_session["Kites 1"].start == 19 * 60
    goals = {
        p.player: p.area for p in found.by_session["Herons 1"].blocks[1].stations[0].reps[0].places if p.role == "keep"
    }
    assert goals == {"Herons Noor": 1, "Herons Ivo": 2}
