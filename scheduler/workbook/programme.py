"""Rows of Practices and Plans made into the club's programme, with what a block and a practice must have."""

from __future__ import annotations

from collections.abc import Iterable

from scheduler.club.programme import Contact, Kind, KitNeed, PlanRow, Practice
from scheduler.plan.timeline import reps_that_fit
from scheduler.workbook.diary import check_rpe
from scheduler.workbook.names import Names, fold, refer
from scheduler.workbook.rows import Findings, Row, Table, near

_CONTACT = {"yes": "some"}


def _check_practice(row: Row, findings: Findings) -> None:
    """Faults for what a practice of this kind lacks or cannot have."""
    kind = row.get("kind")
    if kind in ("game", "part"):
        wanted = ("attackers", "rep") if kind == "game" else ("attackers", "defenders", "rep")
        for key in wanted:
            if key not in row.values and key not in row.bad:
                heading = row.sheet.by_key[key].heading
                example = "4" if key == "rep" else "4 (3 to 5)"
                findings.add(row, key, f"{heading} is empty and a {kind} needs it, fill it in, such as {example}")
    if kind == "game" and "defenders" in row.values:
        findings.add(row, "defenders", "a game has no defenders, leave Defenders blank (Attackers is each side)")
    least, most = row.get("m2_a_player_least"), row.get("m2_a_player_most")
    if least is not None and most is not None and most < least:
        findings.add(row, "m2_a_player_most", "the most is below the least, write a larger number")


def read_practices(table: Table, rpes: range, findings: Findings) -> tuple[Practice, ...]:
    """Every practice of the library."""
    found: list[Practice] = []
    for row in table.rows:
        _check_practice(row, findings)
        check_rpe(row, rpes, findings)
        kind = row.get("kind")
        if not row.get("practice") or kind is None or "id" in row.bad:
            continue
        contact = row.get("contact", "none")
        together = kind == "together"
        found.append(
            Practice(
                id=row.get("practice"), kind=Kind(kind), areas=1 if together else row.get("areas", 1),
                attackers=None if together else row.get("attackers"),
                defenders=row.get("defenders") if kind == "part" else None,
                keepers=None if together else row.get("keepers"), rep=row.get("rep"),
                changeover=row.get("changeover", 0), zones_per_area=row.get("zones_per_area"),
                kit_per_area=row.get("kit_per_area", ()), kit_per_player=row.get("kit_per_player", ()),
                contact=Contact(_CONTACT.get(contact, contact)), headers_a_rep=row.get("headers_a_rep", 0),
                rpe=row.get("rpe"), m2_least=row.get("m2_a_player_least"), m2_most=row.get("m2_a_player_most"),
            )
        )  # fmt: skip
    return tuple(found)


def _check_reps(row: Row, practice: Practice, findings: Findings) -> None:
    if practice.kind is Kind.TOGETHER or practice.rep is None:
        return
    minutes, reps = row.get("minutes"), row.get("reps")
    fit = reps_that_fit(minutes, practice.rep, practice.changeover)
    if fit < 1:
        text = f"no rep of {practice.id} fits into {minutes} minutes, write at least {practice.rep}"
        findings.add(row, "minutes", text)
    elif reps is not None and reps > fit:
        text = f"{reps} reps of {practice.rep} + {practice.changeover} minutes do not fit into {minutes}"
        findings.add(row, "reps", f"{text}, write at most {fit}")


def _check_blocks(rows: list[Row], findings: Findings) -> None:
    """Side by side, every block has one station or as many as there are groups, and all its stations end together."""
    blocks: dict[str, list[Row]] = {}
    for row in rows:
        blocks.setdefault(row.get("block", ""), []).append(row)
    groups = max(len(block) for block in blocks.values())
    for block in blocks.values():
        if len(block) not in (1, groups):
            text = f"block {block[0].get('block')} has {len(block)} stations and another block of this plan {groups}"
            findings.add(block[-1], "block", f"{text}, every block has 1 or {groups}")
        for row in block[1:]:
            if row.get("minutes") != block[0].get("minutes"):
                text = f"stations side by side last equally long, write {block[0].get('minutes')} as in"
                findings.add(row, "minutes", f"{text} {block[0].at('minutes')}")


def read_plans(table: Table, practices: tuple[Practice, ...], names: Names, plans: Names,
               findings: Findings) -> tuple[PlanRow, ...]:  # fmt: skip
    """Every row of every plan, in order."""
    by_id = {practice.id: practice for practice in practices}
    found: list[PlanRow] = []
    by_plan: dict[str, list[Row]] = {}
    for row in table.rows:
        practice = refer(row, "practice", findings, names)
        if practice is None or not {"plan", "block", "minutes"} <= set(row.values):
            continue
        if practice in by_id:
            _check_reps(row, by_id[practice], findings)
        plan = plans.find(row.get("plan")) or row.get("plan")
        by_plan.setdefault(plan, []).append(row)
        found.append(
            PlanRow(
                plan=plan,
                block=row.get("block"),
                practice=practice,
                minutes=row.get("minutes"),
                reps=row.get("reps"),
                coaches_stay=row.get("coaches", "stay") == "stay",
            )
        )
    for rows in by_plan.values():
        _check_blocks(rows, findings)
    return tuple(found)


def check_kit(tables: dict[str, Table], items: list[str], years: Iterable[int], used: Iterable[str],
              findings: Findings) -> None:  # fmt: skip
    """Faults for kit that the Kit sheet lacks and that age rows of these years or these practices name."""
    stand_ins = {"ball": "ball" in items, "goal": "goal" in items}
    ages = set(years)
    for row in tables["Ages"].rows:
        held = ages & set(range(row.get("from_age", 0), row.get("to_age", -1) + 1))
        for key in stand_ins:
            item = row.get(key)
            stand_ins[key] = stand_ins[key] or bool(item)
            if item and held and item not in items:
                text = f"there is no '{item}' in Kit{near(item, items) or ', add a row for it'}"
                if row.packaged:
                    findings.add_sheet(tables["Kit"].sheet, "Kit", f"{text} (ages {row.get('phase')} play with it)")
                else:
                    findings.add(row, key, text)
    names = {fold(name) for name in used}
    for row in tables["Practices"].rows:
        for key in ("kit_per_area", "kit_per_player") if fold(row.get("practice", "")) in names else ():
            needs: tuple[KitNeed, ...] = row.get(key, ())
            for need in needs:
                if need.item not in items and not stand_ins.get(need.item, False):
                    text = f"there is no '{need.item}' in Kit{near(need.item, items) or ', add a row for it'}"
                    findings.add(row, key, text)
