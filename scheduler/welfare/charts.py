"""Charts by team, in black and grey with shapes that differ, and the page of figures they are drawn from."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from scheduler.club.club import Club
from scheduler.plan.ledger import ROLES, ledger
from scheduler.plan.plan import WeekPlan
from scheduler.welfare.children import ChildReport
from scheduler.welfare.evenness import gini, jain, least_share
from scheduler.welfare.paper import FONT, Book, Cell

SHAPES = {"attack": "triangle", "defend": "square", "keep": "diamond", "rest": "circle"}
COLUMN = {"minutes": 2, "cap": 3, "attack": 4, "defend": 5, "keep": 6, "rest": 7}
APART = {"attack": 8, "defend": 9, "keep": 10, "rest": 11}
LABEL = 12
CHART_ROWS = 16
SHEET_WIDTH = 1180  # pixels of three charts one over the other that fill A4 landscape


def teams_of(reports: Sequence[ChildReport]) -> dict[str, list[ChildReport]]:
    """The reports by team, in the order of the club."""
    teams: dict[str, list[ChildReport]] = {}
    for one in reports:
        teams.setdefault(one.team, []).append(one)
    return teams


def figures_page(book: Book, club: Club, plan: WeekPlan, reports: Sequence[ChildReport]) -> dict[str, tuple[int, int]]:
    """The figures behind the charts; answers the first and last row (from 0) of each team."""
    page = book.page("Figures", [23, 13, 8, 8, 8, 8, 8, 8, 10, 10, 10, 10, 12])
    page.title("Figures", "Minutes of the week by child, and how far from the fair share (minutes more or less).")
    page.head(
        ["Child", "Team", "Week minutes", "Cap", *(f"{role.capitalize()}" for role in ROLES),
         *(f"{role.capitalize()} from share" for role in ROLES), "Called"],
        repeat=True,
    )  # fmt: skip
    apart = {(line.player, line.role): float(line.apart) for line in ledger(club, plan)}
    where: dict[str, tuple[int, int]] = {}
    for team, rows in teams_of(reports).items():
        first = page.row
        for one in rows:
            cap = one.line("week minutes").cap
            cells: list[Cell] = [one.name, team, one.week.minutes, cap]
            cells += [one.roles.get(role, 0) for role in ROLES]
            cells += [apart.get((one.player, role), 0.0) for role in ROLES]
            cells.append(club.player(one.player).called)
            page.line(cells)
        where[team] = (first, page.row - 1)
    return where


def evenness_page(book: Book, club: Club, plan: WeekPlan, reports: Sequence[ChildReport]) -> None:
    """How evenly minutes are shared inside each team; of a role, as parts of each child's fair share."""
    page = book.page("Evenness", [26, 26, 13, 13, 13], landscape=False)
    page.title("Evenness", "How evenly the week is shared inside each team.")
    page.text(
        "Attack, defend and rest are taken as parts of each child's fair share, among the children who have one: "
        "whoever keeps goal all week has none in attack. Jain's index: 1 where all are equal, k/n where k of n share. "
        "Gini: 0 where all are equal (divided by n, not corrected). Least: the least over the mean, 0 where somebody "
        "has nothing; no index shows that alone."
    )
    page.gap(4)
    page.head(["Team", "What", "Jain", "Gini", "Least"], repeat=True)
    parts = {(line.player, line.role): float(line.held / line.share) for line in ledger(club, plan) if line.share > 0}
    for team, rows in teams_of(reports).items():
        for name in ("week minutes", "attack", "defend", "rest"):
            of_role = [parts[one.player, name] for one in rows if (one.player, name) in parts]
            values = [one.week.minutes for one in rows] if name == "week minutes" else of_role
            indices = (jain(values), gini(values), least_share(values)) if values else (None, None, None)
            page.line([team, name, *("-" if value is None else float(value) for value in indices)])


def charts_pages(book: Book, where: dict[str, tuple[int, int]]) -> None:
    """Three charts on a sheet a team, each sheet one printed page."""
    for number, (team, (first, last)) in enumerate(where.items(), 1):
        tab = re.sub(r"[\[\]:*?/\\']", " ", f"Charts {number} {team}")[:31].strip()
        sheet: Any = book.sheet(tab, landscape=True)
        sheet.fit_to_pages(1, 1)
        sheet.set_column(0, 14, 11)
        sheet.set_row(0, 24)
        sheet.write_string(0, 0, f"{team}: the week by child", book.formats["title"])
        charts = [draw(book, first, last) for draw in (_minutes, _roles, _apart)]
        for place, chart in enumerate(charts):
            chart.set_size({"width": min(SHEET_WIDTH, 420 + 46 * (last - first + 1)), "height": 300})
            sheet.insert_chart(1 + CHART_ROWS * place, 0, chart, {"object_position": 3})


def _axis(name: str) -> dict[str, Any]:
    font = {"name": FONT, "size": 12, "bold": False}
    return {"name": name, "name_font": font, "num_font": font, "line": {"color": "#404040"}}


def _dress(chart: Any, title: str, unit: str) -> Any:
    chart.set_title({"name": title, "name_font": {"name": FONT, "size": 14}, "overlay": False})
    chart.set_x_axis({**_axis(""), "label_position": "low"})
    chart.set_y_axis({**_axis(unit), "major_gridlines": {"visible": True, "line": {"color": "#C8C8C8"}}})
    chart.set_legend({"position": "bottom", "font": {"name": FONT, "size": 12}})
    return chart


def _points(first: int, last: int, column: int, name: str, shape: str, *, solid: bool) -> dict[str, Any]:
    fill = {"color": "#202020"} if solid else {"color": "#A6A6A6"}
    return {
        "name": name,
        "categories": ["Figures", first, LABEL, last, LABEL],
        "values": ["Figures", first, column, last, column],
        "line": {"none": True},
        "marker": {"type": shape, "size": 9, "fill": fill, "border": {"color": "#202020"}},
    }


def _minutes(book: Book, first: int, last: int) -> Any:
    bars = book.file.add_chart({"type": "column"})
    bars.add_series(
        {
            "name": "planned",
            "categories": ["Figures", first, LABEL, last, LABEL],
            "values": ["Figures", first, COLUMN["minutes"], last, COLUMN["minutes"]],
            "fill": {"color": "#9A9A9A"},
            "border": {"color": "#404040"},
            "gap": 60,
        }
    )
    caps = book.file.add_chart({"type": "line"})
    caps.add_series(_points(first, last, COLUMN["cap"], "at most", "long_dash", solid=True))
    bars.combine(caps)
    return _dress(bars, "Week minutes against the most the age row allows", "minutes")


def _roles(book: Book, first: int, last: int) -> Any:
    dots = book.file.add_chart({"type": "line"})
    for role in ROLES:
        dots.add_series(_points(first, last, COLUMN[role], role, SHAPES[role], solid=role in ("attack", "keep")))
    return _dress(dots, "Minutes in attack, in defence, in goal and at rest", "minutes")


def _apart(book: Book, first: int, last: int) -> Any:
    dots = book.file.add_chart({"type": "line"})
    for role in ROLES:
        dots.add_series(_points(first, last, APART[role], role, SHAPES[role], solid=role in ("attack", "keep")))
    return _dress(dots, "Minutes more or less than the fair share (0 is the share)", "minutes")
