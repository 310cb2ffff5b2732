"""Figures and unmet wishes of a plan whose rotations were mended: worked out anew for the rings that changed."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.club.club import Club
from scheduler.contract import Rule, is_booking_rule
from scheduler.plan.plan import WeekPlan
from scheduler.rotation.allowance import EXCESS, EXCESS_CHILDREN
from scheduler.rotation.pair_proof import pair_proofs
from scheduler.rotation.proofs import fairness_proofs
from scheduler.rotation.rotate import unmet_wishes
from scheduler.rotation.setting import settings

BOOKING = "booking"


def with_records(club: Club, plan: WeekPlan, changed: Sequence[str], rules: Sequence[Rule]) -> WeekPlan:
    """The plan with its proofs and unmet wishes; `changed` names the rings whose places are new.

    A ring that is no longer one loses its figures; an excess that a mended ring owns up to is kept.
    """
    rings = {ring.name: ring for ring in settings(club, plan)}
    kept = [
        proof for proof in plan.proofs if proof.pool == BOOKING or (proof.pool in rings and proof.pool not in changed)
    ]
    excess = [proof for proof in plan.proofs if proof.pool in changed and proof.measure in (EXCESS, EXCESS_CHILDREN)]
    fresh = [proof for proof in fairness_proofs(club, plan) if proof.pool in changed]
    pairs = [proof for name in changed if name in rings for proof in pair_proofs(plan, rings[name])]
    booking = {rule.name for rule in rules if is_booking_rule(rule)}
    unmet = [row for row in plan.unmet if row.wish in booking]
    return plan.model_copy(
        update={"proofs": (*kept, *excess, *fresh, *pairs), "unmet": (*unmet, *unmet_wishes(club, plan, rules))}
    )
