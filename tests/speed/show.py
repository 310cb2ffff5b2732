"""Draw tables and pictures from measured rows: `python -m tests.speed.show speed.jsonl [--out FILE] [--seconds N]`.

Writes a Markdown file and, beside it, pictures in SVG. Nothing is measured here. Seconds of one machine mean little;
ratios within one run and growth over sizes are what to look at.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Mapping, Sequence
from math import inf
from pathlib import Path
from statistics import median
from typing import Any

from scheduler.priorities import BOOKING_ORDER
from tests.speed.bench import WAYS, read_rows
from tests.speed.fairness import Evenness, summary
from tests.speed.order import near, vector
from tests.speed.picture import bars, lines, slope

Found = dict[str, Any]
Points = list[tuple[float, float]]
FORM = ("size", "use", "zones", "shared")
INSTANCE = (*FORM, "seed")


def cell(value: object) -> str:
    """A figure for the table; a dash where there is none."""
    if value is None or value == "":
        return "-"
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}" if abs(value) >= 10 else f"{value:.2g}"
    return str(value)


def ratio(one: object, other: object) -> str:
    """One figure as a multiple of another."""
    if isinstance(one, (int, float)) and isinstance(other, (int, float)) and other > 0:
        return f"{one / other:.2g}"
    return "-"


def table(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> list[str]:
    """A Markdown table."""
    body = ["| " + " | ".join(cell(value) for value in row) + " |" for row in rows]
    return ["| " + " | ".join(headings) + " |", "| " + " | ".join("---" for _ in headings) + " |", *body, ""]


def lawful(row: Found) -> bool:
    """Whether the way came to a plan that the audit finds nothing against, with every session in it."""
    return row.get("breaches") == 0 and not row.get("left over") and "wishes" in row


def best_known(rows: Sequence[Found]) -> tuple[float, ...] | None:
    """The least that any way came to on one instance."""
    return min((vector(row["wishes"]) for row in rows if lawful(row)), default=None)


def close_at(row: Found, best: tuple[float, ...] | None) -> float | None:
    """The second from which a way had a plan within 1 % of the best known, for the first wish that differs."""
    return next((second for second, paid in row.get("path", ()) if best is not None and near(paid, best)), None)


def open_end(row: Found, best: tuple[float, ...] | None) -> str:
    """The value beside the best known: the first wish that differs with both figures, and what bound there is."""
    if not lawful(row):
        return ", ".join(row.get("rules broken", ())) or "no plan"
    for wish, mine, least in zip(BOOKING_ORDER, vector(row["wishes"]), best or (), strict=False):
        if mine != least:
            return f"{wish} {mine:g} for {least:g}"
    return "best" + ("" if row.get("proven") else f", {row['bound']}" if row.get("bound") else ", not proven")


def instances(rows: Iterable[Found]) -> dict[tuple[Any, ...], list[Found]]:
    """The rows of each club, the ways in their order."""
    found: dict[tuple[Any, ...], list[Found]] = {}
    for row in rows:
        found.setdefault(tuple(row.get(one, 0) for one in INSTANCE), []).append(row)
    order = {way: at for at, way in enumerate(WAYS["booking"])}
    return {key: sorted(found[key], key=lambda row: order.get(row["way"], 9)) for key in sorted(found)}


def bookings(rows: Sequence[Found]) -> list[str]:
    """Every club and way: seconds to the first lawful plan, within 1 %, to the proof; value, memory."""
    shown: list[Sequence[object]] = []
    for key, group in instances(rows).items():
        best = best_known(group)
        ours = next((row for row in group if row["way"] == "evenweek"), {})
        for row in group:
            shown.append((key[0], f"{key[1]:.0%}", key[2], key[3], key[4], row["way"], row.get("first"),
                          close_at(row, best), row.get("proven"), ratio(last(row), last(ours)), open_end(row, best),
                          row.get("megabytes")))  # fmt: skip
    headings = ("teams", "use", "zones", "shared", "seed", "way", "first lawful", "within 1 %", "proven",
                "times ours", "value", "MB")  # fmt: skip
    return table(headings, shown)


def last(row: Found) -> float | None:
    """When a way was done: its proof, else all the time it had."""
    found = row.get("proven") or row.get("took")
    return None if found is None else float(found)


def grown(rows: Sequence[Found], measure: str, way: str = "evenweek") -> Points:
    """The median of a measure over all clubs of a size, for each size; what was not reached counts as never."""
    sizes: dict[int, list[float]] = {}
    for row in rows:
        if row["way"] == way:
            value = row.get(measure)
            sizes.setdefault(row["size"], []).append(inf if value is None else value)
    return [(float(size), median(v)) for size, v in sorted(sizes.items()) if median(v) < inf]


def at_every_size(rows: Sequence[Found]) -> list[Found]:
    """The rows of kinds of clubs that were measured at every size: a harder kind at small sizes alone would bend it."""
    mine = [row for row in rows if row["way"] == "evenweek"]
    sizes: dict[tuple[object, ...], set[int]] = {}
    for row in mine:
        sizes.setdefault(tuple(row[key] for key in ("use", "zones", "shared", "seed")), set()).add(row["size"])
    most = max(map(len, sizes.values()), default=0)
    whole = {kind for kind, of in sizes.items() if len(of) == most}
    return [row for row in rows if tuple(row[key] for key in ("use", "zones", "shared", "seed")) in whole]


def growth(name: str, rows: Sequence[Found], measure: str) -> str:
    """The growth exponent in words; none where a size was not reached by half of its clubs."""
    rows = at_every_size(rows)
    points = grown(rows, measure)
    missing = sorted({row["size"] for row in rows if row["way"] == "evenweek"} - {int(size) for size, _ in points})
    if missing:
        at = ", ".join(map(str, missing))
        return f"No growth exponent of the time to the {name} booking: at {at} teams most clubs have none in time."
    at = ", ".join(f"{size:g}" for size, _ in points)
    return f"Growth exponent of the time to the {name} booking over {at} teams: {cell(slope(points))}."


def rings(rows: Sequence[Found]) -> list[str]:
    """One ring: the quick path, the complete model from scratch, and by hand."""
    order = {way: at for at, way in enumerate(WAYS["rings"])}
    shown = []
    for row in sorted(rows, key=lambda row: (row["size"], order[row["way"]])):
        quick = next((one for one in rows if (one["way"], one["size"]) == ("quick", row["size"])), {})
        shown.append((row["size"], row["way"], row.get("first"), row.get("took"),
                      ratio(row.get("took"), quick.get("took")), row.get("furthest"), row.get("beyond"),
                      row.get("repeats"), row.get("megabytes")))  # fmt: skip
    headings = ("players", "way", "first, s", "took, s", "times quick", "furthest from the share, reps",
                "children beyond one rep", "repeated pairs", "MB")  # fmt: skip
    return table(headings, shown)


def fairness(rows: Sequence[Found]) -> tuple[list[str], dict[str, dict[str, float]]]:
    """Random attendances by hand and by this program, where a lawful rotation exists at all."""
    both = [row for row in rows if row["evenweek"] is not None]
    hand, ours = (summary(Evenness(**row[way]) for row in both) for way in ("by hand", "evenweek"))
    shown = {name: {"by hand": hand[name], "evenweek": ours[name]} for name in hand if name != "weeks" and hand[name]}
    body = table(("", "by hand", "evenweek"), [(name, value, ours[name]) for name, value in hand.items()])
    left = len(rows) - len(both)
    return body + ([f"{left} more weeks allow no lawful rotation (too few who may keep goal).", ""] * bool(left)), shown


def curves(rows: Sequence[Found]) -> Mapping[str, Points]:
    """For each way the time to the first lawful plan by size, and ours to the proof."""
    found = {f"{way}: first": grown(at_every_size(rows), "first", way) for way in WAYS["booking"]}
    found["evenweek: proven"] = grown(at_every_size(rows), "proven")
    return {name: points for name, points in found.items() if points}


def main() -> None:
    """Write the tables and the pictures."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("rows", type=Path)
    options.add_argument("--out", type=Path, default=Path("speed.md"))
    options.add_argument("--seconds", type=float, help="only bookings measured under this limit")
    asked = options.parse_args()
    every = read_rows(asked.rows)
    of = {name: [row for row in every if row["slice"] == name] for name in (*WAYS, "fairness")}
    of["booking"] = [row for row in of["booking"] if asked.seconds in (None, row["seconds"])]
    text: list[str] = []
    if of["booking"]:
        text += ["### Booking", "", *bookings(of["booking"])]
        text += [growth("first lawful", of["booking"], "first"), growth("proven", of["booking"], "proven"), ""]
        drawn = curves(of["booking"])
        if drawn:
            picture = lines("Processor seconds of a booking, median of all clubs of a size", "teams", "s", drawn)
            asked.out.with_suffix(".svg").write_text(picture)
    if of["rings"]:
        text += ["### One ring", "", *rings(of["rings"])]
    if of["fairness"]:
        even, shown = fairness(of["fairness"])
        text += ["### Fairness beside counting off and swapping round", "", *even]
        picture = bars(f"Fairness over {len(of['fairness'])} random attendances", shown)
        asked.out.with_name(asked.out.stem + "-fairness.svg").write_text(picture)
    asked.out.write_text("\n".join(text).rstrip() + "\n")


if __name__ == "__main__":
    main()
