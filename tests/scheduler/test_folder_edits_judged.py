"""Single edits of rotation cards, made in the saved workbook: every one that breaks a rule is caught, all others pass.

Judged beside the program by the few lines below, which know the rules of the README and this one club: a team of 16,
four of them keepers, eight in bibs and eight in own shirts, one session.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

import pytest
from openpyxl import load_workbook

from constraints import RULES
from scheduler.audit import audit
from scheduler.folder.edited import read_timetable
from scheduler.folder.timetable import write_timetable
from tests.replans import a_week

EDITS = 200
DEFAULT = 80  # of them in the default run; all with EVENWEEK_ALL_EDITS=1
KEEPERS = {"Ivo", "Noor", "Tara", "Sami"}
PART, GAME = "part", "game"
SLOTS = {2: "attack", 3: "defend", 4: "keep", 5: "rest"}  # columns of the cards, from 0


class Row(NamedTuple):
    """One line of a rep on a card: where, which rep, and what its label says."""

    sheet: str
    line: int
    rep: tuple[int, int]
    kind: str
    area: int
    side: str


class Spot(NamedTuple):
    """Where one child is in one rep: area, bibs of the cell (None at rest) and role."""

    area: int
    side: str | None
    role: str


def rows_of(book: Any) -> Iterator[Row]:
    """The lines of all reps, found by their labels alone."""
    for sheet in (name for name in book.sheetnames if name.startswith("Herons 1")):
        block, rep, kind = 0, 0, PART
        for line, cells in enumerate(book[sheet].iter_rows(values_only=True), 1):
            first, label = str(cells[0] or ""), str(cells[1] or "")
            if match := re.match(r"Block (\d+)", first):
                block = int(match[1])
            elif first == "Rep":
                kind = GAME if label == "Side" else PART
            elif (match := re.match(r"Rep (\d+)", first)) and label:
                rep = int(match[1])
            if match := re.match(r"(\d): (.*) attack$", label):
                yield Row(sheet, line, (block, rep), kind, int(match[1]), match[2])
            elif label in ("bibs", "own shirts") and block > 1:
                yield Row(sheet, line, (block, rep), kind, 1, label)


def other(side: str) -> str:
    return "own shirts" if side == "bibs" else "bibs"


def read(book: Any) -> dict[tuple[int, int], list[tuple[str, Spot]]]:
    """Everybody's spot by rep, as the cells say: in a part the label's side attacks, the other defends and keeps."""
    found: dict[tuple[int, int], list[tuple[str, Spot]]] = {}
    for row in rows_of(book):
        for column, role in SLOTS.items():
            text = str(book[row.sheet].cell(row.line, column + 1).value or "")
            role = "play" if row.kind == GAME and role == "attack" else role
            side = row.side if role in ("attack", "play") or row.kind == GAME else other(row.side)
            spot = Spot(row.area, None if role == "rest" else side, role)
            for name in filter(None, (word.strip() for word in text.split(","))):
                found.setdefault(row.rep, []).append((name, spot))
    return found


def bibs_of(book: Any) -> dict[str, str]:
    """The bibs of every child, from the head of the card."""
    sheet = book[next(name for name in book.sheetnames if name.startswith("Herons 1"))]
    rows = [(str(cells[0]).lower(), str(cells[2])) for cells in sheet.iter_rows(max_row=6, values_only=True)]
    return {name: side for side, names in rows if side in ("bibs", "own shirts") for name in names.split(", ")}


def breaks_by_hand(reps: dict[tuple[int, int], list[tuple[str, Spot]]], bibs: dict[str, str]) -> set[str]:
    """The rules that these cards break."""
    broken: set[str] = set()
    keeping: dict[int, set[tuple[str, Spot]]] = {}
    for (block, _), rep in reps.items():
        if sorted(name for name, _ in rep) != sorted(bibs):
            broken.add("one place each")
        if any(spot.role != "keep" and spot.side not in (None, bibs[name]) for name, spot in rep):
            broken.add("bibs")
        goal = {(name, spot) for name, spot in rep if spot.role == "keep"}
        if {name for name, _ in goal} - KEEPERS:
            broken.add("willing keepers")
        if {name for name, _ in keeping.setdefault(block, goal)} != {name for name, _ in goal}:
            broken.add("keeper stays a block")
        broken |= sizes_by_hand(block, [spot for _, spot in rep])
    return broken if "one place each" in broken else broken | fairness_by_hand(reps)


def sizes_by_hand(block: int, rep: list[Spot]) -> set[str]:
    """Block 2 is four v two at both ends (3 to 5 attack, 2 or 3 defend), block 3 a game of 4 to 6 a side."""
    if block == 2:
        wanted = {(1, "attack"): (3, 5), (1, "defend"): (2, 3), (2, "attack"): (3, 5), (2, "defend"): (2, 3),
                  (1, "keep"): (1, 1), (2, "keep"): (1, 1)}  # fmt: skip
        counts = {key: sum((spot.area, spot.role) == key for spot in rep) for key in wanted}
        if any(not low <= counts[key] <= high for key, (low, high) in wanted.items()):
            return {"area sizes"}
        return {"few rests"} if any(spot.role == "rest" for spot in rep) else set()
    play = [sum((spot.side, spot.role) == (side, "play") for spot in rep) for side in ("bibs", "own shirts")]
    goals = [sum((spot.side, spot.role) == (side, "keep") for spot in rep) for side in ("bibs", "own shirts")]
    if goals != [1, 1] or min(play) < 4 or max(play) > 6 or abs(play[0] - play[1]) > 1:
        return {"area sizes"}
    return {"few rests"} if sum(play) < 12 else set()


def fairness_by_hand(reps: dict[tuple[int, int], list[tuple[str, Spot]]]) -> set[str]:
    """Section 7 of the rules, recounted: nobody more than one rep from the fair share at any whistle."""
    reach = {
        "attack": 4,
        "defend": 4,
        "rest": 8,
        "keep": 24,
    }  # minutes: the longest rep; of keep six fours, three eights
    apart: dict[tuple[str, str], Fraction] = {}
    broken = set()
    for (block, _), rep in sorted(reps.items()):
        minutes = 4 if block == 2 else 8
        outfield = [name for name, spot in rep if spot.role != "keep"]
        for role in ("attack", "defend", "rest", "keep") if block == 2 else ("rest", "keep"):
            may = sorted(KEEPERS) if role == "keep" else outfield
            held = [name for name, spot in rep if spot.role == role]
            for name in may:
                apart[name, role] = apart.get((name, role), Fraction(0)) - Fraction(minutes * len(held), len(may))
            for name in held:
                apart[name, role] = apart.get((name, role), Fraction(0)) + minutes
        broken |= {f"even {role}" for (_, role), far in apart.items() if abs(far) > reach[role]}
    return broken


def edit(book: Any, bibs: dict[str, str], random: Random) -> tuple[str, Any, object, bool]:
    """One edit of one card: its kind, old values to put back, where it is, and whether it can be understood."""
    rows = list(rows_of(book))
    row = random.choice(rows)
    cells = [book[one.sheet].cell(one.line, column + 1) for one in rows if (one.sheet, one.rep) == (row.sheet, row.rep)
             for column in SLOTS]  # fmt: skip
    full = [cell for cell in cells if cell.value]
    one = random.choice(full)
    name = random.choice(str(one.value).split(", "))
    target = random.choice([cell for cell in cells if cell is not one and (cell.value or cell.value == "")])
    kind = random.choices(("swap", "move", "drop", "twice", "misspelt"), (60, 12, 8, 10, 10))[0]
    back = [(one, one.value), (target, target.value)]
    if kind == "swap":
        mates = [(cell, word) for cell in full if cell is not one for word in str(cell.value).split(", ")]
        if random.random() < 0.7:  # most swaps between two of one side, which is what coaches do
            mates = [(cell, word) for cell, word in mates if bibs[word] == bibs[name]]
        target, their = random.choice(mates)
        back[1] = (target, target.value)
        one.value = ", ".join(their if word == name else word for word in str(one.value).split(", "))
        target.value = ", ".join(name if word == their else word for word in str(target.value).split(", "))
    elif kind in ("move", "twice"):
        target.value = ", ".join(filter(None, (target.value, name)))
    if kind in ("move", "drop"):
        one.value = ", ".join(word for word in str(one.value).split(", ") if word != name)
    if kind == "misspelt":
        one.value = str(one.value).replace(name, name + "qx")
    where = {f"{cell.parent.title}!{cell.coordinate}" for cell, _ in back}
    return kind, back, where, kind in ("swap", "move", "drop")


@pytest.mark.slow
def test_every_edit_that_breaks_a_rule_is_caught_and_every_other_passes(tmp_path: Path) -> None:
    club, plan = a_week(16, 4)
    path, edited = tmp_path / "timetable.xlsx", tmp_path / "edited.xlsx"
    write_timetable(club, plan, path)
    book = load_workbook(path)
    bibs, random = bibs_of(book), Random(11)
    assert not breaks_by_hand(read(book), bibs)
    seen: dict[object, int] = {}
    for number in range(EDITS if os.environ.get("EVENWEEK_ALL_EDITS") else DEFAULT):
        kind, back, where, understood = edit(book, bibs, random)
        book.save(edited)
        found, faults = read_timetable(edited, club)
        by_hand = breaks_by_hand(read(book), bibs) if understood else set()
        told = f"edit {number}, {kind} at {where}"
        if understood:
            breaches = audit(club, found, RULES).breaches
            assert not faults, told
            assert found != plan, told
            assert bool(breaches) == bool(by_hand), f"{told}: by hand {by_hand}, {[b.text for b in breaches]}"
            seen[bool(by_hand)] = seen.get(bool(by_hand), 0) + 1
        else:
            assert faults, told
            assert {str(fault).partition(":")[0] for fault in faults} & set(where), f"{told}: {faults}"
            seen[kind] = seen.get(kind, 0) + 1
        for cell, value in back:
            cell.value = value
    assert all(seen.get(key, 0) >= 3 for key in (True, False, "twice", "misspelt")), seen
