"""What the command line prints: plain sentences, and the same content as one JSON document."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from scheduler.audit import Audit, few_of_each
from scheduler.club.club import Club
from scheduler.club.when import day_words, hhmm
from scheduler.contract import Rule, Severity, Violation
from scheduler.errors import Fault
from scheduler.outcome import Booked, Conflict, OutOfTime
from scheduler.plan.plan import PlannedSession, Proof, WeekPlan

MOST_ALIKE = 12


def zones_words(club: Club, planned: PlannedSession) -> str:
    """A pitch and its zones as people say it: `North, zones 1 and 2`, or the pitch alone where it is all of it."""
    if club.has("pitch", planned.pitch) and len(planned.zones) == club.pitch(planned.pitch).zones:
        return planned.pitch
    if len(planned.zones) == 1:
        return f"{planned.pitch}, zone {planned.zones[0]}"
    first, last = planned.zones[0], planned.zones[-1]
    return f"{planned.pitch}, zones {first} {'and' if len(planned.zones) == 2 else 'to'} {last}"


def week_lines(club: Club, plan: WeekPlan) -> list[str]:
    """The week in one line a session."""
    rows = [
        (
            day_words(planned.date),
            f"{hhmm(planned.start)}-{hhmm(planned.end)}",
            planned.session,
            zones_words(club, planned),
            ", ".join(club.called(coach) for coach in planned.coaches),
            f"{len(planned.players)} players",
        )
        for planned in plan.sessions
    ]
    widths = [max((len(row[i]) for row in rows), default=0) for i in range(4)]
    lines = [
        "  " + "  ".join([*(cell.ljust(width) for cell, width in zip(row, widths, strict=False)), row[5], row[4]])
        for row in rows
    ]
    lines += [f"  {row.session} is not held: {row.why}" for row in plan.cancelled]
    return lines


def finding_lines(findings: Iterable[Violation]) -> list[str]:
    """Breaches first, then cautions, then notes; each as a sentence that names its rule, a dozen of each at most."""
    lines: list[str] = []
    for found, more in few_of_each(findings, MOST_ALIKE):
        lines.append(f"  {found.severity.value}: {found.rule}: {found.text}")
        if more:
            lines.append(f"  {found.severity.value}: {found.rule}: and {more} more like these (--json prints all)")
    return lines


def _furthest(proofs: Sequence[Proof], one: Proof) -> Proof:
    """Of the figures of one measure the largest, the first of several: the club's worst, not every ring's."""
    return max((proof for proof in proofs if proof.measure == one.measure), key=lambda proof: proof.value)


def planned_lines(club: Club, outcome: Booked, folder: str) -> list[str]:
    """What `plan` says when it is done."""
    plan = outcome.plan
    count = len(plan.sessions)
    lines = [f"{club.name}, week of {plan.week}: {count} session{'s' * (count != 1)} planned", *week_lines(club, plan)]
    if outcome.stopped:
        lines.append("Stopped early; this is the best lawful plan found so far.")
    met = [proof.measure for proof in plan.proofs if proof.pool == "booking" and proof.proved and not proof.value]
    if met:
        lines.append(f"  wishes met in full: {', '.join(met)}")
    told = [proof for proof in plan.proofs if proof.text and not (proof.pool == "booking" and proof.measure in met)]
    shown = [proof for proof in told if proof is _furthest(told, proof)]
    lines += [f"  {proof.text}" for proof in shown]
    if len(told) > len(shown):
        lines.append(f"  ({len(told) - len(shown)} more figures on the page Fairness of timetable.xlsx)")
    lines += finding_lines(found for found in outcome.findings if found.severity is not Severity.NOTE)
    lines += [f"  wish not met: {row.text}" for row in plan.unmet[:10]]
    if len(plan.unmet) > 10:
        lines.append(f"  ({len(plan.unmet) - 10} more wishes not met, all in plan.json)")
    lines += [f"  not checked: {text}" for text in plan.not_checked]
    lines.append(f"Written to {folder}")
    return lines


def audit_lines(judged: Audit) -> list[str]:
    """What `audit` says."""
    breaches, cautions = judged.breaches, judged.of(Severity.CAUTION)
    if breaches:
        head = f"{len(breaches)} breach{'es' * (len(breaches) != 1)} found"
    else:
        head = "No breach found: the plan is inside every limit entered"
    head += f"; {len(cautions)} caution{'s' * (len(cautions) != 1)}" if cautions else ""
    return [head, *finding_lines(judged.findings), *(f"  not checked: {text}" for text in judged.not_checked)]


def audit_json(judged: Audit) -> dict[str, Any]:
    """The same, for programs."""
    return {"findings": findings_json(judged.findings), "not_checked": list(judged.not_checked)}


def conflict_lines(conflict: Conflict) -> list[str]:
    """Why there is no lawful plan, one list of demands a conflict."""
    where = {
        "arithmetic": "by counting alone",
        "booking": "while booking pitches, times and adults",
        "rotation": "while sharing out roles",
    }
    lines = [f"No lawful plan for this week (found {where.get(conflict.stage, conflict.stage)})."]
    for clash in conflict.clashes:
        alone = len(clash.demands) == 1
        lines.append(clash.text or ("This cannot be had:" if alone else "These cannot all be had together:"))
        lines += [f"  - {demand.text}" for demand in clash.demands]
        if not clash.minimal:
            lines.append("  (this list may be longer than needed)")
        lines += [f"  a way out: {way}" for way in clash.ways_out]
    return lines


def out_of_time_lines(outcome: OutOfTime) -> list[str]:
    """What is said when time ran out first."""
    spent = f"Out of time after {outcome.seconds:g} seconds of solving ({outcome.stage})"
    return [f"{spent}, with no lawful plan yet. Try --seconds with more."]


def rules_lines(rules: Sequence[Rule]) -> list[str]:
    """Every rule in words, with its source."""
    lines: list[str] = []
    for rule in rules:
        lines += [f"{rule.name} ({'firm' if rule.firm else 'wish'})", f"  {rule.words}", f"  Source: {rule.source}"]
    return lines


def faults_json(faults: Iterable[Fault]) -> list[dict[str, str]]:
    """Faults as a list of `where` and `text`."""
    return [{"where": fault.where, "text": fault.text} for fault in faults]


def findings_json(findings: Iterable[Violation]) -> list[dict[str, Any]]:
    """Findings without their confidential text."""
    return [
        {"rule": f.rule, "severity": f.severity.value, "about": list(f.about), "by": float(f.by), "unit": f.unit,
         "text": f.text}
        for f in findings
    ]  # fmt: skip


def conflict_json(conflict: Conflict) -> dict[str, Any]:
    """A conflict as rules, subjects and sentences."""
    return {
        "stage": conflict.stage,
        "clashes": [
            {"text": clash.text, "minimal": clash.minimal, "ways_out": list(clash.ways_out),
             "demands": [{"rule": d.rule, "subject": d.subject, "text": d.text} for d in clash.demands]}
            for clash in conflict.clashes
        ],
    }  # fmt: skip


def rules_json(rules: Sequence[Rule]) -> list[dict[str, Any]]:
    """Rules as name, words, firmness and source."""
    return [
        {"name": r.name, "firm": r.firm, "words": r.words, "source": str(r.source), "basis": r.source.basis.value}
        for r in rules
    ]
