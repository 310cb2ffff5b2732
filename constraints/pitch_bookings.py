"""No zone is used twice, outside bookings and home matches keep theirs, and the pitch is open."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.numbers import so_many
from scheduler.club.places import Pitch
from scheduler.club.when import Span, day_words, hhmm
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import PlannedSession, WeekPlan

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.booking.ground import Shape
    from scheduler.booking.model import BookingModel, Reasons
    from scheduler.booking.slots import Slot

    Users = dict[object, list[IntVar]]
    Starts = dict[tuple[dt.date, str], set[int]]

Kept = tuple[str, tuple[int, ...], Span, str]


def kept_on(club: Club, date: dt.date) -> Iterator[Kept]:
    """What keeps the club off its zones on a date: (pitch, zones, span, whose); no zones: the whole pitch."""
    for row in club.booked:
        if row.occurs.on(date):
            yield row.pitch, row.zones, row.span, row.by or "an outside booking"
    for match in club.matches:
        if match.pitch is not None and match.date == date:
            span = match.zones_span or Span(match.kick_off, match.kick_off + match.minutes)
            yield match.pitch, match.zones, span, f"the match of {match.team}"


class PitchBookings:
    """Zones, outside bookings, gap and opening hours."""

    name = "pitch bookings"
    words = (
        "No zone of a pitch is used twice at a time, outside bookings and home matches keep their zones, the gap "
        "between sessions is kept, and from set-up to pack-up the pitch is open."
    )
    source = Source("one use at a time of one place", basis=Basis.COMMON_PRACTICE)
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    # the booking

    def narrow(self, club: Club, model: BookingModel) -> None:
        """Exclude slots outside opening hours and slots somebody else has booked."""
        model.zones_are_used_once()
        reasons: Reasons = {}
        for pitch in club.pitches:
            on = model.switch(self.name, f"opening hours of {pitch.id}", f"{pitch.id} is used only when it is open")
            for date in club.dates:
                reasons.setdefault((date, pitch.id), []).append((on, _Closed(club, pitch)))
        for date in club.dates:
            for number, kept in enumerate(kept_on(club, date)):
                subject = f"{kept[3]} on {kept[0]}, {day_words(date)} {kept[2]}"
                on = model.switch(self.name, f"{subject} ({number})", f"{kept[3]} has {kept[0]} {kept[2]}")
                taken = _Taken(club, kept)
                for on_it in taken.pitches:
                    reasons.setdefault((date, on_it), []).append((on, taken))
        for ask in club.sessions:
            model.rule_out_by_place(ask.id, reasons)

    def post(self, club: Club, model: BookingModel) -> None:
        """At every start, each zone is in use by one session at most."""
        users, starts = self._users(club, model)
        for date in club.dates:
            for pitch in club.pitches:
                on = model.switch(
                    self.name, f"{pitch.id}, {day_words(date)}", f"{pitch.id} on {day_words(date)}: one use at a time"
                )
                rows: dict[tuple[int, ...], list[IntVar]] = {}
                for minute in sorted(starts.get((date, pitch.id), ())):
                    for zone in range(1, pitch.zones + 1):
                        self._row(rows, users.get((date, pitch.id, zone, minute), {}))
                self._cross_rows(rows, pitch, club, date, users, starts)
                for literals in rows.values():
                    model.at_most(on, literals, 1)
        self._by_number(club, model)

    def _by_number(self, club: Club, model: BookingModel) -> None:
        """At every start no more runs of so many zones than fit beside each other at a site: much sooner seen so."""
        after = club.set_up + club.pack_up + club.gap
        evenings: dict[tuple[dt.date, str], list[tuple[Shape, list[IntVar]]]] = {}
        for shape, literals in model.ground.runs():
            evenings.setdefault((shape.date, club.pitch(shape.places[0][0]).site), []).append((shape, literals))
        for (date, site), shapes in evenings.items():
            on = model.switch(self.name, f"{site}, {day_words(date)}", f"{site} on {day_words(date)}: as many as fit")
            for minute in sorted({shape.start for shape, _ in shapes}):
                active = [one for one in shapes if one[0].start <= minute < one[0].end + after]
                for length in sorted({shape.length for shape, _ in active}):
                    terms = [shape.length // length * sum(there) for shape, there in active if shape.length >= length]
                    model.at_most_besides(on, terms, _most_beside((shape for shape, _ in active), length))

    def _users(self, club: Club, model: BookingModel) -> tuple[dict[tuple[dt.date, str, int, int], Users], Starts]:
        """Who needs a zone at a grid minute (shifted by the set-up), the gap after it included; when uses start."""
        users: dict[tuple[dt.date, str, int, int], Users] = {}
        starts: Starts = {}
        for use in model.uses():
            first, last = use.start - club.set_up, use.end + club.pack_up + club.gap
            starts.setdefault((use.date, use.pitch), set()).add(first)
            for minute in range(first, last, club.step):
                for zone in use.zones:
                    of = users.setdefault((use.date, use.pitch, zone, minute), {})
                    of.setdefault(use.who, []).append(use.literal)
        return users, starts

    def _cross_rows(self, rows: dict[tuple[int, ...], list[IntVar]], pitch: Pitch, club: Club, date: dt.date,
                    users: dict[tuple[dt.date, str, int, int], Users],
                    starts: dict[tuple[dt.date, str], set[int]]) -> None:  # fmt: skip
        """A pitch that lies on another: any zone of the one keeps off any zone of the other."""
        if pitch.lies_on is None:
            return
        under = club.pitch(pitch.lies_on)
        minutes = starts.get((date, pitch.id), set()) | starts.get((date, under.id), set())
        for minute in sorted(minutes):
            for zone in range(1, pitch.zones + 1):
                for other in range(1, under.zones + 1):
                    both: Users = {}
                    for key in ((date, pitch.id, zone, minute), (date, under.id, other, minute)):
                        for session, literals in users.get(key, {}).items():
                            both.setdefault(session, []).extend(literals)
                    self._row(rows, both)

    def _row(self, rows: dict[tuple[int, ...], list[IntVar]], users: Users) -> None:
        if len(users) > 1:
            literals = [literal for of in users.values() for literal in of]
            rows[tuple(literal.index for literal in literals)] = literals

    # the audit

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Every pair of sessions, every outside booking and every opening time, minute by minute."""
        for one, other in combinations(plan.sessions, 2):
            zones = _shared_ground(club, one, other)
            minutes = min(one.end, other.end) - max(one.start, other.start) + club.set_up + club.pack_up + club.gap
            if one.date == other.date and zones and minutes > 0:
                text = f"{one.session} and {other.session} both need {zones} on {day_words(one.date)}"
                text += f" for {so_many(minutes, 'minute')}" + _with_margins(club)
                yield Violation(self.name, (one.session, other.session), text, minutes, "minutes")
        for planned in plan.sessions:
            yield from self._against_others(club, planned)
            yield from self._open(club, planned)

    def _against_others(self, club: Club, planned: PlannedSession) -> Iterator[Violation]:
        needed = range(planned.start - club.set_up, planned.end + club.pack_up)
        rows = [(row.by or "an outside booking", row.pitch, row.zones, row.span) for row in club.booked
                if row.occurs.on(planned.date)]  # fmt: skip
        for match in club.matches:
            if match.date == planned.date and match.pitch:
                played = match.zones_span or Span(match.kick_off, match.kick_off + match.minutes)
                rows.append((f"the match of {match.team}", match.pitch, match.zones, played))
        for whose, pitch, zones, span in rows:
            on_it = pitch == planned.pitch and not (zones and set(zones).isdisjoint(planned.zones))
            minutes = sum(1 for minute in needed if span.start <= minute < span.end)
            if minutes and (on_it or _crossed(club, pitch, planned.pitch)):
                text = f"{planned.session} needs {planned.pitch} on {day_words(planned.date)}, "
                text += f"which {whose} has {span}: {so_many(minutes, 'minute')}"
                yield Violation(self.name, (planned.session, pitch), text, minutes, "minutes")

    def _open(self, club: Club, planned: PlannedSession) -> Iterator[Violation]:
        first, last = planned.start - club.set_up, planned.end + club.pack_up
        hours = [row.span for row in club.pitch(planned.pitch).openings_on(planned.date)]
        if any(span.start <= first and last <= span.end for span in hours):
            return
        over = min((max(0, span.start - first) + max(0, last - span.end) for span in hours), default=last - first)
        open_at = " and ".join(str(span) for span in hours) or "closed"
        text = f"{planned.session} needs {planned.pitch} from {hhmm(max(0, first))} to {hhmm(last)} on "
        text += f"{day_words(planned.date)}; it is {'open ' if hours else ''}{open_at}"
        yield Violation(self.name, (planned.session, planned.pitch), text, over, "minutes")


class _Closed:
    """Whether a slot on the pitch is not wholly inside one of its opening hours."""

    def __init__(self, club: Club, pitch: Pitch) -> None:
        self._before, self._after = club.set_up, club.pack_up
        self._hours = {date: [row.span for row in pitch.openings_on(date)] for date in club.dates}

    def __call__(self, slot: Slot) -> bool:
        needed = Span(slot.start - self._before, slot.end + self._after)
        return not any(span.holds(needed) for span in self._hours[slot.date])


class _Taken:
    """Whether a slot on the day needs zones that somebody else has then."""

    def __init__(self, club: Club, kept: Kept) -> None:
        pitch, zones, self._span, _ = kept
        self._before, self._after = club.set_up, club.pack_up
        self._zones: dict[str, frozenset[int]] = {
            other.id: frozenset(range(1, other.zones + 1))
            for other in club.pitches
            if other.lies_on == pitch or club.pitch(pitch).lies_on == other.id
        }
        self._zones[pitch] = frozenset(zones or range(1, club.pitch(pitch).zones + 1))

    @property
    def pitches(self) -> Iterable[str]:
        """Where it matters: the pitch itself and what lies across it."""
        return self._zones

    def __call__(self, slot: Slot) -> bool:
        if self._zones[slot.pitch].isdisjoint(slot.zones):
            return False
        return Span(slot.start - self._before, slot.end + self._after).overlaps(self._span)


def _most_beside(shapes: Iterable[Shape], length: int) -> int:
    """How many runs of so many zones fit beside each other on all the zones that some sessions could have."""
    zones: dict[str, set[int]] = {}
    for shape in shapes:
        for pitch, run in shape.places:
            zones.setdefault(pitch, set()).update(run)
    return sum(len(of) // length for of in zones.values())


def _crossed(club: Club, one: str, other: str) -> bool:
    return one != other and (club.pitch(one).lies_on == other or club.pitch(other).lies_on == one)


def _shared_ground(club: Club, one: PlannedSession, other: PlannedSession) -> str:
    if _crossed(club, one.pitch, other.pitch):
        return f"the ground of {one.pitch} and {other.pitch}"
    shared = [zone for zone in one.zones if zone in other.zones] if one.pitch == other.pitch else []
    return f"{one.pitch} zone {', '.join(map(str, shared))}" if shared else ""


def _with_margins(club: Club) -> str:
    return ", gap, set-up and pack-up included" if club.gap or club.set_up or club.pack_up else ""
