"""What a booking pays for its wishes, as the audits say, and the proofs that must agree with it."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.booking.proofs import proof_of
from scheduler.club.club import Club
from scheduler.contract import Rule, Severity, is_booking_rule
from scheduler.plan.plan import Proof, Unmet, WeekPlan

STOOD_DOWN = ("fewest minutes stood down", "fewest children stood down")


def unmet_of(club: Club, plan: WeekPlan, rules: Sequence[Rule]) -> tuple[Unmet, ...]:
    """Every wish that the plan pays for, from the audits of the booking rules."""
    return tuple(
        Unmet(wish=found.rule, about=found.about, text=found.text, by=float(found.by))
        for rule in rules
        if is_booking_rule(rule) and rule.off(club) is None
        for found in rule.audit(club, plan)
        if found.severity is Severity.NOTE
    )


def as_audited(proofs: Sequence[Proof], unmet: Sequence[Unmet]) -> tuple[Proof, ...]:
    """The proofs with what the audit finds, where that is more than the model knew, or less than it said.

    More is not shown the least: the model counts each session's headers by themselves; children who have used theirs up
    elsewhere lose more. Less: what a wish costs is bounded from below alone, until it is looked at.
    """
    found: list[Proof] = []
    for proof in proofs:
        value = sum(row.by for row in unmet if row.wish == proof.measure)
        if value < proof.value and not proof.proved:
            proof = proof_of(proof.measure, value, proof.bound, value == proof.bound)
        elif proof.measure in STOOD_DOWN and value > proof.value:
            text = f"{proof.measure}: {value:g}; at least {proof.bound:g}, not proven"
            proof = proof.model_copy(update={"value": value, "proved": False, "text": text})
        found.append(proof)
    return tuple(found)
