"""What the wishes of the rotation cost a plan, added up by wish and by what they are about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from scheduler.club.club import Club
from scheduler.contract import Rule, Severity, Violation, is_rotation_rule
from scheduler.plan.plan import Unmet, WeekPlan

About = tuple[str, str]  # the wish, and the session or ring it is about


class Paid(NamedTuple):
    """What one wish costs about one thing: the sum, the first sentence, and how many there are."""

    by: Fraction
    text: str
    times: int


def paid_for(club: Club, findings: Iterable[Violation]) -> dict[About, Paid]:
    """The notes among findings of wishes about places, in their order."""
    found: dict[About, Paid] = {}
    for one in findings:
        if one.severity is Severity.NOTE:
            about = one.rule, next((who for who in one.about if not club.has("player", who)), "")
            before = found.get(about, Paid(Fraction(0), one.text, 0))
            found[about] = Paid(before.by + Fraction(one.by), before.text, before.times + 1)
    return found


def paid_wishes(club: Club, plan: WeekPlan, rules: Sequence[Rule]) -> dict[About, Paid]:
    """The notes of every wish about places, in the order of rules and findings."""
    mine = [rule for rule in rules if not rule.firm and is_rotation_rule(rule) and rule.off(club) is None]
    return paid_for(club, (found for rule in mine for found in rule.audit(club, plan)))


def added_up(club: Club, findings: Iterable[Violation]) -> tuple[Unmet, ...]:
    """What the findings of wishes about places cost, as a plan lists it."""
    return unmet(paid_for(club, findings))


def unmet(paid: Mapping[About, Paid]) -> tuple[Unmet, ...]:
    """The same as the plan lists it."""
    return tuple(
        Unmet(
            wish=name,
            about=(about,) if about else (),
            text=text if times == 1 else f"{name}, {times} times; the first: {text}",
            by=float(by),
        )
        for (name, about), (by, text, times) in paid.items()
    )


def unmet_wishes(club: Club, plan: WeekPlan, rules: Sequence[Rule]) -> tuple[Unmet, ...]:
    """What the wishes of the rotation cost a plan."""
    return unmet(paid_wishes(club, plan, rules))


def together(
    parts: Iterable[Mapping[About, Paid]], rules: Sequence[Rule], subjects: Sequence[str]
) -> dict[About, Paid]:
    """What the parts of a week paid, as its whole would say it: by rule, then in the order of `subjects`."""
    found: dict[About, Paid] = {}
    for part in parts:
        for about, paid in part.items():
            before = found.get(about, Paid(Fraction(0), paid.text, 0))
            found[about] = Paid(before.by + paid.by, before.text, before.times + paid.times)
    of_rule = {rule.name: number for number, rule in enumerate(rules)}
    of_subject = {name: number for number, name in enumerate(subjects)}
    return {key: found[key] for key in sorted(found, key=lambda key: (of_rule[key[0]], of_subject.get(key[1], -1)))}
