"""Rows of Sites, Pitches, Booked, Kit and Weather made into the club's places."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from scheduler.club.places import Booked, KitItem, Opening, Pitch, Site, Weather
from scheduler.club.when import Occurs, Span, week_dates
from scheduler.workbook.names import Names, fold, refer
from scheduler.workbook.rows import Findings, Row, Table
from scheduler.workbook.sheets import CLUB

EVERY_DAY = frozenset(range(7))


@dataclass
class Places:
    """What the rows of one club say about places."""

    sites: tuple[Site, ...]
    pitches: tuple[Pitch, ...]
    site_names: Names
    pitch_names: Names


def read_sites(table: Table) -> tuple[Site, ...]:
    """Every site with a name."""
    return tuple(
        Site(
            id=row.get("site"),
            latitude=row.get("latitude"),
            longitude=row.get("longitude"),
            minutes_between=row.get("minutes_between", 0),
            help_address=row.get("help_address", ""),
            defibrillator=row.get("defibrillator", ""),
        )
        for row in table.rows
        if row.get("site") and "id" not in row.bad
    )


def span_of(row: Row, start: str, end: str, findings: Findings) -> Span | None:
    """The span of two time cells; None, with a fault, where it ends before it begins, or one is missing."""
    if start not in row.values or end not in row.values:
        return None
    span = Span(row.get(start), row.get(end))
    if span.start >= span.end:
        headings = row.sheet.by_key[start].heading, row.sheet.by_key[end].heading
        findings.add(row, end, f"{headings[1]} is not after {headings[0]} ({span}), write a later time")
        return None
    return span


def the_site(row: Row, key: str, sites: Names, findings: Findings) -> str | None:
    """The site a cell names, or the only one where it is blank."""
    if row.get(key) or key in row.bad:
        return refer(row, key, findings, sites)
    if len(sites.ids) == 1:
        return sites.ids[0]
    findings.add(row, key, f"Site is empty, write one of the sites, such as {' or '.join(sites.ids[:2])}")
    return None


def _opening(row: Row, findings: Findings) -> Opening | None:
    span = span_of(row, "from", "to", findings)
    light = row.get("lit")
    if span is None or light is None:
        return None
    return Opening(days=row.get("days", EVERY_DAY), span=span, lit=light.lit, lights_out=light.until)


_SAME = ("site", "zones", "length_m", "width_m", "surface", "quality", "lies_on", "goals_at")


def join_rows(table: Table) -> None:
    """Let later rows of a pitch leave blank what its first row says of the pitch itself."""
    firsts: dict[str, Row] = {}
    for row in table.rows:
        first = firsts.setdefault(fold(row.get("pitch", "")), row)
        for key in _SAME:
            if key in first.values and key not in row.bad:
                row.values.setdefault(key, first.get(key))


def _pitch(rows: list[Row], sites: Names, pitches: Names, findings: Findings) -> Pitch | None:
    first = rows[0]
    for row in rows[1:]:
        for key in _SAME:
            if key in row.values and key in first.values and row.get(key) != first.get(key):
                heading = row.sheet.by_key[key].heading
                findings.add(row, key, f"{heading} differs from {first.at(key)} for the same pitch, write the same")
    openings = tuple(opening for row in rows if (opening := _opening(row, findings)) is not None)
    site = the_site(first, "site", sites, findings)
    lies_on = refer(first, "lies_on", findings, pitches)
    if lies_on is not None and lies_on == pitches.find(first.get("pitch")):
        findings.add(first, "lies_on", "a pitch cannot lie on itself, name the pitch below it")
    if site is None or not openings:
        return None
    zones = first.get("zones", 6 if "zones" in first.bad else 3)
    return Pitch(
        id=first.get("pitch"), site=site, zones=zones, length=first.get("length_m"),
        width=first.get("width_m"), surface=first.get("surface", ""), openings=openings, quality=first.get("quality"),
        lies_on=lies_on, goals_at=first.get("goals_at", ""),
    )  # fmt: skip


def read_pitches(table: Table, sites: Names, pitches: Names, findings: Findings) -> tuple[Pitch, ...]:
    """Every pitch, its rows joined."""
    by_pitch: dict[str, list[Row]] = {}
    for row in table.rows:
        if name := row.get("pitch"):
            by_pitch.setdefault(pitches.find(name) or name, []).append(row)
    found = (_pitch(rows, sites, pitches, findings) for rows in by_pitch.values())
    return tuple(pitch for pitch in found if pitch is not None)


def check_light(table: Table, sites: Table, places: Places, timezone: str | None, findings: Findings) -> None:
    """Faults where an unlit pitch lacks what its dusk is worked out from."""
    unlit = [row for row in table.rows if row.get("lit") is not None and not row.get("lit").lit]
    by_id = {site.id: site for site in places.sites}
    rows = {row.get("site"): row for row in sites.rows}
    for row in unlit:
        name = places.site_names.find(row.get("site", "")) or next(iter(places.site_names.ids), "")
        site = by_id.get(name)
        for key, degrees in (("latitude", site and site.latitude), ("longitude", site and site.longitude)):
            if site is not None and degrees is None and key not in rows[name].bad:
                at = rows[name]
                text = f"{key.capitalize()} is empty and {row.get('pitch')} is not lit, fill in degrees such as 53.35"
                if at.packaged:
                    findings.add_sheet(at.sheet, at.sheet.name, f"{text} (a row with Site '{name}')")
                else:
                    findings.add(at, key, text)
    if unlit and timezone is None:
        text = f"Time zone is empty and {unlit[0].get('pitch')} is not lit, fill in one such as Europe/Dublin"
        findings.add_sheet(CLUB, "Club", text)


def occurs_of(row: Row, findings: Findings) -> Occurs | None:
    """When a row holds, from Date, Days, Until and Every; None with a fault where it does not say."""
    when = row.get("date")
    date = when.date if when else None
    days = row.get("days", frozenset()) | (when.days if when else frozenset())
    until, every = row.get("until"), row.get("every", 1)
    if date is None and not days:
        if not {"date", "days"} & row.bad:
            findings.add(row, "date", "Date and Days are both empty, fill in one of them")
        return None
    if every > 1 and (date is None or not days):
        key = "date" if date is None else "days"
        findings.add(row, key, f"Every {every} needs both Date (the first week) and Days, fill them in")
        return None
    if date is not None and until is not None and until < date:
        findings.add(row, "until", "Until is before Date, write a later date")
        return None
    return Occurs(date=date, until=until, days=days, every=every)


def in_week(occurs: Occurs, week: dt.date) -> bool:
    """Whether a row holds on any day of the week."""
    return any(occurs.on(date) for date in week_dates(week))


def zones_on(row: Row, key: str, pitch: str | None, places: Places, findings: Findings) -> tuple[int, ...]:
    """The zones of a cell, none of them beyond the pitch; empty for the whole of it."""
    found: tuple[int, ...] = row.get(key, ())
    count = next((p.zones for p in places.pitches if p.id == pitch), 6)
    if found and max(found) > count:
        findings.add(row, key, f"zone {max(found)} is beyond the pitch, {pitch} has zones 1 to {count}")
    return found


def read_booked(table: Table, places: Places, week: dt.date, findings: Findings) -> tuple[Booked, ...]:
    """Outside bookings that touch the week."""
    found: list[Booked] = []
    for row in table.rows:
        occurs = occurs_of(row, findings)
        if occurs is None or not in_week(occurs, week):
            continue
        pitch = refer(row, "pitch", findings, places.pitch_names)
        span = span_of(row, "from", "to", findings)
        zones = zones_on(row, "zones", pitch, places, findings)
        if pitch and span:
            found.append(Booked(pitch=pitch, zones=zones, occurs=occurs, span=span, by=row.get("by", "")))
    return tuple(found)


def read_kit(table: Table, sites: Names, findings: Findings) -> tuple[KitItem, ...]:
    """What lies where; the same item twice at one site is added up."""
    counts: dict[tuple[str, str], int] = {}
    for row in table.rows:
        site = the_site(row, "site", sites, findings)
        if row.get("item") and site and "count" in row.values:
            key = row.get("item"), site
            counts[key] = counts.get(key, 0) + row.get("count")
    return tuple(KitItem(item=item, site=site, count=count) for (item, site), count in counts.items())


def read_weather(table: Table, sites: Names, week: dt.date, findings: Findings) -> tuple[Weather, ...]:
    """Weather of the dates of the week. A bare WBGT below 50 is refused: it is likely to be degrees Celsius."""
    found: list[Weather] = []
    for row in table.rows:
        date = row.get("date")
        if date is None or date not in week_dates(week):
            continue
        wbgt = row.get("wbgt")
        if wbgt is not None and wbgt < 50 and not str(row.raw.get("wbgt")).strip()[-1:].isalpha():
            findings.add(row, "wbgt", "WBGT has no unit, write it with one, such as 31 C or 88 F")
        site = the_site(row, "site", sites, findings)
        if site is None:
            continue
        found.append(
            Weather(date=date, site=site, wbgt_f=wbgt, wind_chill_f=row.get("wind_chill"),
                    thunder_last=row.get("thunder_last_heard"))
        )  # fmt: skip
    return tuple(found)
