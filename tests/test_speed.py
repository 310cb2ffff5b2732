"""The measuring itself: clubs that can be planned, ways judged alike, figures that are what they are called."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
from ortools.sat.python import cp_model

from tests.speed.clubs import USES, a_town, known_week
from tests.speed.measure import measure
from tests.speed.order import judged, near, vector
from tests.speed.picture import bars, lines, slope
from tests.speed.rows import NotLinear, rows_of
from tests.speed.show import best_known, close_at, grown, lawful

ROOT = Path(__file__).resolve().parent.parent


@pytest.mark.parametrize("use", USES)
@pytest.mark.parametrize(
    ("teams", "zones", "shared", "seed"), [(6, 4, 0, 1), (6, 3, 2, 2), (12, 4, 2, 1), (30, 3, 2, 1)]
)
def test_the_known_week_is_lawful_and_the_ground_as_full_as_asked(
    teams: int, use: float, zones: int, shared: int, seed: int
) -> None:
    town = a_town(teams, use, zones, seed, shared=shared)
    assert judged(town.club, known_week(town)).breaches == ()
    club = town.club
    hours = sum(o.span.minutes * len(o.days) * pitch.zones for pitch in club.pitches for o in pitch.openings)
    hired = sum(row.span.minutes * len(row.zones) for row in club.booked)
    asked = sum(ask.minutes * ask.zones for ask in club.sessions if ask.zones)
    assert asked / (hours - hired) == pytest.approx(use, abs=0.02)


def test_shared_children_play_for_a_team_of_the_next_age() -> None:
    club = a_town(12, shared=2).club
    both = [player for player in club.players if player.also_plays_for]
    assert len(both) == 6
    for player in both:
        older, own = club.team(player.also_plays_for[0]), club.team(player.team)
        assert older.age_group == own.age_group + 1


def test_every_way_comes_to_the_same_best_week() -> None:
    """Three engines' proofs on one small club, each plan judged by the audit: a second and a third opinion."""
    found = {way: measure(way, 6, 0.9, 3, 0, 1, 60.0) for way in ("evenweek", "one model", "rows on HiGHS")}
    assert all(lawful(row) and row["proven"] for row in found.values()), found
    assert len({vector(row["wishes"]) for row in found.values()}) == 1
    assert vector(found["evenweek"]["wishes"]) == tuple(found["one model"]["path"][-1][1])


def test_a_greedy_plan_is_counted_only_where_it_is_lawful() -> None:
    row = measure("first come", 6, 0.75, 4, 0, 1, 5.0)
    assert lawful(row) == (row["breaches"] == 0 and row["left over"] == 0)
    assert (row["first"] is not None) == lawful(row)


def test_rows_say_what_the_model_says() -> None:
    """Every assignment of four literals: lawful in the rows where it is in the model, by the solver."""
    model = cp_model.CpModel()
    a, b, c, d = (model.new_bool_var(name) for name in "abcd")
    model.add_bool_or(a, ~b)
    model.add_at_most_one(b, c, d)
    model.add(a + 2 * c - d >= 1).only_enforce_if(b, ~d)
    model.add_implication(c, a)
    rows = rows_of(model)
    for number in range(16):
        values = [number >> at & 1 for at in range(4)]
        by_rows = all(low <= sum(f * values[v] for v, f in row.items()) <= high for row, low, high in rows.rows)
        model.clear_assumptions()
        fixed = model.clone()
        for at, value in enumerate(values):
            fixed.add(fixed.get_bool_var_from_proto_index(at) == value)
        status = cp_model.CpSolver().solve(fixed)
        assert by_rows == (status in (cp_model.OPTIMAL, cp_model.FEASIBLE)), values


def test_what_is_not_linear_is_refused() -> None:
    model = cp_model.CpModel()
    one, two = model.new_int_var(0, 3, "one"), model.new_int_var(0, 3, "two")
    model.add(one != two)
    with pytest.raises(NotLinear):
        rows_of(model)


def test_within_one_part_in_a_hundred_of_the_best() -> None:
    """The first wish that differs decides, later ones cannot make up for it; one plan beside the better of two."""
    assert near((0, 101, 9), (0, 100, 1))
    assert not near((0, 102, 0), (0, 100, 1))
    assert near((0, 100, 1), (0, 100, 1))
    assert not near((1, 0, 0), (0, 100, 1))
    wishes = {"wished days": 3, "spread of days": 2}
    rows = [
        {"breaches": 0, "wishes": wishes},
        {"breaches": 1, "wishes": {}},
        {"breaches": 0, "wishes": {"wished days": 4}},
    ]
    best = best_known(rows)
    assert best == vector(wishes)
    path = [(0.5, vector({"wished days": 4})), (2.0, vector(wishes))]
    assert close_at({"path": path}, best) == 2.0


def test_growth_is_the_exponent() -> None:
    """By hand: 3 n^1.5 grows with exponent 1.5, twice the size at twice the time with 1."""
    assert slope([(n, 3 * n**1.5) for n in (12, 30, 60, 120)]) == pytest.approx(1.5)
    assert slope([(10, 1), (20, 2)]) == pytest.approx(1.0)
    assert slope([(10, 1)]) is None


def test_what_was_not_reached_counts_as_never() -> None:
    """By hand: of 1, 3 and never the median is 3; of never, never and 1 it is never, and the size is left out."""
    rows = [{"way": "evenweek", "size": size, "first": first}
            for size, first in ((6, 1.0), (6, None), (6, 3.0), (12, None), (12, 1.0), (12, None))]  # fmt: skip
    assert grown(rows, "first") == [(6.0, 3.0)]


def test_a_run_is_taken_up_where_it_stopped(tmp_path: Path) -> None:
    rows = tmp_path / "rows.jsonl"
    command = [sys.executable, "-m", "tests.speed.bench", "booking", "--sizes", "6", "--uses", "0.75", "--zones", "4",
               "--shared", "0", "--ways", "evenweek", "--seconds", "20", "--rows", str(rows)]  # fmt: skip
    for seeds, count in (("1", 1), ("1,2", 2)):
        subprocess.run([*command, "--seeds", seeds], cwd=ROOT, check=True, capture_output=True)
        assert len(rows.read_text().splitlines()) == count
    assert [json.loads(line)["seed"] for line in rows.read_text().splitlines()] == [1, 2]
    out = tmp_path / "speed.md"
    subprocess.run([sys.executable, "-m", "tests.speed.show", str(rows), "--out", str(out)], cwd=ROOT, check=True)
    assert out.read_text().count("| evenweek |") == 2


def test_pictures_keep_everything_inside_the_frame() -> None:
    """Every text and mark of both pictures lies inside the view box."""
    groups = {f"figure {number}": {"by hand": 3.0 * number, "evenweek": 1.0} for number in range(1, 9)}
    curves = {f"way {number}": [(6.0, 0.1 * number), (120.0, 9.0)] for number in range(1, 6)}
    for drawn in (bars("Bars", groups), lines("Lines", "teams", "s", curves)):
        root = ElementTree.fromstring(drawn)
        wide, high = (float(one) for one in root.attrib["viewBox"].split()[2:])
        for mark in root.iter():
            across, down = mark.get("x") or mark.get("cx"), mark.get("y") or mark.get("cy")
            if across and down:
                assert 0 <= float(across) <= wide, mark.attrib
                assert 0 <= float(down) <= high, mark.attrib
