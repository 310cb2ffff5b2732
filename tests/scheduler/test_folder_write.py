"""The week folder as a whole: what it holds, what it keeps to itself, and how it prints."""

from __future__ import annotations

import datetime as dt
import html
import re
import subprocess
from fractions import Fraction
from pathlib import Path

import pytest
from openpyxl import load_workbook

from scheduler.club.club import Club
from scheduler.club.people import Absence, Carried, Elsewhere, KeeperWish, Limits, Match
from scheduler.club.places import Booked, Site
from scheduler.club.programme import PlanRow
from scheduler.club.when import Occurs, Span
from scheduler.errors import FolderExists, InputFaults
from scheduler.folder.find import default_folder, read_plan
from scheduler.folder.listsheets import proof_words, strip
from scheduler.folder.pages import cards_html, noticeboard_html
from scheduler.folder.timetable import write_timetable
from scheduler.folder.weeksheet import taken_words
from scheduler.folder.write import write_folder
from scheduler.lettering import lines_in
from scheduler.plan.ledger import Line
from scheduler.plan.plan import Cancelled, Proof, StoodDown, Unmet, WeekPlan
from tests.clubs import BOTH_ENDS, MONDAY, WARM_UP, a_club
from tests.plans import a_plan

ODD = ("Zoë", "Björn Łuk.", "Nguyễn", "Oğuz", "Max <b>", "=1+1", "+2", "-Ines", "@Omar", "<script>x</script>", "A&B")
SECRETS = ("2014-05-01", "1 May 2014", "dentist", "own limit reached", "FAMILY-9", "Rugby school", "two evenings")


def guarded_club() -> Club:
    """A club full of things that may not leave the confidential files, and of names that could do harm."""
    club = a_club(teams=2)
    players = [p.model_copy(update={"called": ODD[i]}) if i < len(ODD) else p for i, p in enumerate(club.players)]
    limits = Limits(no_contact=True, no_heading=True, max_minutes=77)
    players[3] = players[3].model_copy(update={"limits": limits, "family": "FAMILY-9", "even_up": -1})
    players[5] = players[5].model_copy(update={"apart_from": ("Herons Ivo",), "keeper": KeeperWish.NO})
    tuesday = MONDAY + dt.timedelta(days=1)
    site = Site(id="Marsh Lane", help_address="12 Marsh Lane, gate B", defibrillator="clubhouse wall")
    return club.model_copy(
        update={
            "players": tuple(players),
            "sites": (site,),
            "absences": (
                Absence(who=("Herons Mia",), occurs=Occurs(date=tuesday), span=Span(0, 1100), why="the dentist"),
            ),
            "elsewhere": (Elsewhere(player="Herons Tara", date=tuesday, minutes=50, rpe=8, what="Rugby school"),),
            "carried": (Carried(player="Herons Tara", attack=7),),
        }
    )


def guarded_plan(club: Club) -> WeekPlan:
    down = StoodDown(player="Herons Sami", why="own limit reached", start=18 * 60 + 45, end=19 * 60 + 15)
    return a_plan(
        club,
        stood_down={"Herons 1": (down,)},
        unmet=(Unmet(wish="spread of days", about=("Herons",), text="two evenings in a row"),),
        proofs=(Proof(measure="attack", pool="Herons", value=4.0, bound=4.0, proved=True, unit="minutes"),),
        not_checked=("coach cover: the column Checked until is empty",),
    )


def sheet_texts(path: Path) -> list[str]:
    book = load_workbook(path)
    return [str(cell.value) for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]


def test_the_folder_holds_everything_and_the_same_input_gives_the_same_bytes(tmp_path: Path) -> None:
    club = guarded_club()
    plan = guarded_plan(club)
    for name in ("one", "two"):
        write_folder(club, plan, (), tmp_path / name)
    one, two = tmp_path / "one", tmp_path / "two"
    files = sorted(str(file.relative_to(one)) for file in one.rglob("*") if file.is_file())
    assert files == [
        "calendar/coach-coach-herons-1.ics", "calendar/coach-coach-herons-2.ics", "calendar/coach-coach-kites-1.ics",
        "calendar/coach-coach-kites-2.ics", "calendar/team-herons.ics", "calendar/team-kites.ics", "cards.html",
        "confidential/welfare.xlsx", "noticeboard.html", "plan.json", "timetable.xlsx",
    ]  # fmt: skip
    assert [name for name in files if (one / name).read_bytes() != (two / name).read_bytes()] == []
    for path in (one, one / "plan.json", one / "timetable.xlsx"):
        assert read_plan(path, club) == plan
    with pytest.raises(FolderExists):
        write_folder(club, plan, (), one)


def test_no_confidential_fact_is_in_a_shared_file(tmp_path: Path) -> None:
    club = guarded_club()
    write_folder(club, guarded_plan(club), (), tmp_path / "week")
    shared = [file for file in (tmp_path / "week").rglob("*") if file.suffix in (".html", ".ics")]
    texts = {file.name: file.read_text() for file in shared}
    texts["timetable.xlsx"] = "\n".join(sheet_texts(tmp_path / "week" / "timetable.xlsx"))
    from scheduler.folder.cells import Sheets
    from scheduler.folder.memory import remembered

    path = tmp_path / "week" / "timetable.xlsx"
    texts["hidden sheet"] = str(remembered(Sheets(path), path))
    full_names = [player.name for player in club.players if player.name != player.called]
    for name, text in texts.items():
        assert [secret for secret in (*SECRETS, *full_names) if secret in text] == [], name
        assert not re.search(r"\b(load|risk|injur\w+|safe|cleared|compliant|apart)\b", text), name
    children = [player.called for player in club.players if len(player.called) > 3]
    for name in [name for name in texts if name.endswith(".ics")] + ["noticeboard.html"]:
        assert [child for child in children if html.escape(child) in texts[name]] == [], name


def test_odd_names_come_out_right_and_inert(tmp_path: Path) -> None:
    club = guarded_club()
    plan = guarded_plan(club)
    page = cards_html(club, plan)
    for name in ODD:
        assert html.escape(name, quote=True) in page.replace("&#39;", "&#x27;"), name
    assert page.count("<script>") == 1
    assert "<b>" not in page
    write_folder(club, plan, (), tmp_path / "week")
    book = load_workbook(tmp_path / "week" / "timetable.xlsx")
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert not [cell for cell in cells if cell.data_type == "f"]
    everything = "\n".join(str(cell.value) for cell in cells)
    assert [name for name in ODD if name not in everything] == []


def test_the_pages_ask_nothing_of_any_network() -> None:
    club = guarded_club()
    for page in (cards_html(club, guarded_plan(club)), noticeboard_html(club, guarded_plan(club))):
        assert "default-src 'none'" in page
        assert not re.search(r"""(src|href)=["'](?!#)|url\(|@import|https?:""", page)


def test_every_card_carries_the_cautions_and_the_plan_number(tmp_path: Path) -> None:
    club = guarded_club()
    plan = guarded_plan(club)
    write_folder(club, plan, (), tmp_path / "week")
    book = load_workbook(tmp_path / "week" / "timetable.xlsx")
    page = html.unescape(cards_html(club, plan))
    texts = {
        sheet.title: "\n".join(str(c.value) for row in sheet.iter_rows() for c in row if c.value) for sheet in book
    }
    cards = [title for title in texts if title.startswith(("Herons", "Kites"))]
    assert len(cards) >= 2
    firsts = [title for title in cards if not title.endswith("(2)")]  # a second page does not say them again
    for text in (*(texts[title] for title in firsts), page):
        for caution in (
            "A blow to the head: off now, not back today, not left alone, parents told, medical help.",
            "Thunder: leave the field at the first; back 30 minutes after the last.",
            "Goals: anchored before use, never climbed.",
            "Send help to: 12 Marsh Lane, gate B. Defibrillator: clubhouse wall.",
            "Planning defaults, not medical advice",
            "Not checked: coach cover: the column Checked until is empty.",
        ):
            assert caution in text
    footers = {book[title].oddFooter.left.text for title in cards}
    assert len(footers) == 1
    assert re.fullmatch(r"Plan 1 [A-Z0-9]{5}", footers.pop())


def test_no_letter_is_smaller_than_eleven_points(tmp_path: Path) -> None:
    club = guarded_club()
    write_folder(club, guarded_plan(club), (), tmp_path / "week")
    book = load_workbook(tmp_path / "week" / "timetable.xlsx")
    visible = [sheet for sheet in book if sheet.sheet_state == "visible"]
    fonts = {(c.font.name, c.font.sz) for sheet in visible for row in sheet.iter_rows() for c in row if c.value}
    assert {name for name, _ in fonts} <= {"Arial", "Courier New"}
    assert min(size for _, size in fonts) >= 11
    for sheet in visible:
        assert sheet.page_setup.paperSize == 9
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
    for page in (cards_html(club, guarded_plan(club)), noticeboard_html(club, guarded_plan(club))):
        assert min(int(size) for size in re.findall(r"font(?:-size)?:[^;]*?(\d+)pt", page)) >= 11


def test_cancelled_sessions_and_figures_are_said_in_sentences(tmp_path: Path) -> None:
    club = guarded_club()
    plan = guarded_plan(club)
    gone = Cancelled(session="Kites 1", why="the pitch is under water")
    earlier = plan
    plan = plan.model_copy(update={"sessions": plan.sessions[:1], "cancelled": (gone,), "revision": 2})
    write_folder(club, plan, (), tmp_path / "week", earlier=earlier)
    texts = sheet_texts(tmp_path / "week" / "timetable.xlsx")
    assert "Kites 1 is not held: the pitch is under water" in texts
    assert "Kites 1: the pitch is under water" in texts
    figure = "Herons, attack: 4 minutes; counting alone gives 4 minutes; less is shown to be impossible."
    assert figure in texts
    assert any(text.startswith("Kites 1 on Wed 9 Sep") and "is not held" in text for text in texts)
    assert "Not held: Kites 1." in noticeboard_html(club, plan)


def test_a_wish_that_costs_nothing_is_met_in_full_and_one_that_does_keeps_its_figure() -> None:
    figures = {"measure": "early finish", "pool": "booking", "bound": 0.0, "unit": "sessions"}
    met = Proof(value=0.0, proved=True, text="early finish: 0; less is not possible", **figures)
    assert proof_words(met) == "Early finish: met in full."
    paid = Proof(value=2.0, proved=False, text="early finish: 2; at least 0, not proven", **figures)
    assert proof_words(paid) == "Early finish: 2; at least 0, not proven."


def test_an_adult_at_one_station_in_several_blocks_reads_the_station_once(tmp_path: Path) -> None:
    rows = [PlanRow(plan="Evening", block="1", practice=WARM_UP.id, minutes=15)]
    rows += [
        PlanRow(plan="Evening", block=b, practice=p, minutes=20) for b in "234" for p in (BOTH_ENDS.id, WARM_UP.id)
    ]
    club = a_club(players=24).model_copy(update={"plans": tuple(rows)})
    (planned,) = a_plan(club).sessions
    leader = planned.coaches[0]
    blocks = tuple(
        block.model_copy(
            update={
                "stations": tuple(
                    station.model_copy(
                        update={"coaches": (leader,) if station.station == 1 + (block.block == 4) else ()}
                    )
                    for station in block.stations
                )
            }
        )
        for block in planned.blocks
    )
    plan = a_plan(club).model_copy(update={"sessions": (planned.model_copy(update={"blocks": blocks}),)})
    write_timetable(club, plan, tmp_path / "timetable.xlsx")
    texts = [cell.value for row in load_workbook(tmp_path / "timetable.xlsx")["Coaches"].iter_rows() for cell in row]
    assert "leads; station 1 in blocks 2 and 3, station 2 in block 4" in texts


@pytest.mark.parametrize(
    ("held", "expected"),
    [(12, "     ●     "), (10, "   ● |     "), (14, "     | ●   "), (4, "●    |     "), (30, "     |    ●")],
)
def test_a_dot_stands_on_either_side_of_the_fair_share_line(held: int, expected: str) -> None:
    """A share of 12 minutes, reps of 4, five steps a rep: 2 minutes off is 2.5 steps, shown as 2."""
    line = Line("a", "attack", Fraction(held), Fraction(12), Fraction(0), Fraction(4), Fraction(0), None)
    assert strip(line) == expected


def test_what_others_have_taken_stands_under_the_week() -> None:
    """A choir on Wednesday evening on two zones, and a home match that keeps the whole pitch from 09:30."""
    choir = Booked(pitch="North", zones=(1, 2), occurs=Occurs(days=frozenset({2})), span=Span(1140, 1260), by="choir")
    match = Match(team="Herons", date=MONDAY + dt.timedelta(days=5), kick_off=600, minutes=60, pitch="North",
                  zones_span=Span(570, 675))  # fmt: skip
    club = a_club(booked=(choir,), matches=(match,))
    assert taken_words(club) == (
        "Wed 9 Sep 19:00-21:00 North zones 1 and 2 (choir); Sat 12 Sep 09:30-11:15 North (match of Herons)"
    )
    assert taken_words(a_club()) == ""


def test_the_default_folder_is_named_by_the_week() -> None:
    assert default_folder(Path("clubs/marsh.xlsx"), MONDAY) == Path("clubs/week-2026-09-07")


def test_what_holds_no_plan_is_refused_with_a_sentence(tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match="no such file"):
        read_plan(tmp_path / "nothing.json")
    with pytest.raises(InputFaults, match="not a week folder"):
        read_plan(tmp_path)
    (tmp_path / "other.json").write_text('{"schema": "something else"}')
    with pytest.raises(InputFaults, match="not a plan this program can read"):
        read_plan(tmp_path / "other.json")


def test_a_full_club_draws_its_week_on_one_page(tmp_path: Path) -> None:
    """Eight teams, three evenings each, on one pitch of six zones: 24 sessions, four on each of six days."""
    club = a_club(teams=8, players=8, sessions=3, zones=6)
    asks = tuple(ask.model_copy(update={"zones": 2}) for ask in club.sessions)
    club = club.model_copy(update={"sessions": asks})
    plan = a_plan(club)
    moved = []
    for number, planned in enumerate(plan.sessions):
        first, later = 1 + 2 * (number % 4 % 3), 75 * (number % 4 == 3)  # three side by side, a fourth after the first
        where = {"date": club.dates[number // 4], "zones": (first, first + 1)}
        moved.append(planned.model_copy(update={**where, "start": 1080 + later, "end": 1155 + later}))
    write_folder(club, plan.model_copy(update={"sessions": tuple(moved)}), (), tmp_path / "week")
    sheet = load_workbook(tmp_path / "week" / "timetable.xlsx")["Week"]
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.page_setup.fitToHeight in (1, None)  # one page is what the format takes for granted
    texts = [str(cell.value) for row in sheet.iter_rows() for cell in row if cell.value]
    assert not [text for text in texts if "Not drawn" in text]
    assert sum(text.startswith(tuple(f"{ask.id}, " for ask in asks)) for text in texts) == 24


def printed(source: Path) -> list[str]:
    """What stands on each page of a workbook as an office program prints it."""
    profile = f"-env:UserInstallation=file://{source.parent.parent / 'profile'}"
    outdir = str(source.parent.parent)
    command = ["soffice", profile, "--headless", "--convert-to", "pdf", "--outdir", outdir, str(source)]
    subprocess.run(command, check=True, capture_output=True)
    text = subprocess.run(
        ["pdftotext", "-layout", f"{outdir}/{source.stem}.pdf", "-"], check=True, capture_output=True, text=True
    ).stdout
    return text.rstrip("\f").split("\f")


@pytest.mark.office
def test_a_card_with_eighteen_children_prints_on_one_page(tmp_path: Path) -> None:
    club = a_club(players=18)
    write_folder(club, a_plan(club), (), tmp_path / "week")
    pages = [page for page in printed(tmp_path / "week" / "timetable.xlsx") if page.startswith("Herons 1")]
    (page,) = pages
    assert "Block 3" in page
    assert "qualified people come" in " ".join(page.split())
    command = ["pdftohtml", "-xml", "-i", "-stdout", "-zoom", "3", str(tmp_path / "timetable.pdf")]
    fonts = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    # three times the points, rounded down: 32 for eleven, 30 for ten and a half, as on a page made smaller to fit
    assert min(int(size) for size in re.findall(r'<fontspec[^>]* size="(\d+)"', fonts)) >= 31


@pytest.mark.office
def test_the_week_and_every_card_print_on_one_page_each(tmp_path: Path) -> None:
    club = guarded_club()
    write_folder(club, guarded_plan(club), (), tmp_path / "week")
    source = tmp_path / "week" / "timetable.xlsx"
    pages = printed(source)
    book = load_workbook(source)
    cards = [name for name in book.sheetnames if name.startswith(("Herons", "Kites"))]
    assert sum("To say at the break" in page for page in pages) == len(cards)
    assert sum("never climbed" in page or "Goals: anchored" in page for page in pages) == len(
        [name for name in cards if not name.endswith("(2)")]
    )
    assert "Marsh Lane, Mon 7 Sep to Sun 13 Sep 2026" in pages[0]
    assert "Sessions" in pages[1]


def test_a_short_session_in_a_long_week_has_room_for_its_words(tmp_path: Path) -> None:
    """An hour on Saturday morning and one on Friday evening: a column is an hour of twelve, so the words take lines.

    Rows of zones that nobody uses stay one line high.
    """
    club = a_club(zones=3, sessions=2)
    opening = club.pitches[0].openings[0].model_copy(update={"span": Span(9 * 60, 21 * 60)})
    asks = tuple(ask.model_copy(update={"zones": 1}) for ask in club.sessions)
    pitch = club.pitches[0].model_copy(update={"openings": (opening,)})
    club = club.model_copy(update={"sessions": asks, "pitches": (pitch,)})
    plan = a_plan(club)
    early = plan.sessions[0].model_copy(update={"start": 9 * 60, "end": 9 * 60 + 45, "blocks": ()})
    plan = plan.model_copy(update={"sessions": (early, plan.sessions[1])})
    write_timetable(club, plan, tmp_path / "timetable.xlsx")
    sheet = load_workbook(tmp_path / "timetable.xlsx")["Week"]
    box = next(cell for row in sheet.iter_rows() for cell in row if str(cell.value).startswith("Herons 1, 09:00"))
    merged = next(span for span in sheet.merged_cells.ranges if box.coordinate in span)
    columns = range(merged.min_col, merged.max_col + 1)
    widths = {n: d.width for d in sheet.column_dimensions.values() for n in range(d.min, d.max + 1)}
    letters = sum(widths[n] for n in columns)
    assert sheet.row_dimensions[box.row].height >= 14 * lines_in(box.value, letters, bold=True)
    assert sheet.row_dimensions[box.row + 2].height < 20
