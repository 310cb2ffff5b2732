"""Figures and unmet wishes of a plan whose rotations were mended: worked out anew for the rings that changed."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.club.club import Club
from scheduler.contract import Rule, Severity, Violation, is_booking_rule, is_rotation_rule
from scheduler.plan.plan import Unmet, WeekPlan
from scheduler.rotation.allowance import EXCESS, EXCESS_CHILDREN
from scheduler.rotation.pair_proof import pair_proofs
from scheduler.rotation.proofs import fairness_proofs
from scheduler.rotation.setting import settings
from scheduler.rotation.unmet import added_up

BOOKING = "booking"


def with_records(club: Club, plan: WeekPlan, changed: Sequence[str]) -> WeekPlan:
    """The plan with its proofs; `changed` names the rings whose places are new.

    A ring that is no longer one loses its figures; an excess that a mended ring owns up to is kept.
    """
    rings = {ring.name: ring for ring in settings(club, plan)}
    known = {proof.pool for proof in plan.proofs}
    anew = [name for name in rings if name in changed or name not in known]
    still = {BOOKING, *(name for name in rings if name not in anew)}
    kept = [proof for proof in plan.proofs if proof.pool in still]
    excess = [proof for proof in plan.proofs if proof.pool in anew and proof.measure in (EXCESS, EXCESS_CHILDREN)]
    names = {setting.session for name in anew for setting in rings[name].sessions}
    part = plan.model_copy(update={"sessions": tuple(one for one in plan.sessions if one.session in names)})
    pairs = [proof for name in anew for proof in pair_proofs(plan, rings[name])]
    return plan.model_copy(update={"proofs": (*kept, *excess, *fairness_proofs(club, part), *pairs)})


def unmet_wishes(
    club: Club, rules: Sequence[Rule], findings: Sequence[Violation], same_bookings: WeekPlan | None
) -> tuple[Unmet, ...]:
    """The unmet wishes that an audit found, those of the booking first; of `same_bookings` these stand as they are."""
    booking = {rule.name for rule in rules if is_booking_rule(rule)}
    wishes = {rule.name for rule in rules if is_rotation_rule(rule) and not rule.firm}
    if same_bookings is not None:
        rows = [row for row in same_bookings.unmet if row.wish in booking]
    else:
        rows = [
            Unmet(wish=found.rule, about=found.about, text=found.text, by=float(found.by))
            for found in findings
            if found.severity is Severity.NOTE and found.rule in booking
        ]
    return (*rows, *added_up(club, [found for found in findings if found.rule in wishes]))
