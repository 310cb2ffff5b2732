"""Post and audit of every booking rule draw the same line: every booking of a tiny club is put to both."""

from __future__ import annotations

import pytest

from constraints import RULES
from scheduler.booking.build import build_booking
from scheduler.contract import Severity, is_booking_rule
from tests import booking_cases, booking_cases_of_children
from tests.booking_cases import Case
from tests.bookings import allows, every_booking

CASES = (*booking_cases.CASES, *booking_cases_of_children.CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.rule.name}: {case.name}")
def test_post_and_audit_agree(case: Case) -> None:
    """The model with the rule alone and a plan fixed can be completed exactly where the audit finds no breach."""
    model = build_booking(case.club, (case.rule,), switchable=True, free=True, wishes=False)
    verdicts: set[bool] = set()
    for plan in every_booking(case.club, case.adults, case.attendance, case.slots):
        found = [one for one in case.rule.audit(case.club, plan) if one.severity is Severity.BREACH]
        assert allows(model, plan) == (not found), (plan.sessions, found)
        verdicts.add(not found)
    assert verdicts == {True, False}, "this club cannot tell the rule from no rule"


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.rule.name}: {case.name}")
def test_switched_off_a_rule_forbids_nothing(case: Case) -> None:
    model = build_booking(case.club, (case.rule,), switchable=True, free=True, wishes=False)
    for plan in every_booking(case.club, case.adults, case.attendance, case.slots):
        assert allows(model, plan, switches_on=False), plan.sessions


def test_every_firm_booking_rule_has_a_case() -> None:
    """No list kept by hand goes stale: a firm rule that posts to the booking is either here or has its own test."""
    elsewhere = {"weather", "apart"}
    firm = {rule.name for rule in RULES if is_booking_rule(rule) and rule.firm}
    assert firm - elsewhere == {case.rule.name for case in CASES}
