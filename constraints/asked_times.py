"""A session is held on a day, at a time and in a place that it asks for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.programme import SessionAsk
from scheduler.club.when import DAY_NAMES, day_words, hhmm
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import PlannedSession, WeekPlan

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot


def _days(ask: SessionAsk) -> str:
    return ", ".join(DAY_NAMES[day] for day in sorted(ask.days)) or "no day"


class AskedTimes:
    """Days, Earliest, Latest, Sites, Pitches and Held at."""

    name = "days and times asked for"
    words = (
        "A session is held on one of its days, starts not before Earliest, has ended by Latest, lies at one of its "
        "sites and pitches, and stays where it is held by hand."
    )
    source = Source("the club's own Sessions sheet", basis=Basis.OURS)
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off."""
        return None

    def narrow(self, club: Club, model: BookingModel) -> None:
        """Exclude every slot that the session does not ask for."""
        for ask in club.sessions:
            for subject, sentence, unlawful in _demands(ask):
                model.rule_out(
                    model.switch(self.name, f"{ask.id}, {subject}", f"{ask.id} {sentence}"), ask.id, unlawful
                )

    def post(self, club: Club, model: BookingModel) -> None:
        """Nothing beyond what was excluded slot by slot."""

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Each planned session against its row of the Sessions sheet."""
        for planned in plan.sessions:
            for text, by, unit in _against(club, planned, club.session(planned.session)):
                yield Violation(self.name, (planned.session,), f"{planned.session} {text}", by, unit)


def _demands(ask: SessionAsk) -> Iterator[tuple[str, str, Callable[[Slot], bool]]]:
    """What a session asks for: a subject, a sentence, and the test that a slot does not grant it."""
    yield "days", f"is held on {_days(ask)}", lambda slot: slot.date.weekday() not in ask.days
    if ask.earliest > 0:
        yield "earliest", f"starts from {hhmm(ask.earliest)} on", lambda slot: slot.start < ask.earliest
    if ask.latest < 24 * 60:
        yield "latest", f"ends by {hhmm(ask.latest)}", lambda slot: slot.end > ask.latest
    if ask.sites:
        yield "sites", f"is held at {' or '.join(ask.sites)}", lambda slot: slot.site not in ask.sites
    if ask.pitches:
        yield "pitches", f"is held on {' or '.join(ask.pitches)}", lambda slot: slot.pitch not in ask.pitches
    held = ask.held_at
    if held is not None:
        wanted = (held.day, held.start, held.pitch, held.zones or None)

        def elsewhere(slot: Slot) -> bool:
            found = (slot.date.weekday(), slot.start, slot.pitch, slot.zones)
            return any(want is not None and want != got for want, got in zip(wanted, found, strict=True))

        yield "held at", f"is held {_held_words(ask)}", elsewhere


def _held_words(ask: SessionAsk) -> str:
    held = ask.held_at
    if held is None:
        return ""
    parts = [DAY_NAMES[held.day]] if held.day is not None else []
    parts += [hhmm(held.start)] if held.start is not None else []
    parts += [held.pitch] if held.pitch is not None else []
    return " ".join([*parts, *(["zone " + ", ".join(map(str, held.zones))] if held.zones else [])])


def _against(club: Club, planned: PlannedSession, ask: SessionAsk) -> Iterator[tuple[str, int, str]]:
    if planned.date.weekday() not in ask.days:
        yield f"is on {day_words(planned.date)}, asked for {_days(ask)}", 1, "days"
    if planned.start < ask.earliest:
        yield f"starts at {hhmm(planned.start)}, before {hhmm(ask.earliest)}", ask.earliest - planned.start, "minutes"
    if planned.end > ask.latest:
        yield f"ends at {hhmm(planned.end)}, after {hhmm(ask.latest)}", planned.end - ask.latest, "minutes"
    site = club.pitch(planned.pitch).site
    if ask.sites and site not in ask.sites:
        yield f"is at {site}, asked for {' or '.join(ask.sites)}", 1, "places"
    if ask.pitches and planned.pitch not in ask.pitches:
        yield f"is on {planned.pitch}, asked for {' or '.join(ask.pitches)}", 1, "places"
    held = ask.held_at
    if held is not None:
        kept = held.day in (None, planned.date.weekday()) and held.start in (None, planned.start)
        kept = kept and held.pitch in (None, planned.pitch) and (not held.zones or held.zones == planned.zones)
        if not kept:
            yield f"is not where it is held by hand: {_held_words(ask)}", 1, "places"
