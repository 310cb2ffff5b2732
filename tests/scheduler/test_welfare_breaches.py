"""A plan made by hand with breaches planted in it: all of them named with their amounts, none invented.

Each amount is worked out from the club in `tests/by_hand.py`, not taken from a run. What each rule rests on stands in
the rules' own tests; here the question is whether an officer who is handed somebody's plan is told everything, and
nothing else.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from click.testing import CliRunner

from cli import main
from constraints import RULES
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.workbook.read import read_club
from tests.by_hand import FRI, THU, TUE, Hand, rows
from tests.club_files import save_json, save_xlsx

Change = Callable[[Hand], None]
Found = tuple[str, tuple[str, ...], float]


def forget(player: str, *left: tuple[str, str]) -> Change:
    """The stand-down that held a limit is forgotten, or shorter."""
    return lambda hand: hand.down.update({player: list(left)})


def add(where: str, *names: str) -> Change:
    return lambda hand: hand.coaches[where].extend(names)


def adults(team: str, *names: str) -> Change:
    return lambda hand: hand.coaches.update({team: list(names)})


def move(team: str, date: str, start: str) -> Change:
    return lambda hand: hand.start.update({team: (date, start)})


def guest(team: str, player: str) -> Change:
    return lambda hand: hand.guests[team].append(player)


LOAD, COVER, PITCH = "age-phase load", "coach cover", "pitch bookings"
# name: what is done to the lawful plan, the rule, whom it is about, by how much
CARE: dict[str, tuple[Change, str, tuple[str, ...], float]] = {
    "session minutes: 75 of 60": (forget("Short"), LOAD, ("Short",), 15),
    "finish by: 19:15 after 19:00": (forget("Late"), LOAD, ("Late",), 15),
    "week minutes: 250 elsewhere and 75 of 300": (forget("Busy"), LOAD, ("Busy",), 25),
    "week load: 20 x 5 elsewhere and 75 x 5 of 400": (forget("Loaded"), LOAD, ("Loaded",), 75),
    "rest days: sport on five days and Wednesday leave one of two": (forget("Restless"), LOAD, ("Restless",), 1),
    "days in a row: Monday to Thursday, three at most": (forget("Daily"), LOAD, ("Daily",), 1),
    "sessions a day: 18:00 and 19:30": (guest("Crakes", "Twice"), LOAD, ("Twice",), 1),
    "sessions a week: two of one": (guest("Quails", "Often"), LOAD, ("Often",), 1),
    "own limit: 75 minutes, at most 45": (forget("Maxed"), "limits", ("Maxed", "Avocets"), 30),
    "no contact: 20 minutes of tackling": (forget("Tender"), "limits", ("Tender", "Bitterns"), 20),
    "no heading: 20 minutes of heading": (forget("Header"), "limits", ("Header", "Bitterns"), 20),
    "headers a week: five of four": (forget("Little"), "limits", ("Little",), 1),
    "the day after a match": (forget("Played"), "match recovery", ("Played", "Avocets"), 1),
    "hard contact the day before a match": (forget("Eve"), "match recovery", ("Eve", "Bitterns"), 20),
    "symptoms not ended": (forget("Hurt"), "returns", ("Hurt", "Avocets"), 75),
    "contact without a clearance": (forget("Concussed", ("18:40", "19:00")), "returns", ("Concussed", "Bitterns"), 20),
    "13 and 10 years in one contact practice": (
        forget("Younger", ("18:40", "19:00")), "age gap", ("Bitterns 1", "Younger", "Bitterns"), 1),
    "two to be kept apart in one group": (lambda hand: hand.group.update({"Cat": 1, "Dog": 1}), "apart", (), 1),
    "one adult": (adults("Egrets", "coach Egrets 1"), COVER, ("Egrets",), 1),
    "an adult in two places, 18:30 to 19:00": (add("Godwits", "Zed"), COVER, ("Zed", "Fulmars", "Godwits"), 30),
    "an adult whose check has lapsed": (add("Fulmars", "Lapsed"), COVER, ("Lapsed", "Fulmars"), 1),
    "an adult who is away": (add("Godwits", "Away"), COVER, ("Away", "Godwits"), 1),
    "no first aider on the site for an hour": (adults("Herons", "coach Herons 2", "Unaided"), COVER, ("Yard",), 60),
    "black heat": (move("Ibises", THU, "18:00"), "weather", ("Ibises",), 60),
    "half an hour after thunder at 18:20": (move("Jays", THU, "18:30"), "weather", ("Jays",), 20),
}  # fmt: skip
GROUND: dict[str, tuple[Change, str, tuple[str, ...], float]] = {
    "75 minutes in red heat": (move("Kites", THU, "18:00"), "weather", ("Kites",), 15),
    "two on one zone, 18:45 to 19:00": (move("Merlins", FRI, "18:45"), PITCH, ("Larks", "Merlins"), 15),
    "a hired pitch": (move("Nightjars", FRI, "17:45"), PITCH, ("Nightjars", "Nightjars field"), 15),
    "a closed pitch": (move("Owls", FRI, "19:15"), PITCH, ("Owls", "Owls field"), 15),
    "lights out at 20:45, on till 21:00": (move("Plovers", TUE, "20:00"), "daylight", ("Plovers", "Plovers field"), 15),
    "later than asked": (move("Quails", TUE, "18:15"), "days and times asked for", ("Quails",), 15),
    "twelve poles of ten": (move("Shrikes", TUE, "18:30"), "kit", ("pole", "Shore"), 2),
    "100 of 150 square metres": (lambda hand: hand.pitch.update(Terns="Small"), "space", ("Terns", "Room"), 50),
    "absent and listed": (guest("Dunlins", "Gone"), "one place at once", ("Gone", "Dunlins"), 60),
    "a child in goal who said no": (
        lambda hand: hand.roles.update(Uprights=[*hand.roles["Uprights"][:3], "B play 1", "B play 1", "B keep 1"]),
        "willing keepers", ("Never", "Uprights"), 20),
    "three attackers where two are asked for": (
        lambda hand: hand.roles.update(Veerys=[*hand.roles["Veerys"][:4], "A attack 1"]), "area sizes", ("Veerys",), 1),
    "a child who rests for nothing": (
        lambda hand: hand.roles.update(Wrens=["A rest -", *hand.roles["Wrens"][1:]]), "few rests", ("Wrens",), 1),
}  # fmt: skip
ALL = {**CARE, **GROUND}


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Club:
    return read_club(save_json(tmp_path_factory.mktemp("by hand"), rows()))


def breaches(club: Club, *changes: Change) -> Counter[Found]:
    hand = Hand(club)
    for change in changes:
        change(hand)
    found = audit(club, hand.plan(), RULES).breaches
    return Counter((one.rule, one.about, float(Fraction(one.by))) for one in found)


def test_the_week_by_hand_is_lawful_before_anything_is_planted(club: Club) -> None:
    judged = audit(club, Hand(club).plan(), RULES)
    assert [one.text for one in judged.breaches] == []
    assert judged.not_checked == ()


@pytest.mark.parametrize("name", list(ALL))
def test_each_alone_is_found_and_nothing_else(club: Club, name: str) -> None:
    change, *expected = ALL[name]
    assert breaches(club, change) == Counter([tuple(expected)])


def planted(folder: Path, which: dict[str, Any], *, workbook: bool = False) -> tuple[Path, Path]:
    """The club file and a plan.json with the breaches, as somebody would send them."""
    file = (save_xlsx if workbook else save_json)(folder, rows())
    hand = Hand(read_club(file))
    for change, *_ in which.values():
        change(hand)
    plan = folder / "plan.json"
    plan.write_text(hand.plan().to_json(), encoding="utf-8")
    return file, plan


def test_twenty_five_breaches_of_care_as_a_user_runs_the_audit(tmp_path: Path) -> None:
    """Exit code 6, 25 lines, a welfare file that names each of them with the full name where the terminal may not."""
    assert len(CARE) == 25
    file, plan = planted(tmp_path, CARE, workbook=True)
    welfare = tmp_path / "welfare.xlsx"
    done = CliRunner().invoke(main, ["audit", str(file), str(plan), "--welfare", str(welfare)])
    assert done.exit_code == 6, done.output
    lines = [line for line in done.stdout.splitlines() if line.startswith("  breach: ")]
    assert len(lines) == 25
    assert Counter(line.split(": ")[1] for line in lines) == Counter(rule for _, rule, _, _ in CARE.values())
    assert done.stdout.startswith("25 breaches found")
    assert not any(word in done.stdout for word in ("Cat and Dog", "no contact", "2026-08", "475", "325", "blow"))
    book = openpyxl.load_workbook(welfare)
    first = [row for row in book["This week"].iter_rows(values_only=True) if row[0] == "breach"]
    *head, _ = [cell.value for cell in book["Limits"][4]]
    entered = [column for column, name in enumerate(head) if name and not name.endswith("*")] + [len(head)]
    table = [row for row in book["Limits"].iter_rows(values_only=True) if str(row[0]).endswith(" Child")]
    over = {row[0] for row in table if any(str(row[column]).endswith("over") for column in entered)}
    book.close()
    assert len(first) == 25
    said = "\n".join(str(row[2]) for row in first)
    for needed in (
        "Busy Child: has 325 minutes in the week, at most 300",
        "Loaded Child: has a planned load of 475, at most 400",
        "Cat and Dog are in one group",
        "no contact",
        "contact not before 2026-08-18, no clearance entered",  # 4 August and 14 days
    ):
        assert needed in said
    # whoever breaks a number of the age row or an own limit stands so on the page of limits as well
    numbers = {about[0] for _, rule, about, _ in CARE.values() if rule in (LOAD, "limits")}
    assert over == {f"{player} Child" for player in numbers}


def test_all_of_them_at_once(tmp_path: Path) -> None:
    """With those of ground, kit and roles as well; a plan folder made by hand holds nothing but plan.json."""
    folder = tmp_path / "week"
    folder.mkdir()
    file, plan = planted(tmp_path, ALL)
    plan.rename(folder / "plan.json")
    done = CliRunner().invoke(main, ["audit", str(file), str(folder), "--json"])
    assert done.exit_code == 6, done.output
    found = Counter(
        (one["rule"], tuple(one["about"]), one["by"])
        for one in json.loads(done.stdout)["findings"]
        if one["severity"] == "breach"
    )
    assert found == Counter((rule, about, float(by)) for _, rule, about, by in ALL.values())
    assert sum(found.values()) == len(ALL) == 37
