"""What edits by hand do to fair shares is said, with its amount, and when it takes somebody beyond one rep."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from openpyxl import load_workbook

from constraints import RULES
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.folder.edited import read_timetable
from scheduler.folder.edits import edited_lines, shares_moved
from scheduler.folder.timetable import write_timetable
from scheduler.plan.plan import WeekPlan
from tests.replans import a_week


def furthest(club: Club, plan: WeekPlan, player: str, role: str) -> Fraction:
    """By adding up rep by rep, in minutes: the furthest from the share of a role among those who keep no goal."""
    held = share = Fraction(0)
    worst = Fraction(0)
    for block in plan.sessions[0].blocks:
        for rep in block.stations[0].reps:
            minutes, field = rep.end - rep.start, [place for place in rep.places if place.role != "keep"]
            of_role = [place for place in field if place.role == role]
            if not any(place.player == player for place in field):
                continue
            if role == "rest" or any(place.role == "attack" for place in field):
                share += Fraction(minutes * len(of_role), len(field))
                held += minutes * any(place.player == player for place in of_role)
                worst = max(worst, abs(held - share))
    return worst


def edited(folder: Path, most: int) -> tuple[Club, WeekPlan, WeekPlan, Path]:
    """In the second block one who defends changes places with one of the same side who attacks, in so many reps."""
    club, plan = a_week(16, 4)
    path = folder / "timetable.xlsx"
    write_timetable(club, plan, path)
    session = plan.sessions[0]
    reps = session.blocks[1].stations[0].reps
    one = next(place for place in reps[0].places if place.role == "attack")
    other = next(place for place in reps[0].places if place.role == "defend" and place.side == one.side)
    roles = [{place.player: place.role for place in rep.places} for rep in reps]
    turns = [number for number, role in enumerate(roles, 1)
             if (role[one.player], role[other.player]) == ("defend", "attack")][:most]  # fmt: skip
    assert len(turns) == min(most, 2)
    names = {club.called(one.player): club.called(other.player), club.called(other.player): club.called(one.player)}
    book = load_workbook(path)
    sheet = book["Herons 1"] if "Herons 1" in book.sheetnames else book[next(s for s in book.sheetnames if "Her" in s)]
    block, number = "", 0
    for row in sheet.iter_rows():
        first = str(row[0].value or "")
        block = first if first.startswith("Block ") else block
        if first.isdigit() and block.startswith("Block 2"):
            number += 1
        for cell in row[2:6]:
            if block.startswith("Block 2") and number in turns and cell.value:
                words = str(cell.value).split(", ")
                cell.value = ", ".join(names.get(word, word) for word in words)
    book.save(path)
    found, faults = read_timetable(path, club)
    assert not faults
    return club, plan, found, path


def test_nothing_is_said_of_a_plan_that_is_no_timetable(tmp_path: Path) -> None:
    club, plan = a_week(16, 4)
    (tmp_path / "plan.json").write_text(plan.to_json())
    assert edited_lines(club, tmp_path / "plan.json", plan) == []
    assert edited_lines(club, tmp_path, plan) == []


def test_a_timetable_as_it_was_written_moves_nobody(tmp_path: Path) -> None:
    club, _, found, path = edited(tmp_path, 0)
    assert edited_lines(club, path, found) == ["  the edits move nobody's furthest distance from the fair share"]


def test_an_edit_says_who_is_further_from_the_share_and_by_how_much(tmp_path: Path) -> None:
    club, plan, found, path = edited(tmp_path, 1)
    assert found != plan
    moved = shares_moved(club, plan, found)
    for one in moved:
        if one.after.role != "keep":
            assert one.before is not None
            assert one.before.worst == furthest(club, plan, one.after.player, one.after.role)
            assert one.after.worst == furthest(club, found, one.after.player, one.after.role)
    lines = edited_lines(club, path, found)
    assert len(lines) == 1 + len(moved)


def test_an_edit_that_takes_somebody_beyond_one_rep_says_so_and_breaks_the_rule(tmp_path: Path) -> None:
    club, _, found, path = edited(tmp_path, 2)
    beyond = [line for line in edited_lines(club, path, found) if "beyond the one rep allowed" in line]
    broken = {breach.about[0] for breach in audit(club, found, RULES).breaches if breach.unit == "minutes"}
    assert beyond
    assert broken
    assert all(any(line.strip().startswith(club.called(player)) for line in beyond) for player in broken)
    assert all("before: " in line for line in beyond)
