"""calendar/: one iCalendar file (RFC 5545) a team and a coach, without any child's name.

Times are written in UTC, worked out from the club's time zone: a VTIMEZONE is read wrongly by some programs, single
events in UTC by none. A session keeps its UID for good; SEQUENCE rises with every change, and a session that is no
longer held stays in the file as cancelled. Time stamps come from the week, not from the clock.
"""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo

from scheduler.club.club import Club
from scheduler.folder.names import adult_names, adults, join, place_words, plain, plan_number, site_of
from scheduler.plan.plan import PlannedSession, WeekPlan

_EVENTS = uuid.UUID("0c0d5b0a-8a53-5a0f-9e5c-0a54e7d3b6aa")
PRODID = "-//evenweek//training week//EN"


@dataclass(frozen=True)
class Event:
    """One session as a calendar shows it; `sequence` is raised whenever anything else here changes."""

    uid: str
    start: dt.datetime
    end: dt.datetime
    summary: str
    location: str
    description: str
    cancelled: bool
    sequence: int = 0

    def same_as(self, other: Event) -> bool:
        """Whether time, place, name and standing are the same (the description may differ by the plan number)."""
        return self._key() == other._key()

    def _key(self) -> tuple[object, ...]:
        return self.start, self.end, self.summary, self.location, self.cancelled


def event_uid(plan: WeekPlan, session: str) -> str:
    """The same for a session of a week in every plan and every file."""
    return str(uuid.uuid5(_EVENTS, "\n".join((plan.club, plan.week.isoformat(), session))))


def _instant(date: dt.date, minute: int, zone: ZoneInfo) -> dt.datetime:
    """A local minute of a day (up to 24:00) as UTC."""
    local = dt.datetime.combine(date, dt.time()) + dt.timedelta(minutes=minute)
    return local.replace(tzinfo=zone).astimezone(dt.UTC)


def event_of(club: Club, plan: WeekPlan, planned: PlannedSession, cancelled: bool = False) -> Event:
    """A planned session as an event."""
    zone = ZoneInfo(plan.timezone)
    teams = [plain(team) for team in planned.teams]
    site = plain(site_of(club, planned))
    where = place_words(club, planned)
    who = join(adults(club, planned.coaches))
    return Event(
        uid=event_uid(plan, planned.session),
        start=_instant(planned.date, planned.start, zone),
        end=_instant(planned.date, planned.end, zone),
        summary=("Not held: " if cancelled else "") + f"{plain(planned.session)}, training of {join(teams)}",
        location=where if not site or site in where else f"{where}, {site}",
        description=f"{plan_number(plan)}." + (f" Adults: {who}." if who and not cancelled else ""),
        cancelled=cancelled,
    )


def events(club: Club, plan: WeekPlan, earlier: WeekPlan | None,
           known: Mapping[str, Event]) -> dict[str, tuple[Event, PlannedSession]]:  # fmt: skip
    """Every event of the week by session, with sequence numbers; sessions of the earlier plan no longer held too.

    `known` are the events as last written, by UID. Without them a change against the earlier plan counts by revision,
    so that the number never falls.
    """
    found: dict[str, tuple[Event, PlannedSession]] = {}
    before = {planned.session: planned for planned in earlier.sessions} if earlier is not None else {}
    for planned in plan.sessions:
        event = event_of(club, plan, planned)
        former = before.get(planned.session)
        last = event_of(club, plan, former) if former is not None else None
        found[planned.session] = (_numbered(event, last, known, plan, earlier), planned)
    for session, planned in before.items():
        if session not in found:
            event = event_of(club, plan, planned, cancelled=True)
            found[session] = (_numbered(event, event_of(club, plan, planned), known, plan, earlier), planned)
    return found


def _numbered(event: Event, last: Event | None, known: Mapping[str, Event], plan: WeekPlan,
              earlier: WeekPlan | None) -> Event:  # fmt: skip
    number = 0
    if earlier is not None:
        changed = last is None or not event.same_as(last)
        number = max(plan.revision, earlier.revision + 1) - 1 if changed else earlier.revision - 1
    written = known.get(event.uid)
    if written is not None:
        number = max(number, written.sequence + (0 if event.same_as(written) else 1))
    return Event(**{**event.__dict__, "sequence": number})


def calendar_files(club: Club, plan: WeekPlan, earlier: WeekPlan | None = None,
                   known: Mapping[str, Mapping[str, Event]] | None = None) -> dict[str, bytes]:  # fmt: skip
    """The files of `calendar/` by name. `known` are the events last written, by file name and UID."""
    known = known or {}
    flat = {uid: event for file in known.values() for uid, event in file.items()}
    of = events(club, plan, earlier, flat)
    files: dict[str, tuple[str, list[Event]]] = {}
    for team in club.teams:
        mine = [event for event, planned in of.values() if team.id in planned.teams]
        files[_free_name(f"team-{_slug(team.id)}", files)] = (f"{plain(team.id)}, training", mine)
    for coach, name in adult_names(club).items():
        mine = [event for event, planned in of.values() if coach in planned.coaches]
        files[_free_name(f"coach-{_slug(name)}", files)] = (f"{name}, sessions", mine)
    now = {event.uid: event for event, _ in of.values()}
    return {name: _written(plan, title, [*mine, *_gone(mine, known.get(name, {}), now)])
            for name, (title, mine) in files.items()}  # fmt: skip


def _gone(mine: Iterable[Event], known: Mapping[str, Event], now: Mapping[str, Event]) -> list[Event]:
    """Events that stood in a file and belong in it no longer, as cancelled there."""
    here = {event.uid for event in mine}
    gone = []
    for uid, event in known.items():
        if uid not in here:
            number = max(event.sequence + (0 if event.cancelled else 1), now[uid].sequence if uid in now else 0)
            summary = event.summary if event.cancelled else f"Not held: {event.summary}"
            gone.append(Event(**{**event.__dict__, "cancelled": True, "sequence": number, "summary": summary}))
    return gone


def _written(plan: WeekPlan, title: str, found: Iterable[Event]) -> bytes:
    from icalendar import Calendar
    from icalendar import Event as Entry

    book = Calendar()
    book.add("prodid", PRODID)
    book.add("version", "2.0")
    book.add("x-wr-calname", f"{plain(plan.club)}: {title}")
    stamp = dt.datetime.combine(plan.week, dt.time(), dt.UTC)
    for event in sorted(found, key=lambda one: (one.start, one.uid)):
        entry = Entry()
        entry.add("uid", event.uid)
        entry.add("dtstamp", stamp + dt.timedelta(seconds=event.sequence))
        entry.add("dtstart", event.start)
        entry.add("dtend", event.end)
        entry.add("summary", event.summary)
        entry.add("location", event.location)
        entry.add("description", event.description)
        entry.add("sequence", event.sequence)
        entry.add("status", "CANCELLED" if event.cancelled else "CONFIRMED")
        book.add_component(entry)
    return bytes(book.to_ical())


def written_events(folder: Path) -> dict[str, dict[str, Event]]:
    """The events in the calendar files of a week folder, by file name and UID; files that cannot be read are left."""
    from icalendar import Calendar

    found: dict[str, dict[str, Event]] = {}
    for file in sorted(folder.glob("*.ics")):
        try:
            book = Calendar.from_ical(file.read_bytes())
            found[file.name] = {str(entry["uid"]): _read(entry) for entry in book.walk("VEVENT")}
        except (ValueError, KeyError, AttributeError, OSError, IndexError):
            continue
    return found


def _read(entry: object) -> Event:
    get = entry.get if hasattr(entry, "get") else {}.get
    return Event(
        uid=str(get("uid")), start=get("dtstart").dt, end=get("dtend").dt, summary=str(get("summary")),
        location=str(get("location")), description=str(get("description")),
        cancelled=str(get("status")) == "CANCELLED", sequence=int(get("sequence") or 0),
    )  # fmt: skip


def _slug(text: str) -> str:
    """A name in plain letters for a file; letters that have no plain form are left out."""
    plainer = unicodedata.normalize("NFKD", text.replace("ł", "l").replace("Ł", "L").replace("ß", "ss"))
    ascii_only = plainer.encode("ascii", "ignore").decode().casefold()
    return re.sub(r"[^a-z0-9]+", "-", ascii_only).strip("-")[:60] or "x"


def _free_name(stem: str, taken: Mapping[str, object]) -> str:
    name, number = f"{stem}.ics", 2
    while name in taken:
        name, number = f"{stem}-{number}.ics", number + 1
    return name
