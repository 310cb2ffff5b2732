"""Rows of Ages, Teams, Players and Coaches made into the club's people."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable

from scheduler.club.people import AfterMatch, AgeRow, Coach, KeeperPolicy, KeeperStays, KeeperWish, Limits, Player, Team
from scheduler.defaults import policy_for
from scheduler.workbook.names import Names, called_names, fold, refer, refer_all
from scheduler.workbook.rows import Findings, Row, Table
from scheduler.workbook.values import LAST_YEAR

YOUNGEST, OLDEST = 3, 21
_EVEN_UP = {"newer": -1, "settled": 0, "ahead": 1}


def read_ages(table: Table, findings: Findings) -> tuple[AgeRow, ...]:
    """The age rows, none of them out of order or over another."""
    found: list[tuple[Row, AgeRow]] = []
    for row in table.rows:
        if not {"phase", "from_age", "to_age", "players_per_adult"} <= set(row.values):
            continue
        if row.get("from_age") > row.get("to_age"):
            findings.add(row, "to_age", "To age is below From age, write the higher age")
            continue
        for other, known in found:
            if known.from_age <= row.get("to_age") and row.get("from_age") <= known.to_age:
                text = f"ages {row.get('from_age')} to {row.get('to_age')} are partly in {other.at('from_age')} too"
                findings.add(row, "from_age", f"{text}, each age belongs in one row")
        optional = ("session_minutes", "sessions_a_week", "week_minutes", "rest_days", "days_in_a_row", "finish_by",
                    "week_load", "headers_a_week", "ball", "goal")  # fmt: skip
        age = AgeRow(
            phase=row.get("phase"), from_age=row.get("from_age"), to_age=row.get("to_age"),
            players_per_adult=row.get("players_per_adult"),
            after_match=AfterMatch(row.get("after_a_match", "rest")), source=row.get("source", ""),
            **{key: row.get(key) for key in optional},
        )  # fmt: skip
        found.append((row, age))
    return tuple(sorted((age for _, age in found), key=lambda age: age.from_age))


def read_teams(table: Table, coaches: Names, helpers: frozenset[str], findings: Findings) -> tuple[Team, ...]:
    """Every team; who keeps goal is everyone to U10 and volunteers above where the club does not say."""
    found: list[Team] = []
    for row in table.rows:
        led_by = refer_all(row, "coaches", findings, coaches)
        if led_by and led_by[0] in helpers:
            text = f"Coaches: {led_by[0]} leads here and is a helper only, put another first"
            findings.add(row, "coaches", text)
        if not row.get("team") or "id" in row.bad or "age_group" not in row.values:
            continue
        group = row.get("age_group")
        found.append(
            Team(
                id=row.get("team"),
                age_group=group,
                coaches=led_by,
                keepers=KeeperPolicy(row.get("keepers") or policy_for(group)),
                keeper_stays=KeeperStays(row.get("keeper_stays", "block")),
            )
        )
    if any("keepers" not in row.values and "keepers" not in row.bad for row in table.rows):
        findings.note("Teams: Keepers is blank: everyone keeps goal in turn to U10, volunteers above.")
    return tuple(found)


def read_coaches(table: Table, children: Names, findings: Findings) -> tuple[Coach, ...]:
    """Every adult."""
    found: list[Coach] = []
    for row in table.rows:
        key = row.get("coach")
        if not key or "id" in row.bad:
            continue
        if fold(key) in [fold(child) for child in children.ids]:
            findings.add(row, "coach", f"'{key}' is a player's id too, give one of the two another")
        found.append(
            Coach(
                id=key, name=row.get("name", key), keeper_coach=row.get("keeper_coach") is True,
                first_aid_until=row.get("first_aid_until"),
                checked_until=row.get("checked_until"), available=row.get("available"), family=row.get("family", ""),
                helper_only=row.get("helper_only") is True,
            )
        )  # fmt: skip
    return tuple(found)


def _card_names(table: Table, findings: Findings) -> dict[int, str | None]:
    """Card names by row number; a name asked for twice is a fault."""
    rows = [row for row in table.rows if row.get("name")]
    asked: dict[str, Row] = {}
    for row in rows:
        name = row.get("called", "")
        if name and fold(name) in asked:
            at = asked[fold(name)].at("called")
            findings.add(row, "called", f"Called '{name}' stands in {at} too, give each child a name of its own")
        elif name:
            asked[fold(name)] = row
    names = called_names((str(row.number), row.get("name"), row.get("called", "")) for row in rows)
    for row in rows:
        if names[str(row.number)] is None:
            text = "Called is empty and another child has the same names, fill in what cards should say"
            findings.add(row, "called" if "called" in row.places else "name", text)
    return {row.number: names[str(row.number)] for row in rows}


def _unlikely(born: dt.date, week: dt.date) -> str:
    """What is wrong with a birth date as that of a child who trains, or nothing."""
    if born > week:
        return "Born lies after the week that is planned, write the birth date"
    years = week.year - born.year
    if week.year < LAST_YEAR - 1 and not YOUNGEST <= years <= OLDEST:
        return f"Born does not give the age of a child ({YOUNGEST} to {OLDEST}), write the birth date"
    return ""


def read_players(table: Table, week: dt.date, teams: Names, children: Names, coaches: Names,
                 findings: Findings) -> tuple[Player, ...]:  # fmt: skip
    """Every child with a known team."""
    cards = _card_names(table, findings)
    found: list[Player] = []
    for row in table.rows:
        key = children.find(row.get("player") or row.get("name") or "")
        team = refer(row, "team", findings, teams)
        also = refer_all(row, "also_plays_for", findings, teams)
        apart = refer_all(row, "apart_from", findings, children, coaches)
        born = row.get("born")
        if born is not None and (text := _unlikely(born, week)):
            findings.add(row, "born", text)
            born = None
        if key is None or team is None or "id" in row.bad or not row.get("name"):
            continue
        if key in apart:
            findings.add(row, "apart_from", "Apart from: names the child of this very row, name the other one")
        found.append(
            Player(
                id=key, name=row.get("name"), called=cards.get(row.number) or row.get("name"), born=born, team=team,
                also_plays_for=tuple(other for other in also if other != team),
                keeper=KeeperWish(row.get("keeper", "")), even_up=_EVEN_UP[row.get("even_up", "settled")],
                family=row.get("family", ""), apart_from=tuple(other for other in apart if other != key),
                limits=row.get("limits", Limits()), months_off=row.get("months_off"),
                second_team_agreed=row.get("second_team_agreed") is True,
            )
        )  # fmt: skip
    return tuple(found)


def years_of(players: tuple[Player, ...], teams: tuple[Team, ...], week: dt.date) -> dict[str, int]:
    """Each child's age for limits: whole years on the Monday, or the youngest of the age group where not known."""
    group_of = {team.id: team.age_group for team in teams}
    found: dict[str, int] = {}
    for player in players:
        age = player.age_on(week)
        if age is None and player.team in group_of:
            age = group_of[player.team] - 2
        if age is not None:
            found[player.id] = age
    return found


def check_ages(years: Iterable[int], ages: tuple[AgeRow, ...], table: Table, findings: Findings) -> None:
    """A fault for every age of a child without a row."""
    missing = Counter(age for age in years if not any(row.from_age <= age <= row.to_age for row in ages))
    for age, count in sorted(missing.items()):
        who = "one child is" if count == 1 else f"{count} children are"
        text = f"no row holds age {age} and {who} of that age, add a row or mend Born"
        findings.add_sheet(table.sheet, table.sheet.name, text)
