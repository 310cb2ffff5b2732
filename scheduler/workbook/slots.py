"""Where and when one session could be held at all, and which step left no place: plain counting, no solver.

Each step only takes away what no plan could use, so an empty list is certain, and a full one promises nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from scheduler.club.club import Club
from scheduler.club.places import Opening, Pitch
from scheduler.club.programme import SessionAsk
from scheduler.club.when import DAY_MINUTES, DAY_NAMES, LONG_DAY_NAMES, Span, hhmm
from scheduler.daylight import civil_dusk
from scheduler.plan.presence import away_spans

SATURDAY = 5


@dataclass(frozen=True)
class Slot:
    """A stretch of one date on one pitch in which a session would have to lie."""

    pitch: Pitch
    date: dt.date
    opening: Opening
    span: Span


def dark_from(club: Club, pitch: Pitch, opening: Opening, date: dt.date) -> int:
    """The minute from which it is dark on a pitch: lights out or dusk, whichever is later; 1440 where never."""
    if opening.lit and opening.lights_out is None:
        return DAY_MINUTES
    site = club.site(pitch.site)
    dusk: int | None = 0
    if site.latitude is not None and site.longitude is not None:
        dusk = civil_dusk(site.latitude, site.longitude, date, club.timezone)
    return max(opening.lights_out or 0, DAY_MINUTES if dusk is None else dusk)


def finish_by(club: Club, session: str) -> int:
    """The latest end that the age rows allow any child of a session; 1440 where some row gives none."""
    rows = [club.age_row(player) for player in club.members(session)]
    ends = [row.finish_by if row is not None else None for row in rows]
    known = [end for end in ends if end is not None]
    return max(known) if known and len(known) == len(ends) else DAY_MINUTES


def openings(club: Club, ask: SessionAsk) -> Iterator[Slot]:
    """Every opening of every pitch that a session may use, on every date of the week."""
    held = ask.held_at
    for pitch in club.pitches:
        if (ask.pitches and pitch.id not in ask.pitches) or (ask.sites and pitch.site not in ask.sites):
            continue
        if held is not None and held.pitch is not None and held.pitch != pitch.id:
            continue
        for date in club.dates:
            for opening in pitch.openings_on(date):
                yield Slot(pitch, date, opening, opening.span)


def first_start(club: Club, span: Span) -> int:
    """The first minute of the club's grid that is not before the span."""
    return -(-span.start // club.step) * club.step


def fits(club: Club, ask: SessionAsk, slot: Slot) -> bool:
    """Whether a start on the grid leaves room for the session."""
    return first_start(club, slot.span) + ask.minutes <= slot.span.end


def starts(club: Club, ask: SessionAsk, slot: Slot) -> Iterator[Span]:
    """Every span on the grid that the session could take in a slot."""
    for start in range(first_start(club, slot.span), slot.span.end - ask.minutes + 1, club.step):
        yield Span(start, start + ask.minutes)


def _cut(slot: Slot, start: int, end: int) -> Slot:
    return replace(slot, span=Span(max(slot.span.start, start), min(slot.span.end, end)))


def taken(club: Club, pitch: Pitch, date: dt.date) -> list[tuple[tuple[int, ...], Span]]:
    """Zones of a pitch kept on a date by hirers and home matches, its own and those of pitches on or under it."""
    every = tuple(range(1, pitch.zones + 1))
    over = {p.id for p in club.pitches if p.lies_on == pitch.id} | ({pitch.lies_on} if pitch.lies_on else set())
    found: list[tuple[tuple[int, ...], Span]] = []
    for row in club.booked:
        if row.occurs.on(date) and (row.pitch == pitch.id or row.pitch in over):
            found.append(((row.zones if row.pitch == pitch.id else ()) or every, row.span))
    for match in club.matches:
        if match.date == date and match.pitch is not None and (match.pitch == pitch.id or match.pitch in over):
            span = match.zones_span or Span(match.kick_off, match.kick_off + match.minutes)
            found.append(((match.zones if match.pitch == pitch.id else ()) or every, span))
    return found


def free_somewhere(rows: list[tuple[tuple[int, ...], Span]], ask: SessionAsk, pitch: Pitch, span: Span) -> bool:
    """Whether enough neighbouring zones of a pitch are free of these bookings for this span."""
    if not rows:
        return True
    wanted = ask.zones or pitch.zones
    blocked = {zone for zones, at in rows if at.overlaps(span) for zone in zones}
    fixed = ask.held_at.zones if ask.held_at is not None else ()
    if fixed:
        return not blocked & set(fixed)
    runs = (range(first, first + wanted) for first in range(1, pitch.zones - wanted + 2))
    return any(not blocked & set(run) for run in runs)


def leader_free(club: Club, ask: SessionAsk, date: dt.date, span: Span) -> bool:
    """Whether each team of a session has a coach of its own who is free for the span."""
    return all(any(is_free(club, coach, date, span) for coach in club.team(team).coaches) for team in ask.teams)


def is_free(club: Club, coach: str, date: dt.date, span: Span) -> bool:
    """Whether an adult is available and not away during the span."""
    away = any(gone.overlaps(span) for gone in away_spans(club, coach, date))
    return club.coach(coach).available_for(date, span) and not away


def _days(ask: SessionAsk) -> str:
    return "any day" if len(ask.days) == 7 else ", ".join(DAY_NAMES[day] for day in sorted(ask.days))


def _dusk_words(club: Club, ask: SessionAsk, slots: list[Slot]) -> str:
    dusks = sorted({dark_from(club, slot.pitch, slot.opening, slot.date) for slot in slots})
    said = f"dusk {hhmm(dusks[0])}" + (f" to {hhmm(dusks[-1])}" if len(dusks) > 1 else "")
    by_day = (_cut(s, 0, dark_from(club, s.pitch, s.opening, s.date)) for s in openings(club, ask))
    weekend = next((s for s in by_day if s.date.weekday() >= SATURDAY and fits(club, ask, s)), None)
    other = LONG_DAY_NAMES[weekend.date.weekday()] if weekend is not None else "an earlier start"
    return f"{said}: no evening fits; a lit place or {other}"


def where_and_when(club: Club, ask: SessionAsk) -> tuple[list[Slot], str]:
    """The slots a session could be held in, and, where there are none, what left none."""
    held = ask.held_at
    slots = list(openings(club, ask))
    wanted = ask.zones or 1
    if not slots:
        return [], "no pitch it may use is open this week; write other Pitches or Sites, or longer hours"
    most = max(slot.pitch.zones for slot in slots)
    if wanted > most:
        return [], f"it asks for {wanted} zones and no pitch it may use has more than {most}"
    fixed_day = held.day if held is not None else None
    latest = min(ask.latest, finish_by(club, ask.id))
    steps: tuple[tuple[Callable[[Slot], Slot | None], str], ...] = (
        (lambda s: s if s.pitch.zones >= wanted else None,
         f"no pitch it may use is open for {ask.minutes} minutes on end; write longer hours or fewer minutes"),
        (lambda s: s if s.date.weekday() in ask.days and fixed_day in (None, s.date.weekday()) else None,
         f"no pitch it may use is open long enough on its days ({_days(ask)}); write other Days"),
        (lambda s: _cut(s, ask.earliest, latest),
         f"{ask.minutes} minutes do not fit between {hhmm(ask.earliest)} and {hhmm(latest)} (Latest or the age "
         f"row's Finish by) while a pitch is open; write other times"),
    )  # fmt: skip
    for step, words in steps:
        left = [kept for slot in slots if (kept := step(slot)) is not None and fits(club, ask, kept)]
        if not left:
            return [], words
        slots = left
    light = [_cut(s, 0, dark_from(club, s.pitch, s.opening, s.date)) for s in slots]
    light = [slot for slot in light if fits(club, ask, slot)]
    return (light, "") if light else ([], _dusk_words(club, ask, slots))


def lawful_spans(club: Club, ask: SessionAsk, slots: list[Slot]) -> tuple[list[tuple[Slot, Span]], str]:
    """Starts that outside bookings and the teams' own coaches leave, and, where there are none, what left none."""
    fixed = ask.held_at.start if ask.held_at is not None else None
    every = [(s, span) for s in slots for span in starts(club, ask, s) if fixed is None or span.start == fixed]
    if not every:
        return [], f"Held at {hhmm(fixed or 0)} does not fit the hours, the light or the grid of {club.step} minutes"
    kept = {(slot.pitch.id, slot.date): taken(club, slot.pitch, slot.date) for slot in slots}
    free = [(s, span) for s, span in every if free_somewhere(kept[s.pitch.id, s.date], ask, s.pitch, span)]
    if not free:
        return [], "outside bookings and home matches leave no zones free; free a pitch or write other days"
    times = dict.fromkeys((slot.date, span) for slot, span in free)
    led_at = {(date, span) for date, span in times if leader_free(club, ask, date, span)}
    led = [(slot, span) for slot, span in free if (slot.date, span) in led_at]
    if not led:
        teams = " and ".join(ask.teams)
        return (
            [],
            f"no coach of {teams} is available whenever a pitch could be had; ask the coaches or write other days",
        )
    return led, ""


def possible(club: Club, ask: SessionAsk) -> tuple[list[tuple[Slot, Span]], str]:
    """Every slot and start a session could take, and, where there are none, what left none."""
    slots, why = where_and_when(club, ask)
    return lawful_spans(club, ask, slots) if slots else ([], why)
