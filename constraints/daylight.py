"""An unlit pitch is used by daylight only."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.places import Opening, Pitch
from scheduler.club.when import Span, day_words, hhmm
from scheduler.contract import Source, Violation
from scheduler.daylight import civil_dusk
from scheduler.plan.plan import WeekPlan

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot


def last_minute(club: Club, pitch: Pitch, opening: Opening, date: dt.date) -> int | None:
    """Until when there is light in an opening row: civil dusk or lights out, whichever is later; None: all evening.

    Where the coordinates of the site are not given an unlit row has no known light, and nothing fits.
    """
    if opening.lit and opening.lights_out is None:
        return None
    site = club.site(pitch.site)
    lights = opening.lights_out or 0
    if site.latitude is None or site.longitude is None:
        return lights
    dusk = civil_dusk(site.latitude, site.longitude, date, club.timezone)
    return None if dusk is None else max(lights, dusk)


class Daylight:
    """Civil dusk of that day at that site."""

    name = "daylight"
    words = "On an unlit pitch, or once the lights are out, a session has ended by civil dusk of that day at that site."
    source = Source(
        "civil twilight, the Sun's centre 6 degrees below the horizon",
        "United States Naval Observatory, Astronomical Applications; HM Nautical Almanac Office",
    )
    firm = True

    def off(self, club: Club) -> str | None:
        """Off where every pitch is lit to closing time."""
        rows = [row for pitch in club.pitches for row in pitch.openings]
        return "every pitch is lit" if all(row.lit and row.lights_out is None for row in rows) else None

    def narrow(self, club: Club, model: BookingModel) -> None:
        """Exclude slots that end in the dark."""
        for pitch in club.pitches:
            for date in club.dates:
                rows = pitch.openings_on(date)
                light = [(row.span, last_minute(club, pitch, row, date)) for row in rows]
                if all(last is None for _, last in light):
                    continue
                on = model.switch(
                    self.name, f"{pitch.id}, {day_words(date)}", f"{pitch.id} is dark after dusk on {day_words(date)}"
                )
                for ask in club.sessions:
                    model.rule_out(on, ask.id, _Dark(pitch.id, date, light, club))

    def post(self, club: Club, model: BookingModel) -> None:
        """Nothing beyond what was excluded slot by slot."""

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Each session minute by minute, in the light of the opening row it lies in; of several the lightest one."""
        for planned in plan.sessions:
            pitch, date = club.pitch(planned.pitch), planned.date
            fewest: list[int] | None = None
            for row in pitch.openings_on(date):
                if row.span.start <= planned.start - club.set_up and planned.end + club.pack_up <= row.span.end:
                    minutes = range(planned.start, planned.end)
                    dark = [minute for minute in minutes if not _has_light(club, pitch, row, date, minute)]
                    if fewest is None or len(dark) < len(fewest):
                        fewest, best = dark, row
            if fewest:
                earlier = reversed(range(fewest[0]))
                last = next((minute for minute in earlier if _has_light(club, pitch, best, date, minute)), None)
                text = f"{planned.session} on {pitch.id} ends at {hhmm(planned.end)} on {day_words(date)}; "
                text += "there is no light" if last is None else f"there is light until {hhmm(last + 1)}"
                yield Violation(self.name, (planned.session, pitch.id), text, len(fewest), "minutes")


def _has_light(club: Club, pitch: Pitch, opening: Opening, date: dt.date, minute: int) -> bool:
    """Whether one minute before the end of an evening has light: of lamps, or of the day until civil dusk."""
    if minute < opening.lights_out if opening.lights_out is not None else opening.lit:
        return True
    site = club.site(pitch.site)
    if site.latitude is None or site.longitude is None:
        return False
    dusk = civil_dusk(site.latitude, site.longitude, date, club.timezone)
    return dusk is None or minute < dusk


class _Dark:
    """Whether a slot lies inside an opening row, and in each such row ends after the light."""

    def __init__(self, pitch: str, date: dt.date, light: list[tuple[Span, int | None]], club: Club) -> None:
        self._pitch, self._date, self._light = pitch, date, light
        self._before, self._after = club.set_up, club.pack_up

    def __call__(self, slot: Slot) -> bool:
        if slot.pitch != self._pitch or slot.date != self._date:
            return False
        needed = Span(slot.start - self._before, slot.end + self._after)
        lasts = [last for span, last in self._light if span.holds(needed)]
        return bool(lasts) and all(last is not None and slot.end > last for last in lasts)
