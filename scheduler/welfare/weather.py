"""Heat, cold and lightning: what published bands mean for a planned session. Planning defaults; whoever stands on the
ground decides, and stops earlier.

Heat is the wet-bulb globe temperature (WBGT) in degrees Fahrenheit, neither air temperature nor heat index. The printed
bands leave gaps (in category 3: 82.1, 82.15 and 92.0 stand in no row); here a gap belongs to the hotter band.
Times are wall clock: 30 minutes after 18:20 is 18:50.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.club.places import Weather
from scheduler.club.when import Span, hhmm
from scheduler.contract import Source
from scheduler.plan.plan import PlannedSession, StoodDown
from scheduler.plan.presence import can_come, there

HEAT_SOURCE = Source(
    "U.S. Soccer, Recognize to Recover, WBGT by regional category", "numbers of categories 1 and 2 from memory"
)
COLD_SOURCE = Source("National Athletic Trainers' Association, J Athl Train 43:640-658, wind chill", "2008")
LIGHTNING_SOURCE = Source("30-30 guidance for lightning", "back 30 minutes after the last flash or thunder")
WAIT = 30
HEAT = "heat"
# upper end of green (below it), then upper ends (included) of yellow, orange and red; above: black
UPPER = {1: (76.1, 81.0, 84.1, 86.1), 2: (79.7, 84.6, 87.7, 89.7), 3: (82.1, 87.0, 90.0, 91.9)}
CATEGORY = 3


@dataclass(frozen=True)
class HeatBand:
    """One band: training minutes at most (0: none outdoors, None: no number), breaks of `break_minutes` an hour."""

    level: str
    most_minutes: int | None
    breaks: int
    break_minutes: int
    text: str

    @property
    def play_an_hour(self) -> int:
        """Minutes of an hour left for training."""
        return 0 if self.most_minutes == 0 else 60 - self.breaks * self.break_minutes


HEAT_BANDS = (
    HeatBand("green", None, 3, 3, "three breaks of 3 minutes an hour, or 10 minutes every 40"),
    HeatBand("yellow", None, 3, 4, "three breaks of 4 minutes an hour, or 12 minutes every 40"),
    HeatBand("orange", 120, 4, 4, "at most 2 hours; four breaks of 4 minutes an hour, or 10 minutes every 30"),
    HeatBand("red", 60, 4, 4, "at most 1 hour with four breaks of 4 minutes; no extra conditioning"),
    HeatBand("black", 0, 0, 0, "no training outdoors: delay or cancel"),
)


def heat_band(wbgt_f: float, category: int = CATEGORY) -> HeatBand:
    """The band of a WBGT in degrees F. Categories 1 and 2 are from memory. In category 3: 92.0 black, 87.0 yellow."""
    green, *upper = UPPER[category]
    if wbgt_f < green:
        return HEAT_BANDS[0]
    return next((band for band, end in zip(HEAT_BANDS[1:], upper, strict=False) if wbgt_f <= end), HEAT_BANDS[-1])


def cold_advice(wind_chill_f: float) -> str | None:
    """What a wind chill in degrees F asks for, or None above 30 F."""
    for end, text in (
        (0, "consider ending the session"),
        (15, "consider limiting the time outdoors"),
        (25, "extra clothing, and warm up again after every break"),
        (30, "be aware of the cold"),
    ):
        if wind_chill_f <= end:
            return text
    return None


def back_from(thunder: Iterable[int]) -> int | None:
    """The minute of the day play may go on again, not before: 30 minutes after the last thunder; None without any."""
    last = max(thunder, default=None)
    return None if last is None else last + WAIT


@dataclass(frozen=True)
class Verdict:
    """What the weather means for one session. `firm`: it cannot be held so; otherwise advice. `by` in minutes."""

    firm: bool
    text: str
    by: int
    source: Source


def weather_at(club: Club, planned: PlannedSession) -> tuple[Weather, ...]:
    """The weather rows of a session's site and date."""
    site = club.pitch(planned.pitch).site
    return tuple(row for row in club.weather if row.site == site and row.date == planned.date)


def minutes_allowed(rows: Iterable[Weather], category: int = CATEGORY) -> int | None:
    """The longest session that the heat of these rows allows; 0: none, None: no number."""
    caps = [heat_band(row.wbgt_f, category).most_minutes for row in rows if row.wbgt_f is not None]
    known = [cap for cap in caps if cap is not None]
    return min(known, default=None)


def cut_short(club: Club, planned: PlannedSession) -> tuple[StoodDown, ...]:
    """What heat takes off the end of a session: everybody who could be there stops after the minutes it allows."""
    most = minutes_allowed(weather_at(club, planned), club.heat_category)
    if not most or planned.span.minutes <= most:
        return ()
    tail = Span(planned.start + most, planned.end)
    players = planned.players or tuple(one.id for one in club.members(planned.session))
    return tuple(
        StoodDown(player=player, why=HEAT, start=tail.start, end=tail.end)
        for player in players
        if can_come(club, player, planned.date, tail)
    )


def ended_by_heat(planned: PlannedSession, rep: Span) -> bool:
    """Whether heat ends the session before a rep is over: nobody need be there for it then."""
    return any(down.why == HEAT and down.start < rep.end for down in planned.stood_down)


def _longest(club: Club, planned: PlannedSession) -> int:
    """Minutes from the start until the last child leaves; the whole session where nobody is named yet."""
    if not planned.players:
        return planned.span.minutes
    ends = (span.end for player in planned.players for span in there(club, planned, player))
    return max(ends, default=planned.start) - planned.start


def _thunder_spans(rows: Iterable[Weather]) -> tuple[Span, ...]:
    """For each thunder the half hour in which nobody is out, in order of time; each new one starts its own."""
    heard = sorted(row.thunder_last for row in rows if row.thunder_last is not None)
    return tuple(Span(minute, minute + WAIT) for minute in heard)


def weather_rule(club: Club, planned: PlannedSession) -> tuple[Verdict, ...]:
    """Every verdict on one planned session, firm ones first.

    A session that ended before the thunder stands; one that goes on after it starts not before 30 minutes have passed.
    """
    rows = weather_at(club, planned)
    found: list[Verdict] = []
    hottest = max((row.wbgt_f for row in rows if row.wbgt_f is not None), default=None)
    if hottest is not None:
        band = heat_band(hottest, club.heat_category)
        degrees = f"{hottest:g} F, {(hottest - 32) * 5 / 9:.1f} C"
        text = f"WBGT {degrees} ({band.level} in heat category {club.heat_category}): {band.text}"
        over = 0 if band.most_minutes is None else max(0, _longest(club, planned) - band.most_minutes)
        found.append(Verdict(over > 0, text, over, HEAT_SOURCE))
    spans = _thunder_spans(rows)
    if any(span.overlaps(planned.span) for span in spans):
        last, back = spans[-1]
        text = f"thunder last heard {hhmm(last)}: leave the field, back not before {hhmm(back)}; new thunder resets it"
        found.append(Verdict(True, text, max(1, back - planned.start), LIGHTNING_SOURCE))
    chills = [row.wind_chill_f for row in rows if row.wind_chill_f is not None]
    if chills and (advice := cold_advice(min(chills))) is not None:
        text = f"wind chill {min(chills):g} F, {(min(chills) - 32) * 5 / 9:.1f} C: {advice}"
        found.append(Verdict(False, text, 0, COLD_SOURCE))
    return tuple(sorted(found, key=lambda verdict: not verdict.firm))
