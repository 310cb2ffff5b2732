"""The welfare workbook, read back from the file."""

from __future__ import annotations

import datetime as dt
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from scheduler.club.club import Club
from scheduler.club.people import Elsewhere, Limits, Match, Return
from scheduler.club.places import Weather
from scheduler.contract import Severity, Source, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.welfare.answer import not_checked, three_sentences, to_read
from scheduler.welfare.apart import apart_rows, apart_words
from scheduler.welfare.children import children
from scheduler.welfare.returns import stand_down_spans
from scheduler.welfare.sheet import write_welfare
from tests.clubs import MONDAY, a_club, an_age_row
from tests.confidential import confidential_values, find_in_file
from tests.plans import counted_off

BREACH = Violation(
    rule="apart",
    about=("Herons 1",),
    text="two players to be kept apart (welfare file, row 1) are on one side",
    private="Noor Herons and Mia Herons are on one side in block 2",
)
CAUTION = Violation(rule="rest", about=("Herons Tara",), text="Tara is close to the bound", severity=Severity.CAUTION)
STARTS = ((0, 1080), (1, 1080))


def day(offset: int) -> dt.date:
    return MONDAY + dt.timedelta(days=offset)


def a_full_club(**changes: Any) -> Club:
    club = a_club(teams=2, players=14, ages=(an_age_row(week_minutes=130, week_load=900),))
    players = list(club.players)
    players[1] = players[1].model_copy(
        update={"limits": Limits(no_contact=True, max_minutes=40), "apart_from": (players[4].id, "coach Herons 2")}
    )
    players[2] = players[2].model_copy(update={"name": "=HYPERLINK(1)", "called": "Tara"})
    players[4] = players[4].model_copy(update={"apart_from": (players[1].id,)})
    base = {
        "players": tuple(players),
        "matches": (Match(team="Herons", date=day(5), kick_off=600, minutes=60, rpe=7),),
        "elsewhere": (Elsewhere(player="Herons Lena", date=day(2), minutes=45, rpe=5, what="gymnastics"),),
        "returns": (Return(player="Herons Juan", injured=day(-12), symptoms_ended=day(-8)),),
        "weather": (Weather(date=day(0), site="Marsh Lane", wbgt_f=90.5),),
    }
    return club.model_copy(update={**base, **changes})


def a_plan(club: Club) -> WeekPlan:
    plan = counted_off(club, *STARTS)
    downs = tuple((planned.session, down) for planned in plan.sessions for down in stand_down_spans(club, planned))
    plan = counted_off(club, *STARTS, stood_down=downs)
    return plan.model_copy(update={"not_checked": ("kit: the Kit sheet is empty",)})


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("welfare") / "welfare.xlsx"
    club = a_full_club()
    write_welfare(club, a_plan(club), (CAUTION, BREACH), path, (NamedRule(),))
    return path


class NamedRule:
    name = "rest"
    words = "nobody rests more than a rep beyond the share"
    source = Source("a made-up source for this test")
    firm = True

    def off(self, club: Club) -> str | None:
        return None

    def audit(self, club: Club, plan: WeekPlan) -> tuple[Violation, ...]:
        return ()


def cells(path: Path, sheet: str) -> list[tuple[Any, ...]]:
    book = openpyxl.load_workbook(path)
    rows = [tuple(value for value in row if value is not None) for row in book[sheet].iter_rows(values_only=True)]
    book.close()
    return [row for row in rows if row]


def test_the_pages(written: Path) -> None:
    book = openpyxl.load_workbook(written)
    assert book.sheetnames == [
        "This week", "Children", "Limits", "Published sets", "Stood down", "Supervision", "Figures", "Charts 1 Herons",
        "Charts 2 Kites", "Evenness", "Confidential", "Sources",
    ]  # fmt: skip
    assert {book[name].page_setup.paperSize for name in book.sheetnames} == {9}
    assert {book[name].page_setup.fitToWidth for name in book.sheetnames} <= {1, None}
    book.close()


def test_the_first_page_gives_the_answer_in_three_sentences_and_breaches_first(written: Path) -> None:
    """Herons: 75 + 60 for the match = 135 of 130 minutes, over, 13 of 14: Juan is stood down from 18:15 to 19:13, so
    17 + 60 = 77. The 14 Kites have 75, which is room.
    """
    rows = cells(written, "This week")
    assert rows[2] == ("13 of 28 children are over at least one limit entered.",)
    assert rows[3] == ("15 inside every limit entered, none of them is close to one.",)
    assert rows[4] == ("1 stand-down holds a limit; the audit found 1 breach and 1 caution.",)
    kinds = [row[0] for row in rows[7:]]
    assert kinds[:3] == ["breach", "caution", "over"]
    assert rows[7][2] == BREACH.private  # the welfare file may say who
    text = "\n".join(str(value) for row in rows for value in row)
    for needed in ("Not checked", "kit: the Kit sheet is empty", "What this is not", "never a clearance", "Sign-off",
                   "Read by", "not back today", "anchored before use", "not medical advice"):  # fmt: skip
        assert needed in text


def test_a_row_a_child_and_every_limit(written: Path) -> None:
    """28 children; nine limits of the age row, two beside it and the own ones, each `planned of cap` with its word.

    Ivo: 75 minutes on one day and a match of 60: 135 of 130 is over. A load of 421 + 60 x 7 = 841 of 900 is close.
    """
    assert sum(1 for row in cells(written, "Children") if row[1:2] and row[1] in ("Herons", "Kites")) == 28
    limits = [row for row in cells(written, "Limits") if row[1:2] and row[1] in ("Herons", "Kites")]
    assert len(limits) == 28
    (ivo,) = [row for row in limits if row[0] == "Ivo Herons"]
    assert ivo[2:] == (
        "all", "75 of 90", "1 of 1", "1 of 3", "135 of 130\nover", "5, least 2", "1 of 3", "841 of 900\nclose",
        "0 of 20", "19:15 by 21:00", "135 of 720", "19:15 by 20:30", "",
    )  # fmt: skip
    (noor,) = [row for row in limits if row[0] == "Noor Herons"]
    assert noor[-1] == "session minutes: 75 of 40\nover\nno contact: 1 of 0\nover"
    assert ("age row all", "age row", "the caps of the page Limits at 4 to 18 years", "test row") in cells(
        written, "Sources"
    )


def test_no_number_given_is_a_dash(written: Path, tmp_path: Path) -> None:
    """Neither 0 nor unlimited: `75 of -`, and the page says what the dash means."""
    club = a_club(ages=(an_age_row(week_minutes=None, finish_by=None),))
    path = tmp_path / "welfare.xlsx"
    write_welfare(club, counted_off(club, (0, 1080)), (), path)
    rows = cells(path, "Limits")
    (ivo,) = [row for row in rows if row[0] == "Ivo Herons"]
    assert (ivo[6], ivo[11]) == ("75 of -", "19:15 by -")
    assert any("of - : no number given" in row[0] for row in rows)


def test_stood_down_apart_and_sources(written: Path) -> None:
    down = cells(written, "Stood down")
    assert any(row[0] == "Juan Herons" and row[3] == "18:15 - 19:13" and row[4] == "own limit" for row in down)
    assert any(row[0] == "Juan Herons" and "2026-09-13" in row for row in down)  # 30 August + 14 days
    apart = cells(written, "Confidential")
    assert (1, "Noor Herons", "Mia Herons") in apart
    assert (2, "Noor Herons", "Coach Herons 2") in apart
    sources = cells(written, "Sources")
    assert ("rest", "firm", NamedRule.words, "a made-up source for this test") in sources
    assert any(row[0] == "UEFA" and "gives no number" in row[2] for row in sources)


def test_text_stays_text(written: Path) -> None:
    """A name that starts with = is written as text, never as a formula."""
    book = openpyxl.load_workbook(written)
    types = {cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None}
    named = [cell for row in book["Children"].iter_rows() for cell in row if cell.value == "=HYPERLINK(1)"]
    book.close()
    assert "f" not in types
    assert len(named) == 1


def test_the_same_input_gives_the_same_bytes(written: Path, tmp_path: Path) -> None:
    """Another process with another hash seed writes the same file."""
    code = (
        "import sys; from pathlib import Path; sys.path.insert(0, '.');"
        "from tests.scheduler.test_welfare_sheet import *; club = a_full_club();"
        "write_welfare(club, a_plan(club), (CAUTION, BREACH), Path(sys.argv[1]), (NamedRule(),))"
    )
    root = Path(__file__).resolve().parents[2]
    again = tmp_path / "again.xlsx"
    run = {**os.environ, "PYTHONHASHSEED": "7"}
    subprocess.run([sys.executable, "-c", code, str(again)], check=True, cwd=root, env=run)
    assert again.read_bytes() == written.read_bytes()


def test_no_half_file_is_left_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault while the file is written leaves what was there before, and nothing else."""
    target = tmp_path / "welfare.xlsx"
    target.write_text("old")

    def fail(*_: Any) -> None:
        raise RuntimeError("disk full")

    monkeypatch.setattr("scheduler.welfare.sheet.os.replace", fail)
    club = a_full_club()
    with pytest.raises(RuntimeError, match="disk full"):
        write_welfare(club, a_plan(club), (), target)
    assert [path.name for path in tmp_path.iterdir()] == ["welfare.xlsx"]
    assert target.read_text() == "old"


def test_no_word_of_risk_prediction_or_clearance_in_the_file(written: Path) -> None:
    """Loads describe; nothing here says safe, cleared, compliant or at risk, and no colour carries a meaning."""
    words = ["injury risk", "at risk of", "predicts", "compliant", "is safe", "cleared to", "INFEASIBLE", "objective"]
    assert find_in_file(written, words) == []


def test_everybody_inside() -> None:
    club = a_club()
    plan = counted_off(club, (0, 1080))
    first, second, third = three_sentences(children(club, plan), (), plan)
    assert first == "All 14 children are inside every limit entered."
    assert second == "None of them is close to one."
    assert third == "Nobody is stood down; the audit found no breach and no caution."
    assert to_read(club, plan, children(club, plan), (), ()) == ()


def test_what_nobody_looked_at_is_said() -> None:
    club = a_club(rule_set="NATA 2019; nothing of the kind")
    unborn = club.players[0].model_copy(update={"born": None})
    club = club.model_copy(update={"players": (unborn, *club.players[1:])})
    plan = counted_off(club, (0, 1080))
    said = "\n".join(not_checked(club, children(club, plan), ("weather: no weather is entered for this week",)))
    for needed in ("for any child", "birth dates not kept", "Ivo Herons", "weather: no", "a week cannot show it",
                   "nothing of the kind is no rule set known here"):  # fmt: skip
        assert needed in said


def test_pairs_are_numbered_once_and_spoken_of_by_number() -> None:
    club = a_full_club()
    assert [(row.number, row.player, row.other) for row in apart_rows(club)] == [
        (1, "Herons Noor", "Herons Mia"),
        (2, "Herons Noor", "coach Herons 2"),
    ]
    assert apart_words(club, "Herons Mia", "Herons Noor") == "two players to be kept apart (welfare file, row 1)"
    assert apart_words(club, "Herons Noor", "coach Herons 2").startswith("a player and an adult to be kept apart")
    assert apart_words(club, "Herons Ivo", "Herons Noor") == "two players to be kept apart (welfare file)"


def test_the_search_finds_what_is_confidential(written: Path) -> None:
    """The welfare file holds names, injury dates and limits; the same search must find them there."""
    values = confidential_values(a_full_club())
    assert "max 40" in values
    found = find_in_file(written, values)
    assert any(value.endswith(": Noor Herons") for value in found)
    assert any(value.endswith(": max 40") for value in found)
    assert any(value.endswith(": 2026-08-26") for value in found)


@pytest.mark.office
def test_it_prints(written: Path, tmp_path: Path) -> None:
    """LibreOffice opens it and makes pages of it."""
    home = f"-env:UserInstallation=file://{tmp_path}/office"
    command = ["soffice", home, "--headless", "--convert-to", "pdf", "--outdir", str(tmp_path), str(written)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    assert (tmp_path / "welfare.pdf").stat().st_size > 20_000


def test_an_empty_week_and_awkward_team_names(tmp_path: Path) -> None:
    """Every session cancelled; team names with characters and lengths that no sheet may have."""
    awkward = "U12/13: [the 'Elder' Herons] of Marsh Lane and beyond?"
    club = a_club()
    team = club.teams[0].model_copy(update={"id": awkward})
    players = tuple(player.model_copy(update={"team": awkward}) for player in club.players)
    ask = club.sessions[0].model_copy(update={"teams": (awkward,)})
    club = club.model_copy(update={"teams": (team,), "players": players, "sessions": (ask,)})
    plan = WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=())
    path = tmp_path / "welfare.xlsx"
    write_welfare(club, plan, (), path)
    book = openpyxl.load_workbook(path)
    assert any(name.startswith("Charts 1 U12 13") for name in book.sheetnames)
    book.close()
    assert cells(path, "This week")[2] == ("All 14 children are inside every limit entered.",)
