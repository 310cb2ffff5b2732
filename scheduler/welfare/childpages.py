"""Pages of the welfare file with a row a child: the week in figures, and every limit."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.welfare.children import ChildReport, Line
from scheduler.welfare.paper import Book, Cell
from scheduler.welfare.rulesets import BY_AGE
from scheduler.welfare.words import MEANING, Word

LIMITS = {  # limit: its heading and the width of its column
    "session minutes, longest": ("Longest session, min", 9),
    "sessions a day": ("Sessions a day", 8),
    "sessions a week": ("Sessions a week", 8),
    "week minutes": ("Week, min", 9),
    "rest days": ("Rest days", 9),
    "days in a row": ("Days in a row", 7),
    "week load": ("Week load", 10),
    "headers a week": ("Headers a week", 8),
    "finish by": ("Last end", 12),
    BY_AGE: ("Week against age, min*", 10),
    "finish by, for sleep": ("Last end, for sleep*", 12),
}
OWN = "own limit, "


def children_page(book: Book, reports: Sequence[ChildReport]) -> None:
    """A row a child."""
    page = book.page("Children", [23, 11, 5, 12, 8, 9, 9, 9, 9, 9, 7, 7, 8, 9, 9, 12])
    page.title("Children", "A row a child; age in whole years on the Monday; minutes with matches and sport elsewhere.")
    page.head(
        ["Child", "Team", "Age", "Phase", "Sessions", "Minutes", "of at most", "Load", "Monotony", "Strain",
         "Rest days", "Days in a row", "Headers", "Last end", "Stood down, min", "Word"],
        repeat=True,
    )  # fmt: skip
    for one in reports:
        minutes, end = one.line("week minutes"), one.line("finish by")
        row: list[Cell] = [
            one.name,
            one.team,
            one.age,
            one.phase,
            len(one.week.sessions),
            one.week.minutes,
            "-" if minutes.cap is None else minutes.cap,
            one.week.load,
            *_of_days(one),
            one.week.rest_days,
            one.week.days_in_a_row(),
            one.line("headers a week").planned,
            end.shown(end.planned),
            one.stood_down_minutes,
            one.worst,
        ]
        page.line(row, ["strong"] + [""] * 14 + ["strong" if one.worst is Word.OVER else ""])
    page.gap(6)
    page.text("Word: the most serious one of the limits entered (age row, one session a day, own limits). " + MEANING)
    page.text(
        "Monotony: daily mean over the standard deviation of the seven days (population form); strain: load x "
        "monotony; - where every day is alike. Load is RPE x minutes planned, in arbitrary units. Description only."
    )


def _of_days(one: ChildReport) -> tuple[Cell, Cell]:
    """Monotony and strain; neither is known where the load of a day is not."""
    if one.week.without_rpe:
        return "not known", "not known"
    if one.monotony is None or one.strain is None:
        return "-", "-"
    return one.monotony, round(one.strain)


def limits_page(book: Book, reports: Sequence[ChildReport]) -> None:
    """Every child x limit, a row a child: what is planned, the cap, and the word where it is not `room`."""
    page = book.page("Limits", [19, 9, 9, *(width for _, width in LIMITS.values()), 19])
    page.title("Limits", "Every child against every limit: what is planned, of how much at most, and the word.")
    page.head(["Child", "Team", "Age row", *(name for name, _ in LIMITS.values()), "Own limits"], repeat=True)
    for one in reports:
        own = "\n".join(f"{line.limit.removeprefix(OWN)}: {in_short(line)}" for line in one.lines if is_own(line))
        lines = [one.line(limit) for limit in LIMITS]
        kinds = ["strong" if line.word is Word.OVER else "" for line in lines]
        strong = "strong" if any(is_own(line) for line in one.of(Word.OVER)) else ""
        page.line(
            [one.name, one.team, one.phase, *(in_short(line) for line in lines), own], ["", "", "", *kinds, strong]
        )
    page.gap(6)
    page.text(MEANING + " Where no word stands it is room; of - : no number given.")
    page.text(
        "The cap comes from the age row named beside the child; one session a day is our choice; the row's own source "
        "and those of the columns marked * , which stand beside the limits entered, are on the page Sources."
    )


def is_own(line: Line) -> bool:
    """Whether a line is a limit of the child's own."""
    return line.limit.startswith(OWN)


def in_short(line: Line) -> str:
    """As `60 of 60`, `5, least 2` or `18:30 by 20:30`, and the word below where it is not room."""
    planned, cap = (
        "-" if value is None else line.shown(value) if line.unit == "time" else str(value)
        for value in (line.planned, line.cap)
    )
    between = ", least" if line.least else " by" if line.unit == "time" else " of"
    joined = f"{planned}{between} {cap}"
    return joined if line.word in (Word.ROOM, Word.NO_NUMBER) else f"{joined}\n{line.word}"
