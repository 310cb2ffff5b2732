"""`--after`: the plan of the week before, read for the days around the Monday by plan, audit and welfare file alike."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from cli import main
from constraints.age_phase_load import AgePhaseLoad
from scheduler.booking.book import book
from scheduler.club.club import Club
from scheduler.club.people import Absence
from scheduler.club.when import Occurs
from scheduler.errors import InputFaults
from scheduler.folder.find import read_plan
from scheduler.outcome import Booked
from scheduler.plan.plan import StoodDown, WeekPlan
from scheduler.welfare.before import after_plan, checked
from scheduler.welfare.children import NOTHING_BEFORE, children
from scheduler.workbook.read import read_club
from tests.club_files import save_json, village
from tests.clubs import MONDAY, a_club, an_age_row
from tests.plans import counted_off

WEEK = dt.timedelta(days=7)


def the_week_before(club: Club, *starts: tuple[int, int]) -> WeekPlan:
    return counted_off(club.model_copy(update={"week": club.week - WEEK}), *starts)


def test_sunday_and_monday_are_two_days_in_a_row() -> None:
    """Last Sunday's session and this Monday's; this week's minutes and rest days stay as they are (75, six)."""
    club = a_club()
    known = after_plan(club, the_week_before(club, (6, 1080)))
    (ivo, *_) = children(known, counted_off(club, (0, 1080)))
    assert (ivo.line("days in a row").planned, ivo.line("days in a row").note) == (2, "")
    assert (ivo.line("week minutes").planned, ivo.line("rest days").planned) == (75, 6)


def test_who_had_no_session_is_known_to_have_had_none() -> None:
    """Stood down throughout, or not there: one day in a row, and no longer a week of which nothing is known."""
    club = a_club()
    away = Absence(who=("Herons Noor",), occurs=Occurs(date=MONDAY - dt.timedelta(days=1)))
    last = club.model_copy(update={"week": club.week - WEEK, "absences": (away,)})
    down = StoodDown(player="Herons Ivo", why="own limit", start=1080, end=1155)
    known = after_plan(club, counted_off(last, (6, 1080), stood_down=(("Herons 1", down),)))
    reports = {one.player: one for one in children(known, counted_off(club, (0, 1080)))}
    for player, run in (("Herons Ivo", 1), ("Herons Noor", 1), ("Herons Tara", 2)):
        line = reports[player].line("days in a row")
        assert (line.planned, line.note) == (run, "")
    blind = children(club, counted_off(club, (0, 1080)))
    assert {one.line("days in a row").note for one in blind} == {NOTHING_BEFORE}


def test_the_booking_and_the_audit_know_it_too() -> None:
    """Two days in a row are the most, the pitch is open on Monday alone: after Saturday and Sunday nobody may come.

    Without the week before the same club trains on the Monday; the audit of that plan finds a third day in a row.
    """
    club = a_club(sessions=1, ages=(an_age_row(days_in_a_row=2),))
    before = a_club(sessions=2, week=MONDAY - WEEK)
    known = after_plan(club, counted_off(before, (5, 1080), (6, 1080)))
    monday = counted_off(club, (0, 1080))
    assert list(AgePhaseLoad().audit(club, monday)) == []
    found = list(AgePhaseLoad().audit(known, monday))
    assert [one.by for one in found] == [1] * 14
    assert "3 days in a row" in found[0].private
    planned = book(known, (AgePhaseLoad(),), limit=5)
    assert isinstance(planned, Booked)
    assert planned.plan.sessions[0].date > MONDAY


def test_a_plan_of_another_week_or_club_is_refused(tmp_path: Path) -> None:
    club = a_club()
    other = tmp_path / "plan.json"
    other.write_text(the_week_before(a_club(week=MONDAY - WEEK), (6, 1080)).to_json())
    with pytest.raises(InputFaults, match="it is the plan of the week of 2026-08-24; after --after give that of"):
        checked(other, read_plan(other, club), club)
    strangers = the_week_before(club, (6, 1080)).model_dump_json(by_alias=True).replace("Herons ", "Larks ")
    other.write_text(strangers)
    with pytest.raises(InputFaults, match="nobody in it is a player of Marsh Lane"):
        checked(other, read_plan(other, club), club)


def test_as_a_user_runs_it(tmp_path: Path) -> None:
    """Plan a week, then the next after it: the welfare file no longer says that nothing is known before Monday."""
    file = save_json(tmp_path, village())
    run = CliRunner()
    first = tmp_path / "first"
    done = run.invoke(main, ["plan", str(file), "-o", str(first)])
    assert done.exit_code == 0, done.output
    blind, second = tmp_path / "blind", tmp_path / "second"
    for folder, more in ((blind, []), (second, ["--after", str(first)])):
        done = run.invoke(main, ["plan", str(file), "--week", "2026-12-14", "-o", str(folder), *more])
        assert done.exit_code == 0, done.output
    blind_words = "nothing is known of the days before the week for any child"
    assert blind_words in _text(blind / "confidential" / "welfare.xlsx")
    assert blind_words not in _text(second / "confidential" / "welfare.xlsx")
    for command in (["audit", str(file), str(second)], ["replan", str(file), str(second)], ["why", str(file)]):
        done = run.invoke(main, [*command, "--week", "2026-12-14", "--after", str(first)])
        assert done.exit_code == 0, done.output
    wrong = run.invoke(main, ["plan", str(file), "-o", str(tmp_path / "third"), "--after", str(first)])
    assert wrong.exit_code == 3
    assert "give that of the week of 2026-11-30" in wrong.stderr
    many = run.invoke(main, ["plan", str(file), str(file), "--after", str(first)])
    assert many.exit_code == 2
    assert read_club(file).elsewhere == ()


def _text(path: Path) -> str:
    book = openpyxl.load_workbook(path)
    text = "\n".join(str(cell) for sheet in book for row in sheet.iter_rows(values_only=True) for cell in row if cell)
    book.close()
    return text
