"""Ctrl-C between two solves of a booking: the plan in hand is kept, and what is known of each wish is said."""

from __future__ import annotations

import pytest

from constraints import RULES
from scheduler.booking import first
from scheduler.booking.book import book
from scheduler.booking.relaxation import Least, Relaxation
from scheduler.outcome import Booked
from tests.speed.clubs import a_town


def test_wishes_not_come_to_are_listed_after_ctrl_c_between_two_solves(monkeypatch: pytest.MonkeyPatch) -> None:
    club = a_town(6, 0.9, 4, 2).club
    monkeypatch.setattr(first, "LARGE", 0)
    usual = book(club, RULES)

    def interrupted(self: Relaxation, cost: object, seconds: float) -> Least:
        raise KeyboardInterrupt

    monkeypatch.setattr(Relaxation, "least", interrupted)
    found = book(club, RULES)
    assert isinstance(usual, Booked)
    assert isinstance(found, Booked)
    assert found.stopped
    assert not found.proven
    assert [one.measure for one in found.plan.proofs] == [one.measure for one in usual.plan.proofs]
    paid = {
        one.measure: sum(row.by for row in found.plan.unmet if row.wish == one.measure) for one in usual.plan.proofs
    }
    assert {one.measure: one.value for one in found.plan.proofs} == paid
    assert [one.measure for one in found.plan.proofs if not one.proved]
    assert all(one.bound == 0 for one in found.plan.proofs if not one.proved)
