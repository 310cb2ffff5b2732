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
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

from scheduler.club.club import Club
from scheduler.folder.people import heat_stop
from scheduler.plan.names import adult_names, adults, join, place_words, plain, plan_number, site_of
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


def event_uid(plan: WeekPlan, session: str, owner: str) -> str:
    """The same for a session of a week in every plan, another in every file.

    Who is taken off a session then loses it from one calendar without losing it from another.
    """
    return str(uuid.uuid5(_EVENTS, "\n".join((plan.club, plan.week.isoformat(), session, owner))))


def _instant(date: dt.date, minute: int, zone: ZoneInfo) -> dt.datetime:
    """A local minute of a day (up to 24:00) as UTC."""
    local = dt.datetime.combine(date, dt.time()) + dt.timedelta(minutes=minute)
    return local.replace(tzinfo=zone).astimezone(dt.UTC)


def event_of(club: Club, plan: WeekPlan, planned: PlannedSession, owner: str, cancelled: bool = False) -> Event:
    """A planned session as an event of one calendar."""
    zone = ZoneInfo(plan.timezone)
    teams = [plain(team) for team in planned.teams]
    site = plain(site_of(club, planned))
    where = place_words(club, planned)
    who = join(adults(club, planned.coaches))
    return Event(
        uid=event_uid(plan, planned.session, owner),
        start=_instant(planned.date, planned.start, zone),
        end=_instant(planned.date, heat_stop(club, planned) or planned.end, zone),
        summary=("Not held: " if cancelled else "") + f"{plain(planned.session)}, training of {join(teams)}",
        location=where if not site or site in where else f"{where}, {site}",
        description=f"{plan_number(plan)}." + (f" Adults: {who}." if who and not cancelled else ""),
        cancelled=cancelled,
    )


def events(club: Club, plan: WeekPlan, earlier: WeekPlan | None, known: Mapping[str, Event], owner: str,
           belongs: Callable[[PlannedSession], bool]) -> list[Event]:  # fmt: skip
    """The events of one calendar with their sequence numbers, sessions that left it as cancelled.

    `known` are the events of this calendar as last written, by UID. Where it has none, a change against the earlier
    plan counts by revision, so that the number never falls.
    """
    now = {planned.session: planned for planned in plan.sessions if belongs(planned)}
    held = earlier.sessions if earlier is not None else ()
    before = {planned.session: planned for planned in held if belongs(planned)}
    found = []
    for session in dict.fromkeys([*now, *before]):
        event = event_of(club, plan, now.get(session) or before[session], owner, cancelled=session not in now)
        last = event_of(club, plan, before[session], owner) if session in before else None
        found.append(_numbered(event, last, known, plan, earlier))
    made = {event.uid for event in found}
    for uid, event in known.items():
        if uid not in made:
            summary = event.summary if event.cancelled else f"Not held: {event.summary}"
            number = event.sequence + (0 if event.cancelled else 1)
            found.append(replace(event, cancelled=True, summary=summary, sequence=number))
    return sorted(found, key=lambda one: (one.start, one.uid))


def _numbered(event: Event, last: Event | None, known: Mapping[str, Event], plan: WeekPlan,
              earlier: WeekPlan | None) -> Event:  # fmt: skip
    number = 0
    if earlier is not None:
        changed = last is None or not event.same_as(last)
        number = max(plan.revision, earlier.revision + 1) - 1 if changed else earlier.revision - 1
    written = known.get(event.uid)
    if written is not None:
        number = max(number, written.sequence + (0 if event.same_as(written) else 1))
    return replace(event, sequence=number)


def calendar_files(club: Club, plan: WeekPlan, earlier: WeekPlan | None = None,
                   known: Mapping[str, Mapping[str, Event]] | None = None) -> dict[str, bytes]:  # fmt: skip
    """The files of `calendar/` by name. `known` are the events last written, by file name and UID."""
    last = known or {}
    files: dict[str, bytes] = {}
    for team in club.teams:
        name = _free_name(f"team-{_slug(team.id)}", files)
        mine = events(club, plan, earlier, last.get(name, {}), f"team {team.id}", partial(_of_team, team.id))
        files[name] = _written(plan, f"{plain(team.id)}, training", mine)
    for coach, shown in adult_names(club).items():
        name = _free_name(f"coach-{_slug(shown)}", files)
        mine = events(club, plan, earlier, last.get(name, {}), f"coach {coach}", partial(_of_coach, coach))
        files[name] = _written(plan, f"{shown}, sessions", mine)
    return files


def _of_team(team: str, planned: PlannedSession) -> bool:
    return team in planned.teams


def _of_coach(coach: str, planned: PlannedSession) -> bool:
    return coach in planned.coaches


def _written(plan: WeekPlan, title: str, found: Iterable[Event]) -> bytes:
    from icalendar import Calendar
    from icalendar import Event as Entry

    book = Calendar()
    book.add("prodid", PRODID)
    book.add("version", "2.0")
    book.add("x-wr-calname", f"{plain(plan.club)}: {title}")
    stamp = dt.datetime.combine(plan.week, dt.time(), dt.UTC)
    for event in found:
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
