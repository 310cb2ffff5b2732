"""Side by side, in one run: `python -m tests.speed.bench [--sizes 6,12,30] [--out FILE.md] [--weeks 1000]`.

Each measurement is a process of its own, one after the other. Writes a table in Markdown and, beside it, two pictures
in SVG. Seconds of one machine mean little; ratios within one run and growth over sizes are what to look at.
"""

from __future__ import annotations

import argparse
import json
import platform
import subprocess
import sys
from collections.abc import Iterable, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Any

from tests.speed.fairness import pairs_of_weeks, summary
from tests.speed.picture import bars, lines, slope

ROOT = Path(__file__).resolve().parent.parent.parent
BOOKINGS = ("evenweek", "rows on HiGHS", "plain intervals", "first come")
PROCESSES = ("rotations, 1 process", "rotations, 2 processes")
RINGS = ("quick", "complete", "hand")
Found = dict[str, Any]


def run(job: str, size: int, use: float, zones: int, seconds: float) -> Found:
    """One measurement in a process of its own; an empty answer where it was stopped at four times the time allowed."""
    command = [sys.executable, "-m", "tests.speed.measure", job, str(size), str(use), str(zones), str(seconds)]
    try:
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=4 * seconds, check=False)
    except subprocess.TimeoutExpired:
        return {"outcome": f"stopped after {4 * seconds:g} s"}
    if done.returncode:
        return {"outcome": (done.stderr.strip().splitlines() or ["failed"])[-1]}
    found: Found = json.loads(done.stdout)
    return found


def cell(value: object) -> str:
    """A figure for the table; a dash where there is none."""
    if value is None:
        return "-"
    return f"{value:.3g}" if isinstance(value, float) else str(value)


def ratio(one: object, other: object) -> str:
    """One figure as a multiple of another."""
    if isinstance(one, (int, float)) and isinstance(other, (int, float)) and other > 0:
        return f"{one / other:.2g}x"
    return "-"


def table(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> list[str]:
    """A Markdown table."""
    body = ["| " + " | ".join(cell(value) for value in row) + " |" for row in rows]
    return ["| " + " | ".join(headings) + " |", "| " + " | ".join("---" for _ in headings) + " |", *body, ""]


def bookings(sizes: Sequence[int], uses: Sequence[float], zones: Sequence[int], seconds: float
             ) -> tuple[list[str], dict[str, list[tuple[float, float]]]]:  # fmt: skip
    """The booking beside the naive ways and the second engine."""
    rows: list[Sequence[object]] = []
    grown: dict[str, list[tuple[float, float]]] = {}
    for size in sizes:
        for use in uses:
            for parts in zones:
                ours: Found = {}
                for job in BOOKINGS:
                    found = run(job, size, use, parts, seconds)
                    ours = found if job == "evenweek" else ours
                    lawful = "-" if found.get("breaches") is None else found["breaches"] + found.get("left over", 0)
                    rows.append((size, f"{use:.0%}", parts, job, found.get("first"), found.get("within"),
                                 found.get("proven"), ratio(found.get("proven"), ours.get("proven")),
                                 found.get("value"), found.get("gap"), lawful, same(found, ours),
                                 found.get("megabytes"), found.get("outcome", "")))  # fmt: skip
                    if found.get("proven"):
                        grown.setdefault(job, []).append((float(size), float(found["proven"])))
                    print(rows[-1], file=sys.stderr, flush=True)
    headings = ("teams", "use", "zones", "way", "first lawful, s", "last better, s", "proven, s", "proven beside ours",
                "two wishes pay", "gap", "breaches or left over", "wish by wish", "MB", "")  # fmt: skip
    return table(headings, rows), grown


def same(found: Found, ours: Found) -> str:
    """Whether a second engine came to the same value in every wish it finished."""
    mine, theirs = ours.get("wishes"), found.get("wishes")
    if found is ours or not mine or not theirs:
        return "-"
    return "same" if all(mine.get(wish, 0) == value for wish, value in theirs.items()) else "DIFFERENT"


def rotations(sizes: Sequence[int], seconds: float) -> tuple[list[str], list[tuple[float, float]]]:
    """All rotations of a club in one process and in two."""
    rows, grown = [], []
    for size in sizes:
        one, two = (run(job, size, 0.75, 4, seconds) for job in PROCESSES)
        rows.append((size, 2 * size, one.get("took"), two.get("took"), ratio(two.get("took"), one.get("took")),
                     one.get("megabytes"), one.get("outcome", "")))  # fmt: skip
        if one.get("took"):
            grown.append((float(size), float(one["took"])))
        print(rows[-1], file=sys.stderr, flush=True)
    return table(("teams", "sessions", "1 process, s", "2 processes, s", "two beside one", "MB", ""), rows), grown


def rings(sizes: Sequence[int], seconds: float) -> list[str]:
    """One ring: the quick path, the complete model from scratch, and by hand."""
    rows = []
    for size in sizes:
        quick: Found = {}
        for job in RINGS:
            found = run(job, size, 0, 0, seconds)
            quick = found if job == "quick" else quick
            rows.append((size, job, found.get("took"), ratio(found.get("took"), quick.get("took")),
                         found.get("furthest"), found.get("beyond"), found.get("repeats"), found.get("megabytes"),
                         found.get("outcome", "" if found.get("first") else "no rotation found")))  # fmt: skip
            print(rows[-1], file=sys.stderr, flush=True)
    headings = ("players", "way", "took, s", "beside quick", "furthest from the share, reps", "children beyond one rep",
                "repeated pairs", "MB", "")  # fmt: skip
    return table(headings, rows)


def fairness(weeks: int) -> tuple[list[str], dict[str, dict[str, float]]]:
    """Random attendances by hand and by the quick path."""
    both = list(pairs_of_weeks(weeks))
    hand, ours = summary(one for one, _ in both), summary(two for _, two in both if two is not None)
    rows = [(name, value, ours[name]) for name, value in hand.items()]
    shown = {name: {"by hand": value, "evenweek": ours[name]} for name, value, _ in rows if name != "weeks"}
    return table(("", "by hand", "evenweek"), rows), shown


def main() -> None:
    """Measure, and write the table and the pictures."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--sizes", default="6,12,30,60")
    options.add_argument("--uses", default="0.75,0.9")
    options.add_argument("--zones", default="4,3")
    options.add_argument("--rotation-sizes", default="12,30,60,120")
    options.add_argument("--ring-sizes", default="12,14,16,18,40,80")
    options.add_argument("--seconds", type=float, default=60.0)
    options.add_argument("--weeks", type=int, default=1000)
    options.add_argument("--out", type=Path, default=Path("speed.md"))
    asked = options.parse_args()
    sizes, zones = ([int(one) for one in text.split(",")] for text in (asked.sizes, asked.zones))
    uses = [float(one) for one in asked.uses.split(",")]
    text = [f"Python {platform.python_version()}, OR-Tools {version('ortools')}, SciPy {version('scipy')}, "
            f"one process at a time, {asked.seconds:g} s allowed.", "", "### Booking", ""]  # fmt: skip
    booked, grown = bookings(sizes, uses, zones, asked.seconds)
    text += [*booked, *(f"Growth exponent of {job}: {cell(slope(points))}." for job, points in grown.items()), ""]
    turned, points = rotations([int(one) for one in asked.rotation_sizes.split(",")], asked.seconds)
    text += ["### Rotations of a whole club", "", *turned, f"Growth exponent: {cell(slope(points))}.", ""]
    text += ["### One ring", "", *rings([int(one) for one in asked.ring_sizes.split(",")], asked.seconds)]
    even, shown = fairness(asked.weeks)
    text += ["### Fairness beside counting off and swapping round", "", *even]
    asked.out.write_text("\n".join(text))
    if grown:
        base = min((y for x, y in grown.get("evenweek", []) if x == min(sizes)), default=1.0)
        relative = {job: [(x, y / base) for x, y in found] for job, found in grown.items()}
        picture = lines("Time to a proven booking, beside evenweek's smallest club", "teams", "times", relative)
        asked.out.with_suffix(".svg").write_text(picture)
    asked.out.with_name(asked.out.stem + "-fairness.svg").write_text(bars("Fairness over random attendances", shown))


if __name__ == "__main__":
    main()
