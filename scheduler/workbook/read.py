"""A club file, `.xlsx` or `.json`, made into a `Club`; every fault at once, nothing guessed that a rule needs."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from zoneinfo import ZoneInfo

from scheduler.club.club import Club
from scheduler.club.people import Coach, Player, Team
from scheduler.club.when import monday_of
from scheduler.errors import Fault, InputFaults
from scheduler.welfare.rulesets import unknown_names
from scheduler.workbook import blanks, diary, people, places, programme, wanted
from scheduler.workbook.names import Names, names_of
from scheduler.workbook.rows import Findings, Row, Table, check_headings, check_partly_filled, near, parse
from scheduler.workbook.sheets import CLUB, PITCHES, SHEETS

_PLANNED_TIMEZONE = "Europe/London"
_NO_WEEK = monday_of(dt.date(2199, 12, 31))  # stands in while the week is unknown; nothing that needs it is judged


def _tables(path: Path, findings: Findings) -> dict[str, Table]:
    if path.is_dir():
        raise InputFaults((Fault(path.name, "this is a folder, name the club file in it"),))
    if not path.is_file():
        raise InputFaults((Fault(path.name, "there is no such file; make one with evenweek new, or check the name"),))
    try:
        with path.open("rb") as file:
            start = file.read(64)
        if path.suffix.casefold() == ".json" or start.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] in (b"{", b"["):
            from scheduler.workbook.source_json import read_json

            found = read_json(path, findings)
        else:
            from scheduler.workbook.source_xlsx import read_xlsx

            found = read_xlsx(path, findings)
    except OSError as error:
        text = (
            f"the file cannot be opened ({error.strerror or 'no access'}); close it elsewhere or check who may read it"
        )
        raise InputFaults((Fault(path.name, text),)) from None
    return {sheet.name: found.get(sheet.name, Table(sheet)) for sheet in SHEETS}


def _week(row: Row, week: dt.date | None, findings: Findings) -> dt.date:
    if week is not None:
        row.raw["week"] = monday_of(week)
        row.bad.discard("week")
    parse(row, findings)
    found: dt.date | None = row.get("week")
    if found is None:
        return _NO_WEEK
    if found.weekday() != 0:
        findings.add(row, "week", f"Week: {found} is not a Monday, write {monday_of(found)}")
        return monday_of(found)
    return found


def _timezone(row: Row, findings: Findings) -> str | None:
    name = row.get("time_zone")
    if name is None:
        return None
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        from zoneinfo import available_timezones

        hint = near(name, sorted(available_timezones())) or ", write one such as Europe/Dublin"
        findings.add(row, "time_zone", f"Time zone: '{name}' is not known{hint}")
        return _PLANNED_TIMEZONE
    return str(name)


def _rule_set(row: Row, findings: Findings) -> str | None:
    """The field as written; a fault for every name in it that is no set known here."""
    text: str | None = row.get("rule_set")
    for unknown in unknown_names(text):
        findings.add(row, "rule_set", f"Rule set: {unknown}")
    return text


def _prepare(tables: dict[str, Table], week: dt.date, findings: Findings) -> None:
    """Leave out other weeks, read every cell, and name what is missing as a whole."""
    for sheet in SHEETS:
        table = tables[sheet.name]
        if sheet is CLUB:
            continue
        if sheet.required and not table.rows:
            musts = ", ".join(column.heading for column in sheet.columns if column.need == "must")
            findings.add_sheet(sheet, sheet.name, f"there are no rows, fill in at least {musts}")
        check_headings(table, findings)
        diary.drop_other_weeks(table, week)
        for row in table.rows:
            parse(row, findings)
        if sheet is PITCHES:
            places.join_rows(table)
        check_partly_filled(table, findings)


def _club_row(tables: dict[str, Table], findings: Findings) -> Row:
    table = tables["Club"]
    if not table.rows:
        row = Row(CLUB, 1, {}, {"": "A1"})
        table.rows.append(row)
    elif len(table.rows) > 1:
        findings.add_sheet(CLUB, "Club", "there is more than one club, keep one")
    return table.rows[0]


def _groups(tables: dict[str, Table], findings: Findings) -> dict[str, Names]:
    """The ids of every kind of thing, wholly read or not, so that one fault does not cause others."""
    kinds = (
        ("site", "Sites", "site", "site", False), ("pitch", "Pitches", "pitch", "pitch", True),
        ("team", "Teams", "team", "team", False), ("player", "Players", "player", "name", False),
        ("coach", "Coaches", "coach", "name", False), ("practice", "Practices", "practice", "practice", False),
        ("plan", "Plans", "plan", "plan", True), ("session", "Sessions", "session", "session", False),
    )  # fmt: skip
    return {
        what: names_of(tables[sheet], what, sheet, key, other, findings, repeated)
        for what, sheet, key, other, repeated in kinds
    }


def _persons(tables: dict[str, Table], names: dict[str, Names], week: dt.date,
             findings: Findings) -> tuple[tuple[Team, ...], tuple[Player, ...], tuple[Coach, ...]]:  # fmt: skip
    coaches = people.read_coaches(tables["Coaches"], names["player"], findings)
    helpers = frozenset(coach.id for coach in coaches if coach.helper_only)
    teams = people.read_teams(tables["Teams"], names["coach"], helpers, findings)
    players = people.read_players(tables["Players"], week, names["team"], names["player"], names["coach"], findings)
    return teams, players, coaches


def read_club(path: Path, week: dt.date | None = None) -> Club:
    """The club of a file for its week, or for the week that holds the date given.

    Raises `InputFaults` with every fault at once.
    """
    findings = Findings()
    tables = _tables(path, findings)
    row = _club_row(tables, findings)
    monday = _week(row, week, findings)
    _prepare(tables, monday, findings)
    club = _build(tables, row, monday, findings)
    if findings.faults:
        raise InputFaults(findings.faults)
    return club.model_copy(update={"notes": tuple(findings.notes)})


def _build(tables: dict[str, Table], row: Row, monday: dt.date, findings: Findings) -> Club:
    timezone = _timezone(row, findings)
    scale = row.get("rpe_scale", "0-10")
    rpes = range(11) if scale == "0-10" else range(6, 21)
    blanks.fill_sites(tables, row.get("name", "The club"), findings)
    blanks.fill_packaged(tables, scale, findings)
    names = _groups(tables, findings)
    found = _places(tables, names, timezone, findings)
    kit = places.read_kit(tables["Kit"], names["site"], findings)
    items = list(dict.fromkeys(item for row in tables["Kit"].rows if (item := row.get("item"))))
    blanks.fit_to_kit(tables, items, findings)
    ages = people.read_ages(tables["Ages"], findings)
    teams, players, coaches = _persons(tables, names, monday, findings)
    years = people.years_of(players, teams, monday)
    judged = monday != _NO_WEEK and len(ages) == len(tables["Ages"].rows)
    if judged:
        people.check_ages(years.values(), ages, tables["Ages"], findings)
    practices = programme.read_practices(tables["Practices"], rpes, findings)
    plans = programme.read_plans(tables["Plans"], practices, names["practice"], names["plan"], findings)
    blanks.fill_sessions(tables, teams, players, years, ages, findings)
    known = wanted.Known(found, names["team"], names["player"], names["plan"], plans)
    sessions = wanted.read_sessions(tables["Sessions"], known, monday, findings)
    if judged:
        wanted.check_lengths(tables["Sessions"], sessions, players, years, ages, findings)
    if tables["Kit"].rows:
        asked = {ask.plan for ask in sessions}
        programme.check_kit(tables, items, years.values(), (r.practice for r in plans if r.plan in asked), findings)
    if timezone is None:
        findings.note(f"Time zone is blank: calendar files take {_PLANNED_TIMEZONE}.")
    if "Players.Born" in blanks.blank_of(tables):
        findings.note("Born is blank: every child is taken to be as young as the team's age group allows.")
    if tables["Weather"].rows and "heat_category" not in row.values:
        findings.note("Heat category is blank: the WBGT bands of category 3, hot summers, hold; 1 and 2 are stricter.")
    return Club(
        name=row.get("name", "The club"), week=monday, timezone=timezone or _PLANNED_TIMEZONE,
        step=row.get("step", 15), gap=row.get("gap", 0), set_up=row.get("set_up", 0), pack_up=row.get("pack_up", 0),
        rpe_scale=scale, rule_set=_rule_set(row, findings), heat_category=row.get("heat_category", 3),
        wake=row.get("wake", 7 * 60), way_home=row.get("way_home", 30), wind_down=row.get("wind_down", 60),
        sites=found.sites, pitches=found.pitches,
        booked=places.read_booked(tables["Booked"], found, monday, findings), ages=ages, teams=teams,
        matches=diary.read_matches(tables["Matches"], found, names["team"], names["player"], rpes, findings),
        sessions=sessions, players=players, coaches=coaches, kit=kit, practices=practices, plans=plans,
        absences=diary.read_absences(tables["Absences"], monday, players, coaches, names["player"], names["coach"],
                                     names["team"], findings),
        **diary.read_elsewhere(tables["Elsewhere"], names["player"], rpes, findings),
        carried=diary.read_carried(tables["Carried"], names["player"], findings),
        returns=diary.read_returns(tables["Returns"], names["player"], findings),
        weather=places.read_weather(tables["Weather"], names["site"], monday, findings),
        blank=blanks.blank_of(tables),
    )  # fmt: skip


def _places(tables: dict[str, Table], names: dict[str, Names], timezone: str | None,
            findings: Findings) -> places.Places:  # fmt: skip
    sites = places.read_sites(tables["Sites"])
    pitches = places.read_pitches(tables["Pitches"], names["site"], names["pitch"], findings)
    found = places.Places(sites, pitches, names["site"], names["pitch"])
    places.check_light(tables["Pitches"], tables["Sites"], found, timezone, findings)
    return found
