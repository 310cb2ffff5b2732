"""Rows of Sessions made into what the week asks for, checked against plans, ages and places."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass

from scheduler.club.people import AgeRow, Player
from scheduler.club.programme import HeldAt, PlanRow, SessionAsk
from scheduler.club.when import DAY_MINUTES, monday_of
from scheduler.workbook import phrases, values
from scheduler.workbook.names import Names, fold, refer, refer_all
from scheduler.workbook.places import EVERY_DAY, Places
from scheduler.workbook.rows import Findings, Row, Table
from scheduler.workbook.values import Wrong


@dataclass(frozen=True)
class Known:
    """What sessions refer to."""

    places: Places
    teams: Names
    children: Names
    plans: Names
    plan_rows: tuple[PlanRow, ...]


def plan_minutes(rows: Iterable[PlanRow], plan: str) -> int:
    """Minutes of a plan: its blocks one after the other."""
    blocks: dict[str, int] = {}
    for row in rows:
        if row.plan == plan:
            blocks[row.block] = max(blocks.get(row.block, 0), row.minutes)
    return sum(blocks.values())


def _held_at(text: str, pitches: Names) -> HeldAt:
    """`Wed 18:00 North 1; 2`, or any part of it. The longest pitch name that fits is meant."""
    rest = text
    day = start = pitch = None
    zones: tuple[int, ...] = ()
    word, _, after = rest.partition(" ")
    if re.fullmatch(r"[A-Za-z]{3,9}\.?", word) and pitches.find(rest) is None:
        with suppress(Wrong):  # then the word belongs to what follows
            (day,) = values.days(word)
            rest = after.strip()
    if match := re.match(r"(\d{1,2}[:.h]\d{2})(?:\s+|$)", rest):
        start = values.time(match[1])
        rest = rest[match.end() :].strip()
    for name in sorted(pitches.ids, key=len, reverse=True):
        if fold(rest) == fold(name) or fold(rest).startswith(fold(name) + " "):
            pitch, rest = name, rest[len(name) :].strip()
            break
    if rest:
        try:
            zones = phrases.zones(re.sub(r"^zones? ", "", rest, flags=re.IGNORECASE))
        except Wrong:
            known = ", ".join(pitches.ids[:4])
            raise Wrong(f"{{}} is not understood, write day, time, pitch and zones such as Wed 18:00 "
                        f"{pitches.ids[0] if pitches.ids else 'North'} 1; 2 (pitches: {known})") from None  # fmt: skip
    return HeldAt(day, start, pitch, zones)


def _held(row: Row, known: Known, count: int | None, findings: Findings) -> HeldAt | None:
    if not row.get("held_at"):
        return None
    try:
        held = _held_at(row.get("held_at"), known.places.pitch_names)
    except Wrong as wrong:
        quoted = str(wrong).replace("{}", values.shown(row.get("held_at")))
        findings.add(row, "held_at", f"Held at: {quoted}")
        return None
    pitch = next((p for p in known.places.pitches if p.id == held.pitch), None)
    if pitch is not None and held.zones and max(held.zones) > pitch.zones:
        text = f"Held at: zone {max(held.zones)} is beyond the pitch, {pitch.id} has zones 1 to {pitch.zones}"
        findings.add(row, "held_at", text)
    if held.zones and count is not None and len(held.zones) != count:
        text = f"Held at names {len(held.zones)} zones and Zones says {count}, write the same number"
        findings.add(row, "held_at", text)
    if held.zones and held.zones != tuple(range(held.zones[0], held.zones[0] + len(held.zones))):
        findings.add(row, "held_at", "Held at: the zones are not neighbours, name zones next to each other")
    return held


def _check_times(row: Row, minutes: int, findings: Findings) -> None:
    earliest, latest = row.get("earliest", 0), row.get("latest", DAY_MINUTES)
    if earliest + minutes > latest:
        key = "latest" if "latest" in row.values else "earliest"
        findings.add(
            row, key, f"{minutes} minutes do not fit between Earliest and Latest, leave more time between them"
        )
    outside = row.get("wished_days", frozenset()) - row.get("days", EVERY_DAY)
    if outside:
        findings.note(f"{row.at('wished_days')}: a wished day is not among the allowed Days and cannot be met.")


def _session(row: Row, known: Known, findings: Findings) -> SessionAsk | None:
    teams = refer_all(row, "teams", findings, known.teams)
    sites = refer_all(row, "sites", findings, known.places.site_names)
    pitches = refer_all(row, "pitches", findings, known.places.pitch_names)
    guests = refer_all(row, "with", findings, known.children)
    left_out = refer_all(row, "without", findings, known.children)
    plan = refer(row, "plan", findings, known.plans)
    long = plan_minutes(known.plan_rows, plan) if plan else 0
    minutes = row.get("minutes", long)
    if plan and long > minutes and "minutes" not in row.bad:
        findings.add(row, "minutes", f"the plan '{plan}' takes {long} minutes, write at least {long} or another Plan")
    elif plan and 0 < long < minutes:
        findings.note(f"{row.get('session')}: the plan is {minutes - long} minutes shorter than the session.")
    _check_times(row, minutes, findings)
    zones: int | None = row.get("zones", 1)
    held = _held(row, known, zones or None, findings)
    if not (row.get("session") and teams and plan and minutes) or "id" in row.bad:
        return None
    return SessionAsk(
        id=row.get("session"), teams=teams, plan=plan, minutes=minutes, zones=zones or None,
        days=row.get("days", EVERY_DAY), wished_days=row.get("wished_days", frozenset()),
        earliest=row.get("earliest", 0), latest=row.get("latest", DAY_MINUTES),
        coaches_needed=row.get("coaches_needed", 2), sites=sites, pitches=pitches, held_at=held, with_players=guests,
        without_players=left_out, needs_keeper_coach=row.get("needs") is not None,
        bibs_stay=row.get("bibs_stay", "session"),
        weeks=frozenset(monday_of(date) for date in row.get("weeks", ())),
    )  # fmt: skip


def read_sessions(table: Table, known: Known, week: dt.date, findings: Findings) -> tuple[SessionAsk, ...]:
    """What is asked for in this week; sessions held in other weeks only are left out."""
    found: list[SessionAsk] = []
    for row in table.rows:
        weeks = {monday_of(date) for date in row.get("weeks", ())}
        if weeks and week not in weeks:
            continue
        session = _session(row, known, findings)
        if session is not None:
            found.append(session)
    return tuple(found)


def check_lengths(table: Table, sessions: tuple[SessionAsk, ...], players: tuple[Player, ...], years: dict[str, int],
                  ages: tuple[AgeRow, ...], findings: Findings) -> None:  # fmt: skip
    """A fault where a session is longer than the age allows for every child in it."""
    rows = {row.get("session"): row for row in table.rows}
    for session in sessions:
        there = (p.id for p in players if p.team in session.teams and p.id not in session.without_players)
        found = [next((r for r in ages if r.from_age <= years[key] <= r.to_age), None) for key in there if key in years]
        limits = [row.session_minutes for row in found if row is not None and row.session_minutes is not None]
        if limits and len(limits) == len(found) and max(limits) < session.minutes:
            text = (
                f"{session.minutes} minutes are too long for every child of this session, write at most {max(limits)}"
            )
            key = "minutes" if "minutes" in rows[session.id].values else "plan"
            findings.add(rows[session.id], key, text)
