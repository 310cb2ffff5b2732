"""The sheet Week: days and zones down, the clock across, every session a labelled box; one A4 page across."""

from __future__ import annotations

import datetime as dt
from math import gcd
from typing import Any

from scheduler.club.club import Club
from scheduler.club.when import Span, day_words, hhmm
from scheduler.folder.paper import LINE, Book, Page
from scheduler.lettering import lines_in
from scheduler.plan.names import adults, join, plain, plan_number, zones_words
from scheduler.plan.plan import PlannedSession, WeekPlan

FIRST_COLUMN = 3
_LABELS = (11.0, 13.0, 8.0)
_WIDTH = 118.0
PAGE = 420.0  # points of A4 across for all rows together


def clock_of(plan: WeekPlan) -> tuple[int, int, int]:
    """First minute, last minute and minutes a column: whole hours around all sessions, on the grid they start on."""
    if not plan.sessions:
        return 17 * 60, 20 * 60, 60
    first = min(planned.start for planned in plan.sessions) // 60 * 60
    last = -(-max(planned.end for planned in plan.sessions) // 60) * 60
    step = gcd(15, *(planned.start for planned in plan.sessions))  # ends are drawn up to the next start at most
    return first, last, step


def week_rows(club: Club, plan: WeekPlan) -> list[tuple[dt.date, str, int]]:
    """(date, pitch, zone) of every row: all zones of each pitch used on a day, pitches in the club's order."""
    order = [pitch.id for pitch in club.pitches]
    rows = []
    for date in club.dates:
        used = {planned.pitch: planned.zones for planned in plan.sessions if planned.date == date}
        for pitch in sorted(used, key=lambda one: (order.index(one) if one in order else len(order), one)):
            count = club.pitch(pitch).zones if club.has("pitch", pitch) else max(used[pitch])
            rows += [(date, pitch, zone) for zone in range(1, count + 1)]
    return rows


def box_words(club: Club, planned: PlannedSession) -> str:
    """`Herons 1, 18:00-19:15, Ada`: the session first, so that a moved box is known again."""
    leader = adults(club, planned.coaches[:1])
    teams = [team for team in planned.teams if plain(team) not in plain(planned.session)]
    parts = [f"{plain(planned.session)}, {planned.span}", join([plain(team) for team in teams]), *leader]
    return ", ".join(part for part in parts if part)


def write_week(book: Book, club: Club, plan: WeekPlan) -> dict[str, Any]:
    """Write the sheet; where its rows and columns stand, for reading an edited one back."""
    first, last, step = clock_of(plan)
    columns = (last - first) // step
    width = (_WIDTH - sum(_LABELS)) / columns
    page = book.page("Week", [*_LABELS, *([width] * columns)], landscape=True, one=True)
    days = f"{day_words(club.dates[0])} to {day_words(club.dates[-1])} {club.dates[-1].year}"
    page.title(
        f"{plain(club.name)}, {days}",
        f"{plan_number(plan)}. Times are local. To move a session by hand, move its box, or change Sessions.",
    )
    _clock(page, first, step, columns)
    rows = week_rows(club, plan)
    top = page.row
    _labels(page, rows, _row_heights(club, plan, rows, width, step))
    drawn, undrawn = _boxes(page, club, plan, rows, (first, step, columns), top)
    page.row = top + len(rows)
    page.gap(6)
    for text in undrawn:
        page.text(text)
    if taken := taken_words(club):
        page.text(f"Taken by others: {taken}.")
    for row in plan.cancelled:
        page.text(f"{plain(row.session)} is not held: {plain(row.why)}")
    return {"sheet": page.name, "top": top, "rows": [[d.isoformat(), p, z] for d, p, z in rows],
            "first": first, "step": step, "columns": columns, "drawn": drawn}  # fmt: skip


def taken_words(club: Club) -> str:
    """What keeps the club off its zones in the week, outside bookings and home matches; empty where nothing does."""
    found = []
    for date in club.dates:
        kept = [(b.span, b.pitch, b.zones, b.by or "an outside booking") for b in club.booked if b.occurs.on(date)]
        for match in club.matches:
            if match.pitch is not None and match.date == date:
                span = match.zones_span or Span(match.kick_off, match.kick_off + match.minutes)
                kept.append((span, match.pitch, match.zones, f"match of {match.team}"))
        for span, pitch, zones, whose in sorted(kept):
            where = plain(pitch) + (f" {zones_words(zones)}" if zones else "")
            found.append(f"{day_words(date)} {span} {where} ({plain(whose)})")
    return "; ".join(found)


def _row_heights(club: Club, plan: WeekPlan, rows: list[tuple[dt.date, str, int]], width: float, step: int
                 ) -> list[float]:  # fmt: skip
    """Points of each row: as high as its boxes need, the highest made lower until one page holds them all.

    Never lower than three lines: a page of very many rows is shrunk a little more instead.
    """
    needed = dict.fromkeys(rows, LINE + 3.0)
    for planned in plan.sessions:
        room = -(-planned.span.minutes // step) * width
        height = lines_in(box_words(club, planned), room, bold=True) * LINE + 4
        for row in ((planned.date, planned.pitch, zone) for zone in planned.zones):
            if row in needed:
                needed[row] = max(needed[row], height / len(planned.zones))
    heights = [needed[row] for row in rows]
    most = max(heights, default=0.0)
    while sum(min(height, most) for height in heights) > PAGE and most > 3 * LINE + 4:
        most -= 1
    return [min(height, most) for height in heights]


def _clock(page: Page, first: int, step: int, columns: int) -> None:
    for column, text in enumerate(("Day", "Pitch", "Zone")):
        page.span(column, column, text, "head")
    an_hour = 60 // step
    for column in range(0, columns, an_hour):
        end = FIRST_COLUMN + min(columns, column + an_hour) - 1
        page.span(FIRST_COLUMN + column, end, hhmm(first + column * step), "head")
    page.sheet.set_row(page.row, LINE + 3)
    page.row += 1


def _labels(page: Page, rows: list[tuple[dt.date, str, int]], heights: list[float]) -> None:
    """The labels on the left; the grid's cells are blank until the boxes are laid over them."""
    start = 0
    for number, (date, pitch, zone) in enumerate(rows):
        page.sheet.set_row(page.row + number, heights[number])
        page.sheet.write_string(page.row + number, 2, str(zone), page.book.formats["cell"])
        if number + 1 == len(rows) or rows[number + 1][:2] != (date, pitch):
            _merged(page, page.row + start, page.row + number, 1, plain(pitch), "cell")
            start = number + 1
    start = 0
    for number, (date, _, _) in enumerate(rows):
        if number + 1 == len(rows) or rows[number + 1][0] != date:
            _merged(page, page.row + start, page.row + number, 0, day_words(date), "day")
            start = number + 1


def _merged(page: Page, top: int, bottom: int, column: int, text: str, kind: str) -> None:
    form = page.book.formats[kind]
    if bottom > top:
        page.sheet.merge_range(top, column, bottom, column, "", form)
    page.sheet.write_string(top, column, text, form)


def _boxes(page: Page, club: Club, plan: WeekPlan, rows: list[tuple[dt.date, str, int]],
           clock: tuple[int, int, int], top: int) -> tuple[list[str], list[str]]:  # fmt: skip
    """Lay the boxes; the sessions drawn, and those whose cells another session holds, as sentences."""
    first, step, columns = clock
    at = {row: top + number for number, row in enumerate(rows)}
    taken: set[tuple[int, int]] = set()
    drawn, undrawn = [], []
    for planned in plan.sessions:
        lines = sorted(
            at[planned.date, planned.pitch, z] for z in planned.zones if (planned.date, planned.pitch, z) in at
        )
        left = FIRST_COLUMN + (planned.start - first) // step
        right = FIRST_COLUMN + -(-(planned.end - first) // step) - 1
        cells = {(line, column) for line in lines for column in range(left, right + 1)}
        if not lines or lines != list(range(lines[0], lines[-1] + 1)) or cells & taken or right < left:
            where = f"{day_words(planned.date)} {planned.pitch}, zones {'; '.join(map(str, planned.zones))}"
            undrawn.append(f"Not drawn above: {box_words(club, planned)}, {where}")
            continue
        taken |= cells
        drawn.append(planned.session)
        form = page.book.formats["box"]
        if len(cells) > 1:
            page.sheet.merge_range(lines[0], left, lines[-1], right, "", form)
        page.sheet.write_string(lines[0], left, box_words(club, planned), form)
    for number in range(len(rows)):
        for column in range(FIRST_COLUMN, FIRST_COLUMN + columns):
            if (top + number, column) not in taken:
                page.sheet.write_blank(top + number, column, None, page.book.formats["grid"])
    return drawn, undrawn
