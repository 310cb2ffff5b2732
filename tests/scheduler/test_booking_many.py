"""Clubs of so many teams that no model larger than the smallest is asked."""

from __future__ import annotations

from typing import Any

import pytest

from constraints import RULES
from scheduler.booking import first
from scheduler.booking.book import book
from scheduler.booking.build import Small, narrowed_booking
from scheduler.booking.climb import LADDER, Climb, Climbed
from scheduler.booking.knots import Knots
from scheduler.booking.nearby import Nearby
from scheduler.booking.proofs import proof_of
from scheduler.club.club import Club
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.progress import silent
from tests.scheduler.test_booking_draft import breaches, paid
from tests.speed.clubs import a_town

LIMIT = 5.0
SAYABLE, NOT_SAYABLE = (6, 0.9, 3, 1, 2), (6, 0.9, 4, 8, 2)
"""Towns whose first week loses no more than knots and counting say; and more, which the smallest model cannot say."""


class Seen:
    """What happens while a club is booked: the models that are made, the first week, weeks kept and made better."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.models, self.looked_after = list[Small](), list[WeekPlan]()
        self.weeks, self.improved = list[WeekPlan](), list[WeekPlan]()
        model, look, week, better = Climb._model, Knots.look_after, first.first_week, Nearby.improved  # noqa: SLF001

        def made(climb: Climb, small: Small, *about: Any, **more: Any) -> Any:
            self.models.append(small)
            return model(climb, small, *about, **more)

        def looked(knots: Knots, plan: WeekPlan) -> None:
            self.looked_after.append(plan)
            look(knots, plan)

        def drafted(*about: Any) -> WeekPlan | None:
            found = week(*about)
            assert found is not None
            self.weeks.append(found)
            return found

        def improved(near: Nearby, plan: WeekPlan, *about: Any) -> Any:
            self.improved.append(plan)
            return better(near, plan, *about)

        monkeypatch.setattr(Climb, "_model", made)
        monkeypatch.setattr(Knots, "look_after", looked)
        monkeypatch.setattr(first, "first_week", drafted)
        monkeypatch.setattr(Nearby, "improved", improved)
        for size in ("LARGE", "LARGE_WITH_KNOTS", "MIDDLE"):
            monkeypatch.setattr(first, size, 0)


def as_it_was(near: Nearby, club: object, rules: object, start: WeekPlan, *_: object) -> tuple[WeekPlan, float, bool]:
    """What children lose more than they must, they go on losing."""
    return start, 0.0, False


@pytest.mark.parametrize("untied", [True, False])
def test_where_the_smallest_model_cannot_say_the_first_week_it_is_made_better_part_by_part(
    untied: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    club, seen = a_town(*NOT_SAYABLE[:4], shared=NOT_SAYABLE[4]).club, Seen(monkeypatch)
    monkeypatch.setattr(first, "MANY", 0)
    if not untied:
        monkeypatch.setattr(first, "untied", as_it_was)
    found = book(club, RULES, limit=LIMIT)
    assert isinstance(found, Booked)
    assert seen.models == [LADDER[0]]
    assert seen.looked_after == seen.weeks
    assert len(seen.improved) == 1
    assert breaches(club, found.plan) == []
    assert paid(club, found.plan) < paid(club, seen.weeks[0])
    assert paid(club, found.plan) <= paid(club, seen.improved[0])
    assert not found.proven
    assert {proof.bound for proof in found.plan.proofs} == {0}


def test_one_that_it_can_say_is_met_wish_by_wish(monkeypatch: pytest.MonkeyPatch) -> None:
    club, seen = a_town(*SAYABLE[:4], shared=SAYABLE[4]).club, Seen(monkeypatch)
    usual = book(club, RULES)
    monkeypatch.setattr(first, "MANY", 0)
    seen.models.clear()
    found = book(club, RULES)
    assert isinstance(found, Booked)
    assert isinstance(usual, Booked)
    assert seen.models
    assert all(small == LADDER[0] for small in seen.models)
    assert found.proven
    assert usual.proven
    assert breaches(club, found.plan) == []
    assert paid(club, found.plan) == paid(club, usual.plan)


def test_fewer_teams_than_many_are_asked_of_all_models(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first of them finds a better week, or else the next."""
    club, seen = a_town(*NOT_SAYABLE[:4], shared=NOT_SAYABLE[4]).club, Seen(monkeypatch)
    monkeypatch.setattr(first, "untied", as_it_was)
    found = book(club, RULES, limit=60.0)
    assert isinstance(found, Booked)
    assert found.proven
    assert len(seen.models) > 1
    assert paid(club, found.plan) < paid(club, seen.weeks[0])


def test_of_a_ladder_that_ends_small_a_week_beyond_it_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    club, seen = a_town(*NOT_SAYABLE[:4], shared=NOT_SAYABLE[4]).club, Seen(monkeypatch)
    week = a_week_of(club)
    climb = Climb(club, RULES, silent)
    done = climb.run(20.0, week, ladder=LADDER[:1])
    assert done.plan == week
    assert seen.models == [LADDER[0]]
    assert (done.finished, done.stopped, done.infeasible) == (False, False, False)
    assert [proof.proved for proof in done.proofs] == [proof.value == 0 for proof in done.proofs]
    assert 0 < done.left < 20.0
    seen.models.clear()
    whole = climb.run(20.0, week, ladder=LADDER[:2])
    assert seen.models == list(LADDER[:2])
    assert whole.plan is not None
    assert paid(club, whole.plan) <= paid(club, week)


def a_week_of(club: Club) -> WeekPlan:
    week = first.first_week(club, RULES, narrowed_booking(club, RULES).narrowed, 20.0, silent)
    assert week is not None
    return week


def test_what_was_shown_of_a_week_is_not_lost_where_nothing_better_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """The smallest model says the week and shows a bound of it; no search part by part comes to more."""
    club, shown = a_town(*SAYABLE[:4], shared=SAYABLE[4]).club, proof_of("wished days", 3, 1, False)
    narrowed = narrowed_booking(club, RULES)

    def run(climb: Climb, limit: float, start: WeekPlan, **_: Any) -> Climbed:
        return Climbed(start, (shown,), False, False, False, 0.0)

    Seen(monkeypatch)
    monkeypatch.setattr(first, "MANY", 0)
    monkeypatch.setattr(Climb, "run", run)
    done = first.book_large(club, RULES, Climb(club, RULES, silent), narrowed, LIMIT, silent)
    assert done.proofs == (shown,)
    assert not done.stopped
