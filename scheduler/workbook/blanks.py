"""What stands in for blank sheets: packaged ages, practices and plans, one site, two sessions a week, each with a note.

Everything is filled in as rows, so that it is read, checked and counted as blank or filled like rows of the club's own.
"""

from __future__ import annotations

from scheduler.club.people import AgeRow, Player, Team
from scheduler.club.programme import KitNeed
from scheduler.defaults import PACKAGED, PRACTICES, packaged_minutes, plan_for
from scheduler.workbook.columns import Sheet, snake
from scheduler.workbook.names import Names, fold
from scheduler.workbook.rows import Findings, Row, Table, parse
from scheduler.workbook.sheets import SHEETS


def packaged_row(sheet: Sheet, number: int, cells: dict[str, object]) -> Row:
    """A row that did not stand in the club's file."""
    raw = {snake(heading): value for heading, value in cells.items() if value is not None}
    return Row(sheet, number, raw, {"": f"packaged row {number}"}, packaged=True)


def _fill(tables: dict[str, Table], name: str, rows: list[dict[str, object]], findings: Findings) -> None:
    table = tables[name]
    for cells in rows:
        row = packaged_row(table.sheet, len(table.rows) + 1, cells)
        table.headings.update(row.raw)
        parse(row, findings)
        table.rows.append(row)


def fill_sites(tables: dict[str, Table], club: str, findings: Findings) -> None:
    """Sites from the Pitches sheet where there is no Sites sheet; one site named after the club where that is blank."""
    if tables["Sites"].rows:
        return
    names: dict[str, str] = {}
    for row in tables["Pitches"].rows:
        name = row.get("site") or club
        names.setdefault(fold(name), name)
    _fill(tables, "Sites", [{"Site": name} for name in names.values()], findings)
    if len(names) < 2:
        return
    for row in tables["Pitches"].rows:
        row.values.setdefault("site", club)


def fill_packaged(tables: dict[str, Table], scale: str, findings: Findings) -> None:
    """Packaged rows for blank Ages, Plans and Practices, and for packaged plans or practices that are named."""
    if not tables["Ages"].rows:
        _fill(tables, "Ages", list(PACKAGED["Ages"]), findings)
        findings.note("Ages is blank: the packaged age rows are used, planning defaults with their sources.")
    plans = {row.get("plan") for row in tables["Plans"].rows}
    asked = {row.get("plan") for row in tables["Sessions"].rows} - plans
    every = not plans
    wanted = [row for row in PACKAGED["Plans"] if every or row["Plan"] in asked]
    _fill(tables, "Plans", wanted, findings)
    if every:
        findings.note("Plans is blank: the packaged session plans are used, chosen by age.")
    own = {fold(row.get("practice", "")) for row in tables["Practices"].rows}
    named = {fold(row.get("practice", "")) for row in tables["Plans"].rows}
    missing = [dict(row) for row in PRACTICES if fold(str(row["Practice"])) in named - own]
    if missing and scale != "0-10":
        for row in missing:
            row.pop("RPE", None)
        findings.note("RPE is blank in the packaged practices: theirs are on the 0-10 scale and are not converted.")
    _fill(tables, "Practices", missing, findings)
    if missing and not own:
        findings.note("Practices is blank: the packaged practices are used.")


def fit_to_kit(tables: dict[str, Table], items: list[str], findings: Findings) -> None:
    """Take out of packaged rows what the club's Kit sheet does not have, with a note; nothing is counted by guess."""
    if not items:
        return
    has_ball = any(fold(item).startswith("ball") for item in items)
    for row in tables["Ages"].rows:
        if row.packaged and ("ball" in items or not has_ball):
            row.values.pop("ball", None)
    dropped: dict[str, None] = {}
    for row in tables["Practices"].rows:
        for key in ("kit_per_area", "kit_per_player") if row.packaged else ():
            needs: tuple[KitNeed, ...] = row.get(key, ())
            kept = tuple(need for need in needs if need.item in items or (need.item == "ball" and has_ball))
            dropped.update((need.item, None) for need in needs if need not in kept)
            if needs:
                row.values[key] = kept
    for item in dropped:
        findings.note(f"Kit has no '{item}', which the packaged practices use: it is not counted.")


def _willing(team: Team, players: tuple[Player, ...]) -> int:
    asked = ("regular", "willing") if team.keepers != "everyone" else ("regular", "willing", "")
    return sum(1 for player in players if player.team == team.id and player.keeper in asked)


def _longest(ids: list[str], players: tuple[Player, ...], years: dict[str, int], ages: tuple[AgeRow, ...]) -> int:
    """The longest session that the age rows allow any child of these teams."""
    found = [
        row.session_minutes
        for player in players
        if player.team in ids and player.id in years
        for row in ages
        if row.from_age <= years[player.id] <= row.to_age
    ]
    known = [minutes for minutes in found if minutes is not None]
    return max(known) if known and len(known) == len(found) else 24 * 60


def _plan_by_age(group: int, keepers: int, longest: int) -> str:
    """The packaged plan of an age group, or of a younger one where that is too long for every child."""
    plans = [plan_for(younger, keepers) for younger in range(group, 3, -1)]
    return next((plan for plan in plans if packaged_minutes(plan) <= longest), plans[-1])


def fill_sessions(tables: dict[str, Table], teams: tuple[Team, ...], players: tuple[Player, ...],
                  years: dict[str, int], ages: tuple[AgeRow, ...], findings: Findings) -> None:  # fmt: skip
    """Two sessions a team where the sheet is blank (fewer where the age row says so), and blank plans by age."""
    table = tables["Sessions"]
    if not table.rows:
        rows: list[dict[str, object]] = []
        for team in teams:
            age = team.age_group - 2
            cap = next((r.sessions_a_week for r in ages if r.from_age <= age <= r.to_age), None)
            for number in range(1, 1 + min(2, 2 if cap is None else cap)):
                rows.append({"Session": f"{team.id} {number}", "Teams": team.id})
        _fill(tables, "Sessions", rows, findings)
        findings.note("Sessions is blank: each team trains twice a week on one zone, plan and minutes by age.")
    names = Names("team", "Teams")
    for team in teams:
        names.add(team.id)
    by_id = {team.id: team for team in teams}
    packaged = {str(row["Plan"]) for row in PACKAGED["Plans"]}
    known = {row.get("plan") for row in tables["Plans"].rows}
    chosen: dict[str, list[str]] = {}
    for row in table.rows:
        ids = [found for name in row.get("teams", ()) if (found := names.find(name))]
        if "plan" in row.values or "plan" in row.bad or not ids:
            continue
        youngest = min(ids, key=lambda key: by_id[key].age_group)
        keepers = sum(_willing(by_id[key], players) for key in ids)
        plan = _plan_by_age(by_id[youngest].age_group, keepers, _longest(ids, players, years, ages))
        if plan in packaged & known:
            row.values["plan"] = plan
            chosen.setdefault(plan, []).append(str(row.get("session")))
        else:
            findings.add(row, "plan", f"Plan is empty, write one of the Plans, such as {sorted(known)[0]}")
    for plan, sessions in chosen.items():
        findings.note(f"Plan '{plan}' is chosen by age and by who keeps goal for: {', '.join(sessions)}.")


def blank_of(tables: dict[str, Table]) -> frozenset[str]:
    """Sheets and columns that are wholly empty: `Kit`, `Coaches.First aid until`."""
    found: set[str] = set()
    for sheet in SHEETS:
        rows = tables[sheet.name].rows
        if not rows:
            found.add(sheet.name)
        else:
            found.update(
                f"{sheet.name}.{column.heading}"
                for column in sheet.columns
                if not any(column.key in row.values for row in rows)
            )
    return frozenset(found)
