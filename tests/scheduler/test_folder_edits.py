"""What edits by hand do to fair shares is said, with its amount, and when it takes somebody beyond one rep."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from constraints import RULES
from scheduler.audit import audit
from scheduler.club.club import Club
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
    """In the second block one child who defends takes the place of an attacker of the same side, in so many reps."""
    club, plan = a_week(16, 4)
    path = folder / "timetable.xlsx"
    write_timetable(club, plan, path)
    session = plan.sessions[0]
    station = session.blocks[1].stations[0]
    child = next(place for place in station.reps[0].places if place.role == "defend").player
    reps, left = [], most
    for rep in station.reps:
        mine = next(place for place in rep.places if place.player == child)
        other = next(place for place in rep.places if place.role == "attack" and place.side == mine.side)
        if mine.role == "defend" and left:
            takes = {child: other.player, other.player: child}
            left -= 1
            places = [one.model_copy(update={"player": takes.get(one.player, one.player)}) for one in rep.places]
            rep = rep.model_copy(update={"places": tuple(places)})
        reps.append(rep)
    block = session.blocks[1].model_copy(update={"stations": (station.model_copy(update={"reps": tuple(reps)}),)})
    blocks = (session.blocks[0], block, *session.blocks[2:])
    return club, plan, plan.model_copy(update={"sessions": (session.model_copy(update={"blocks": blocks}),)}), path


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
    club, _, found, path = edited(tmp_path, 9)
    beyond = [line for line in edited_lines(club, path, found) if "beyond the one rep allowed" in line]
    broken = {breach.about[0] for breach in audit(club, found, RULES).breaches if breach.unit == "minutes"}
    assert beyond
    assert broken
    assert all(any(line.strip().startswith(club.called(player)) for line in beyond) for player in broken)
    assert all("before: " in line for line in beyond)
