"""Side by side: `python -m tests.speed.bench SLICE [--sizes 6,12,30] [--uses 0.75,0.9] [--zones 4,3] ...`.

SLICE is `booking`, `rings` (the rotations of one team-week or pooled evening) or `fairness`. Each measurement is a
process of its own, one after the other, and one line of JSON at the end of `--rows`; what is there already is not
measured again, so that a run can be stopped and taken up. `python -m tests.speed.show` draws table and pictures.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import asdict
from itertools import product
from pathlib import Path
from typing import Any

from tests.speed.fairness import pairs_of_weeks

ROOT = Path(__file__).resolve().parent.parent.parent
WAYS = {
    "booking": ("evenweek", "one model", "rows on HiGHS", "first come"),
    "rings": ("quick", "complete", "hand"),
}
SIZES = {"booking": "6,12,30,60,120", "rings": "12,14,16,18,40,80"}
KEY = ("slice", "way", "size", "use", "zones", "shared", "seed", "seconds")
STOPPED = 6  # times the time allowed, in wall seconds, when a measurement is given up
Found = dict[str, Any]


def run(asked: Found) -> Found:
    """One measurement in a process of its own; the outcome alone where it came to nothing."""
    words = [str(asked[one]) for one in ("way", "size", "use", "zones", "shared", "seed", "seconds")]
    most = STOPPED * asked["seconds"] + 60
    try:
        done = subprocess.run([sys.executable, "-m", "tests.speed.measure", *words], cwd=ROOT, capture_output=True,
                              text=True, timeout=most, check=False)  # fmt: skip
    except subprocess.TimeoutExpired:
        return {"outcome": f"given up after {most:g} s"}
    if done.returncode:
        return {"outcome": (done.stderr.strip().splitlines() or [f"ended by signal {-done.returncode}"])[-1]}
    found: Found = json.loads(done.stdout.splitlines()[-1])
    return found


def wanted(options: argparse.Namespace) -> Iterator[Found]:
    """Every measurement asked for: size by size, the ways beside each other."""
    name = options.slice
    ways = options.ways.split(";") if options.ways else WAYS[name]
    sizes = (options.sizes or SIZES[name]).split(",")
    forms = (*(one.split(",") for one in (options.uses, options.zones, options.shared, options.seeds)),)
    if name == "rings":
        forms = (["0"], ["0"], ["0"], options.seeds.split(","))
    for size, use, zones, shared, seed, way in product(sizes, *forms, ways):
        yield {"slice": name, "way": way, "size": int(size), "use": float(use), "zones": int(zones),
               "shared": int(shared),
               "seed": int(seed), "seconds": options.seconds}  # fmt: skip


def read_rows(path: Path) -> list[Found]:
    """The measurements in a file."""
    return [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []


def weeks(count: int, path: Path) -> None:
    """So many random attendances by hand and by this program, a line each; taken up where the last run stopped."""
    there = {row["number"] for row in read_rows(path) if row["slice"] == "fairness"}
    with path.open("a") as file:
        for number, (hand, ours) in pairs_of_weeks(range(count), there):
            row = {"slice": "fairness", "number": number, "by hand": asdict(hand), "evenweek": ours and asdict(ours)}
            file.write(json.dumps(row, default=float) + "\n")
            file.flush()


def main() -> None:
    """Measure what is missing, and add it to the rows."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("slice", choices=[*WAYS, "fairness"])
    options.add_argument("--ways", help="some of the ways, separated by semicolons")
    options.add_argument("--sizes")
    options.add_argument("--uses", default="0.75,0.9")
    options.add_argument("--zones", default="4,3")
    options.add_argument("--shared", default="2,0", help="children of every third team who play for the next as well")
    options.add_argument("--seeds", default="1,2")
    options.add_argument("--seconds", type=float, default=60.0)
    options.add_argument("--weeks", type=int, default=1000)
    options.add_argument("--rows", type=Path, default=Path("speed.jsonl"))
    asked = options.parse_args()
    if asked.slice == "fairness":
        weeks(asked.weeks, asked.rows)
        return
    there = {tuple(row.get(one, 0) for one in KEY) for row in read_rows(asked.rows)}
    for one in wanted(asked):
        if tuple(one[part] for part in KEY) in there:
            continue
        found = one | run(one)
        with asked.rows.open("a") as file:
            file.write(json.dumps(found) + "\n")
        print({name: value for name, value in found.items() if name != "path"}, file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()
