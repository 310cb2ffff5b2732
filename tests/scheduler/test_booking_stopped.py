"""Ctrl-C between two solves of a booking: the plan in hand is kept, and what is known of each wish is said."""

from __future__ import annotations

import pytest

from constraints import RULES
from scheduler.booking import first
from scheduler.booking.book import book
from scheduler.booking.proofs import proof_of
from scheduler.booking.relaxation import Least, Relaxation
from scheduler.booking.unmet import as_audited
from scheduler.outcome import Booked
from scheduler.plan.plan import Unmet
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


@pytest.mark.parametrize(("least", "proved"), [(1, False), (7, True)])
def test_a_wish_costs_no_more_than_the_audit_finds(least: int, proved: bool) -> None:
    """A solution found for one wish may say more of a later one than its plan pays, until that is looked at."""
    unmet = tuple(Unmet(wish="good slots shared", about=("Owls",), text="two poor slots", by=by) for by in (3.0, 4.0))
    (found,) = as_audited([proof_of("good slots shared", 8, least, False)], unmet)
    assert (found.value, found.bound, found.proved) == (7, least, proved)
    assert found.text == proof_of("good slots shared", 7, least, proved).text


def test_what_is_proven_is_not_made_less_by_the_audit() -> None:
    """Then the model and the audit would not agree on a wish, which must show."""
    shown = proof_of("good slots shared", 8, 8, True)
    assert as_audited([shown], ()) == (shown,)
