"""Rows with a date: Matches, Absences, Elsewhere, and those about one child: Carried and Returns.

Rows of other weeks are left out without a word, so that one workbook serves week after week. Matches and Elsewhere are
kept from seven days before the week to one day after it, for rest days and days in a row.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from scheduler.club.people import Absence, Carried, Coach, Elsewhere, Match, Player, Return
from scheduler.club.when import DAY_MINUTES, Span
from scheduler.workbook.names import Names, fold, refer, refer_all
from scheduler.workbook.places import Places, in_week, occurs_of, span_of, zones_on
from scheduler.workbook.rows import Findings, Row, Table
from scheduler.workbook.values import Wrong
from scheduler.workbook.values import date as read_date

DAYS_BEFORE, DAYS_AFTER = 7, 1
_WINDOWS = {"Matches": (DAYS_BEFORE, DAYS_AFTER), "Elsewhere": (DAYS_BEFORE, DAYS_AFTER), "Weather": (0, 0)}
_ONE_DATE = ("Booked", "Absences")


def _outside(row: Row, week: dt.date) -> bool:
    name = row.sheet.name
    if name in _ONE_DATE and any(row.raw.get(key) for key in ("days", "until", "every")):
        return False
    before, after = _WINDOWS.get(name, (0, 0))
    try:
        date = read_date(row.raw.get("date"))
    except Wrong:
        return False
    return not week - dt.timedelta(days=before) <= date <= week + dt.timedelta(days=6 + after)


def drop_other_weeks(table: Table, week: dt.date) -> None:
    """Take out rows dated in other weeks before anything in them is judged."""
    if table.sheet.name in (*_WINDOWS, *_ONE_DATE):
        table.rows = [row for row in table.rows if not _outside(row, week)]


def _kept(row: Row, kick_off: int, minutes: int, findings: Findings) -> Span | None:
    """When a home match keeps its zones; None: as long as it is played."""
    start, end = row.get("zones_from"), row.get("zones_to")
    if start is None and end is None:
        return None
    if start is not None and end is not None:
        return span_of(row, "zones_from", "zones_to", findings)
    span = Span(kick_off if start is None else start, kick_off + minutes if end is None else end)
    if span.start >= span.end:
        key = "zones_from" if end is None else "zones_to"
        findings.add(row, key, f"the zones would be kept {span}, write times around the match")
        return None
    return span


def read_matches(table: Table, places: Places, teams: Names, children: Names, rpes: range,
                 findings: Findings) -> tuple[Match, ...]:  # fmt: skip
    """Fixtures near the week."""
    found: list[Match] = []
    for row in table.rows:
        team = refer(row, "team", findings, teams)
        pitch = refer(row, "pitch", findings, places.pitch_names)
        players = refer_all(row, "players", findings, children)
        zones = zones_on(row, "zones", pitch, places, findings)
        check_rpe(row, rpes, findings)
        if zones and pitch is None and not row.get("pitch"):
            findings.add(row, "pitch", "Pitch is empty and Zones are given, name the pitch")
        if team is None or not {"date", "kick_off", "minutes"} <= set(row.values):
            continue
        kick_off, minutes = row.get("kick_off"), row.get("minutes")
        if kick_off + minutes > DAY_MINUTES:
            findings.add(
                row, "minutes", "the match would end after midnight, write an earlier Kick-off or fewer Minutes"
            )
            continue
        found.append(
            Match(
                team=team, date=row.get("date"), kick_off=kick_off, minutes=minutes, pitch=pitch, zones=zones,
                rpe=row.get("rpe"), players=players, zones_span=_kept(row, kick_off, minutes, findings),
            )
        )  # fmt: skip
    return tuple(found)


def check_rpe(row: Row, rpes: range, findings: Findings) -> None:
    """A fault where an RPE is not on the club's scale."""
    rpe = row.get("rpe")
    if rpe is not None and rpe not in rpes:
        said = "what stands here" if row.sheet.by_key["rpe"].private else str(rpe)
        text = f"RPE: {said} is not on the club's scale, write a number from {rpes[0]} to {rpes[-1]}"
        findings.add(row, "rpe", text)


def _who(row: Row, players: Iterable[Player], coaches: Iterable[Coach], teams: Names, names: tuple[Names, ...],
         findings: Findings) -> tuple[str, ...]:  # fmt: skip
    """Ids of everybody an absence names: players, coaches, teams, families, `all`."""
    people: list[Player | Coach] = [*players, *coaches]
    families: dict[str, list[str]] = {}
    for person in people:
        if person.family:
            families.setdefault(fold(person.family), []).append(person.id)
    found: list[str] = []
    unknown: list[str] = []
    for name in row.get("who", ()):
        one = next((known for kind in names if (known := kind.find(name)) is not None), None)
        team = teams.find(name)
        if one is not None:
            found.append(one)
        elif team is not None:
            found.extend(player.id for player in players if player.team == team)
        elif fold(name) == "all":
            found.extend(person.id for person in people)
        elif fold(name) in families:
            found.extend(families[fold(name)])
        else:
            unknown.append(name)
    row.values["who"] = tuple(unknown)
    refer_all(row, "who", findings, *names, teams)
    return tuple(dict.fromkeys(found))


def read_absences(table: Table, week: dt.date, players: tuple[Player, ...], coaches: tuple[Coach, ...],
                  children: Names, adults: Names, teams: Names, findings: Findings) -> tuple[Absence, ...]:  # fmt: skip
    """Absences that touch the week, with everybody named by id."""
    found: list[Absence] = []
    for row in table.rows:
        occurs = occurs_of(row, findings)
        if occurs is None or not in_week(occurs, week):
            continue
        who = _who(row, players, coaches, teams, (children, adults), findings)
        span = Span(row.get("from", 0), row.get("to", DAY_MINUTES))
        if span.start >= span.end:
            findings.add(row, "to", f"To is not after From ({span}), write a later time")
            continue
        if who:
            found.append(Absence(who=who, occurs=occurs, span=span, why=row.get("why", "")))
    return tuple(found)


def read_elsewhere(table: Table, children: Names, rpes: range,
                   findings: Findings) -> dict[str, tuple[Elsewhere, ...]]:  # fmt: skip
    """Sport elsewhere near the week, and apart from it the free play that nobody organises, as fields of the club."""
    found: list[Elsewhere] = []
    free: list[Elsewhere] = []
    for row in table.rows:
        player = refer(row, "player", findings, children)
        check_rpe(row, rpes, findings)
        if player and {"date", "minutes"} <= set(row.values):
            kind = found if row.get("organised", True) else free
            kind.append(
                Elsewhere(player=player, date=row.get("date"), minutes=row.get("minutes"), rpe=row.get("rpe"),
                          what=row.get("what", ""))
            )  # fmt: skip
    return {"elsewhere": tuple(found), "free_play": tuple(free)}


def read_carried(table: Table, children: Names, findings: Findings) -> tuple[Carried, ...]:
    """What is due, one row a child."""
    found: dict[str, Carried] = {}
    for row in table.rows:
        player = refer(row, "player", findings, children)
        if player in found:
            findings.add(row, "player", "this child has a row above already, keep one")
        elif player:
            due = {role: row.get(f"{role}_due", 0) for role in ("attack", "defend", "keep", "rest")}
            found[player] = Carried(player=player, **due)
    return tuple(found.values())


def read_returns(table: Table, children: Names, findings: Findings) -> tuple[Return, ...]:
    """Children coming back after a head injury."""
    found: list[Return] = []
    for row in table.rows:
        player = refer(row, "player", findings, children)
        injured, ended = row.get("injured"), row.get("symptoms_ended")
        if injured is not None and ended is not None and ended < injured:
            findings.add(row, "symptoms_ended", "Symptoms ended lies before Injured, write a later date")
        elif player and injured is not None:
            found.append(
                Return(player=player, injured=injured, symptoms_ended=ended, cleared=row.get("cleared") is True)
            )
    return tuple(found)
