"""Adults for children: published ratios to choose from, and who is with whom in a planned session.

Mixed ages: the sources give no rule; here the youngest present sets the ratio for all, our choice. Eight of 8, ten of
10 and five of 13 years are 23 children at the ratio of the eight-year-olds. Whoever has come counts, resting or stood
down too. That coaches are 18 or more is taken on trust; a younger helper is a player and a child.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.contract import Source
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.terminal import zones_words

MIXED_AGES = "the youngest present sets the ratio for everybody (our choice; the sources give no rule)"


@dataclass(frozen=True)
class SupervisionSet:
    """Children per adult by age, `bands` as (from age, to age, children per adult), ages in whole years."""

    id: str
    source: Source
    bands: tuple[tuple[int, int, int], ...]
    least_adults: int = 2
    text: str = ""

    def ratio(self, age: int) -> int | None:
        """Children per adult at this age; None where the set gives no number."""
        return next((ratio for first, last, ratio in self.bands if first <= age <= last), None)


NSPCC = SupervisionSet(
    "NSPCC",
    Source("NSPCC and Child Protection in Sport Unit, recommended adult to child ratios"),
    ((0, 1, 3), (2, 3, 4), (4, 8, 6), (9, 12, 8), (13, 18, 10)),
    text="at least two adults always, of 18 or more",
)
SUPERVISION_SETS: tuple[SupervisionSet, ...] = (
    NSPCC,
    SupervisionSet(
        "Gaelic games",
        Source("Gaelic games Code of Behaviour (Ireland)"),
        ((0, 12, 8), (13, 18, 10)),
        text="1 to 8 under 12, 1 to 10 over 12; 12 itself is in neither and counts as under here (the cautious side)",
    ),
    SupervisionSet(
        "IRFU",
        Source("IRFU safeguarding guidance"),
        ((11, 18, 10),),
        text="1 to 10 from 11 up; tighter for younger children, without a number, for disability and for travel",
    ),
)


def adults_needed(ages: Sequence[int], ruleset: SupervisionSet = NSPCC) -> int | None:
    """Adults for children of these ages in one place; None where the set gives no ratio for the youngest.

    `max(least adults, ceil(children / ratio of the youngest))`; 0 where there are no children.
    """
    if not ages:
        return 0
    ratio = ruleset.ratio(min(ages))
    return None if ratio is None else max(ruleset.least_adults, -(-len(ages) // ratio))


@dataclass(frozen=True)
class Supervised:
    """One session: children, adults that count, adults needed, and what a welfare officer should look at."""

    session: str
    date: dt.date
    start: int
    end: int
    place: str
    children: int
    youngest: int | None
    row_ratio: int | None
    row_needs: int | None
    set_needs: int | None
    adults: tuple[str, ...]
    not_counted: tuple[str, ...]
    first_aider: str
    remarks: tuple[str, ...]

    @property
    def short(self) -> int:
        """Adults missing against the age row or the set, whichever asks for more."""
        return max(0, max(self.row_needs or 0, self.set_needs or 0) - len(self.adults))


def _checked(club: Club, coach: str, date: dt.date) -> bool:
    """Whether an adult's checks are in date; always where the column is not used."""
    until = club.coach(coach).checked_until
    return club.is_blank("Coaches.Checked until") or (until is not None and until >= date)


def _first_aiders(club: Club, plan: WeekPlan, planned: PlannedSession) -> str:
    """Who on the site could give first aid for the whole session: its own adults first, then those beside it."""
    if club.is_blank("Coaches.First aid until"):
        return "not kept"

    def holds(coach: str) -> bool:
        until = club.coach(coach).first_aid_until
        return until is not None and until >= planned.date

    own = [club.coach(coach).name for coach in planned.coaches if holds(coach)]
    if own:
        return own[0]
    site = club.pitch(planned.pitch).site
    beside = [
        club.coach(coach).name
        for other in plan.sessions
        if other.date == planned.date and club.pitch(other.pitch).site == site and other.span.holds(planned.span)
        for coach in other.coaches
        if holds(coach)
    ]
    return f"{beside[0]} (another session at {site})" if beside else "nobody for the whole time"


def _remarks(club: Club, planned: PlannedSession, first_aider: str) -> tuple[str, ...]:
    found: list[str] = []
    for block in planned.blocks:
        for station in block.stations:
            there = {place.player for rep in station.reps for place in rep.places}
            if there and not station.coaches:
                found.append(f"block {block.block}, station {station.station}: no adult named")
            elif len(there) == 1 and len(station.coaches) == 1:
                found.append(f"block {block.block}, station {station.station}: one adult with one child")
            elif len(block.stations) > 1 and len(station.coaches) == 1:
                found.append(f"block {block.block}, station {station.station}: one adult; within sight of a second")
    if first_aider == "nobody for the whole time":
        found.append("no first aider for the whole time")
    if len(planned.players) == 1:
        found.append("one child: never alone with one adult")
    return tuple(dict.fromkeys(found))


def supervise(club: Club, plan: WeekPlan, planned: PlannedSession, ruleset: SupervisionSet = NSPCC) -> Supervised:
    """Who looks after whom in one session, against the age rows and against a published set."""
    ages = [club.limit_age(club.player(player)) for player in planned.players]
    youngest = min(ages, default=None)
    rows = [row for row in club.ages if youngest is not None and row.from_age <= youngest <= row.to_age]
    ratio = rows[0].players_per_adult if rows else None
    counted = tuple(club.coach(coach).name for coach in planned.coaches if _checked(club, coach, planned.date))
    lapsed = tuple(club.coach(coach).name for coach in planned.coaches if not _checked(club, coach, planned.date))
    first_aider = _first_aiders(club, plan, planned)
    return Supervised(
        session=planned.session,
        date=planned.date,
        start=planned.start,
        end=planned.end,
        place=zones_words(club, planned),
        children=len(ages),
        youngest=youngest,
        row_ratio=ratio,
        row_needs=None if ratio is None else max(2, -(-len(ages) // ratio)) if ages else 0,
        set_needs=adults_needed(ages, ruleset),
        adults=counted,
        not_counted=lapsed,
        first_aider=first_aider,
        remarks=_remarks(club, planned, first_aider),
    )
