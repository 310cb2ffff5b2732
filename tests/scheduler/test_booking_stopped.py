"""Ctrl-C between two solves of a booking: the plan in hand is kept, and what is known of each wish is said."""

from __future__ import annotations

import pytest

from constraints import RULES
from scheduler.booking import first
from scheduler.booking.book import book
from scheduler.booking.bounded import Bounded
from scheduler.booking.proofs import proof_of
from scheduler.booking.relaxation import Least, Relaxation
from scheduler.booking.unmet import as_audited
from scheduler.outcome import Booked
from scheduler.plan.plan import Unmet, WeekPlan
from tests.scheduler.test_booking_draft import breaches, paid
from tests.speed.clubs import a_town


def test_wishes_not_come_to_are_listed_after_ctrl_c_between_two_solves(monkeypatch: pytest.MonkeyPatch) -> None:
    club = a_town(6, 0.9, 4, 2).club
    monkeypatch.setattr(first, "LARGE", 0)
    monkeypatch.setattr(first, "MIDDLE", 0)
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


def test_what_a_small_model_finds_that_cannot_say_the_first_week_is_gone_on_from(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Not the first week, but a lawful one that comes to it meanwhile, of which nothing is shown yet."""
    club = a_town(6, 0.9, 4, 2).club
    usual = book(club, RULES)
    assert isinstance(usual, Booked)
    monkeypatch.setattr(first, "LARGE", 0)
    monkeypatch.setattr(first, "MIDDLE", 0)
    says, runs = Bounded.start_from, Bounded.run
    started, ran = list[WeekPlan](), list[Bounded]()

    def cannot(self: Bounded, plan: WeekPlan) -> bool:
        started.append(plan)
        return len(started) > 1 and says(self, plan)

    def short(self: Bounded) -> None:
        ran.append(self)
        if len(ran) > 1:
            runs(self)
        else:
            self.plan, self.finished = started[0], False

    monkeypatch.setattr(Bounded, "start_from", cannot)
    monkeypatch.setattr(Bounded, "run", short)
    found = book(club, RULES)
    assert isinstance(found, Booked)
    assert found.proven
    assert len(ran) == 2
    assert breaches(club, found.plan) == []
    assert paid(club, found.plan) == paid(club, usual.plan)
