"""The audit of a whole plan: its structure, then every rule, without the solver. Part of the product itself."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from scheduler.club.club import Club
from scheduler.contract import Rule, Severity, Violation, is_in_parts
from scheduler.plan.plan import WeekPlan
from scheduler.structure import audit_structure


@dataclass(frozen=True)
class Audit:
    """What an audit found; `not_checked` says which rules are off for this club and why."""

    findings: tuple[Violation, ...]
    not_checked: tuple[str, ...]

    def of(self, severity: Severity) -> tuple[Violation, ...]:
        """The findings of one severity, in order."""
        return tuple(found for found in self.findings if found.severity is severity)

    @property
    def breaches(self) -> tuple[Violation, ...]:
        """Rules broken."""
        return self.of(Severity.BREACH)

    def paid(self) -> dict[str, Fraction]:
        """What each wish costs the plan, added up from its audit."""
        total: dict[str, Fraction] = {}
        for found in self.findings:
            if found.severity is Severity.NOTE:
                total[found.rule] = total.get(found.rule, Fraction(0)) + Fraction(found.by)
        return total


def rules_off(club: Club, rules: Sequence[Rule]) -> tuple[str, ...]:
    """`not checked: ...` for every firm rule or part of one whose sheet or column is empty; a wish checks nothing."""
    rows: list[str] = []
    for rule in (rule for rule in rules if rule.firm):
        why = rule.off(club)
        parts = (why,) if why is not None else rule.off_in_part(club) if is_in_parts(rule) else ()
        rows += [f"{rule.name}: {part}" for part in parts]
    return tuple(rows)


def few_of_each(findings: Iterable[Violation], most: int) -> list[tuple[Violation, int]]:
    """The gravest first and at most so many of one rule and severity; beside the last of these, how many are left out.

    One thing gone wrong can break a rule once a child and rep: nobody reads a thousand lines of it.
    """
    rank = {Severity.BREACH: 0, Severity.CAUTION: 1, Severity.NOTE: 2}
    alike: dict[tuple[Severity, str], list[Violation]] = {}
    for found in sorted(findings, key=lambda found: rank[found.severity]):
        alike.setdefault((found.severity, found.rule), []).append(found)
    return [
        (found, max(0, len(same) - most) if place == min(most, len(same)) else 0)
        for same in alike.values()
        for place, found in enumerate(same[:most], 1)
    ]


def audit(club: Club, plan: WeekPlan, rules: Sequence[Rule], *, with_roles: bool = True) -> Audit:
    """Judge a plan by its structure and by every rule that is on.

    Where the structure names a player, coach or pitch the club does not have, the rules could not speak; then the
    structure's findings stand alone.
    """
    structure = tuple(audit_structure(club, plan, with_roles=with_roles))
    findings = list(structure)
    if not _names_unknown(club, plan):
        for rule in rules:
            if rule.off(club) is None:
                findings.extend(rule.audit(club, plan))
    return Audit(tuple(findings), rules_off(club, rules))


def _names_unknown(club: Club, plan: WeekPlan) -> bool:
    for planned in plan.sessions:
        places = (p.player for b in planned.blocks for s in b.stations for r in s.reps for p in r.places)
        players = (*planned.players, *(down.player for down in planned.stood_down), *places)
        adults = (*planned.coaches, *(c for b in planned.blocks for s in b.stations for c in s.coaches))
        practices = (s.practice for b in planned.blocks for s in b.stations)
        known = (
            club.has("session", planned.session)
            and club.has("pitch", planned.pitch)
            and all(club.has("player", player) for player in players)
            and all(club.has("coach", coach) for coach in adults)
            and all(club.has("practice", practice) for practice in practices)
        )
        if not known:
            return True
    return False
