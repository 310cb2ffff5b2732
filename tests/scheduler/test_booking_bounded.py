"""Stages that use the linear relaxation: the same figures as without, whatever it knows and whenever time runs out."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Container
from typing import Any

import pytest

from constraints import RULES
from scheduler.booking import bounded, climb, finer, first, rows, stages
from scheduler.booking.book import book
from scheduler.booking.bounded import Allowed, Nearer
from scheduler.booking.branching import Proposal
from scheduler.booking.build import narrowed_booking
from scheduler.booking.climb import Climb, Climbed
from scheduler.booking.nearby import Nearby
from scheduler.booking.relaxation import UNITS, Least, Relaxation
from scheduler.club.club import Club
from scheduler.contract import Severity, is_booking_rule
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.progress import silent
from tests.speed.clubs import a_town

LIMIT = 60.0
TOWNS = {
    "thirds": a_town(12, 0.75, 3, 1).club,
    "full quarters": a_town(14, 0.9, 4, 3).club,
}
Knows = Callable[[Relaxation, Least], Least]


def breaches(club: Club, plan: WeekPlan) -> list[str]:
    rules = [rule for rule in RULES if is_booking_rule(rule) and rule.off(club) is None]
    return [f.text for rule in rules for f in rule.audit(club, plan) if f.severity is Severity.BREACH]


def figures(done: Climbed) -> list[tuple[str, float, float, bool]]:
    return [(proof.measure, proof.value, proof.bound, proof.proved) for proof in done.proofs]


@pytest.fixture(scope="module")
def usual() -> dict[str, Climbed]:
    """The towns booked without the relaxation."""
    return {name: Climb(club, RULES, silent).run(LIMIT) for name, club in TOWNS.items()}


def idle(plan: WeekPlan, left: float, met: Container[str], allowed: Allowed) -> tuple[WeekPlan, float, bool]:
    """A search that finds nothing, and takes a moment."""
    return plan, left - 0.001, False


def searching(club: Club) -> Nearer:
    near = Nearby(club, RULES, narrowed_booking(club, RULES).narrowed)

    def nearer(plan: WeekPlan, left: float, met: Container[str], allowed: Allowed) -> tuple[WeekPlan, float, bool]:
        better, spare, stopped = near.improved(plan, 1.0, silent, met, allowed)
        return better, left - 1.0 + spare, stopped

    return nearer


def climbed(club: Club, nearer: Nearer, limit: float = LIMIT) -> Climbed:
    narrowed = narrowed_booking(club, RULES)
    start = first.first_week(club, RULES, narrowed.narrowed, LIMIT, silent)
    assert start is not None
    return Climb(club, RULES, silent, narrowed=narrowed).run(limit, start, nearer=nearer)


def nothing_proposed(*_: object, **__: object) -> Proposal:
    """What HiGHS proposes where it comes to nothing."""
    return Proposal(None, 0.001, False)


def all_it_knows(_: Relaxation, least: Least) -> Least:
    return least


def nothing(_: Relaxation, least: Least) -> Least:
    return least._replace(value=0, scaled=0, prices=0 * least.prices)


def too_little(_: Relaxation, least: Least) -> Least:
    """One less than it knows, so that what is taken for granted of later wishes turns out wrong."""
    return least._replace(value=max(0, least.value - 1), scaled=least.scaled - UNITS)


@pytest.mark.parametrize("town", TOWNS)
@pytest.mark.parametrize("proposals", [True, False], ids=["proposals", "none"])
@pytest.mark.parametrize(
    ("many", "knows", "search"),
    [(0, all_it_knows, True), (10**9, all_it_knows, False), (10**9, nothing, False), (10**9, too_little, False)],
    ids=["part by part", "by the model", "told nothing", "told too little"],
)
def test_the_same_figures_as_without(
    town: str,
    proposals: bool,
    many: int,
    knows: Knows,
    search: bool,
    usual: dict[str, Climbed],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    club, without, asked = TOWNS[town], usual[town], list[Least]()
    least = Relaxation.least

    def told(self: Relaxation, *about: Any) -> Least:
        asked.append(knows(self, least(self, *about)))
        return asked[-1]

    monkeypatch.setattr(Relaxation, "least", told)
    monkeypatch.setattr(bounded, "MANY", many)
    if not proposals:
        monkeypatch.setattr(bounded, "proposal", nothing_proposed)
    done = climbed(club, searching(club) if search else idle)
    assert done.plan is not None
    assert breaches(club, done.plan) == []
    assert done.finished
    assert figures(done) == figures(without)
    assert all(proof.proved for proof in without.proofs)
    assert asked


def cut_short(after: int) -> Nearer:
    """A search in which all time is used up, the so manieth time."""
    calls = []

    def nearer(plan: WeekPlan, left: float, met: Container[str], allowed: Allowed) -> tuple[WeekPlan, float, bool]:
        calls.append(plan)
        return plan, 0.0 if len(calls) == after else left, False

    return nearer


@pytest.mark.parametrize("after", [1, 2])
def test_where_time_runs_out_no_later_wish_is_called_the_least(
    after: int, usual: dict[str, Climbed], monkeypatch: pytest.MonkeyPatch
) -> None:
    club, true = TOWNS["full quarters"], {proof.measure: proof for proof in usual["full quarters"].proofs}
    monkeypatch.setattr(bounded, "MANY", 0)
    monkeypatch.setattr(bounded, "proposal", nothing_proposed)
    monkeypatch.setattr(bounded, "NEARLY", 0)
    monkeypatch.setattr(bounded, "STEEP", 10**9)
    monkeypatch.setattr(climb, "FINER_SHARE", 0.0)
    monkeypatch.setattr(finer, "AROUND", ())
    monkeypatch.setattr(bounded.Bounded, "_is_empty", lambda *_, **__: False)  # else bounds are soon what they must be
    done = climbed(club, cut_short(after))
    assert done.plan is not None
    assert breaches(club, done.plan) == []
    assert not done.finished
    assert [proof.measure for proof in done.proofs] == list(true)
    open_ones = [n for n, proof in enumerate(done.proofs) if not proof.proved]
    assert len(open_ones) > 2 - after
    for number, proof in enumerate(done.proofs):
        if number < open_ones[0]:
            assert proof == true[proof.measure]
        elif number > open_ones[0]:
            assert proof.proved == (proof.value == 0)
            assert proof.bound == 0
        assert proof.proved or f"at least {proof.bound:g}, not proven" in proof.text
    opened = done.proofs[open_ones[0]]
    assert opened.bound <= true[opened.measure].value <= opened.value


def test_wishes_that_stages_do_not_come_to_are_listed_and_not_proven(
    usual: dict[str, Climbed], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the relaxation, one wish at a time: no time is left after the first that is solved."""
    monkeypatch.setattr(stages, "LEAST_LEFT", 10 * LIMIT)
    monkeypatch.setattr(stages, "HEAVIEST", 1)
    done = Climb(TOWNS["thirds"], RULES, silent).run(LIMIT)
    assert [proof.measure for proof in done.proofs] == [proof.measure for proof in usual["thirds"].proofs]
    assert not done.finished
    late = [proof for proof in done.proofs if not proof.proved]
    assert len(late) > 1
    assert all(proof.value > 0 == proof.bound and "at least 0, not proven" in proof.text for proof in late)


def test_wishes_are_listed_too_where_ctrl_c_comes_between_two_solves(
    usual: dict[str, Climbed], monkeypatch: pytest.MonkeyPatch
) -> None:
    stage, calls = stages.Stages._stage, list[str]()  # noqa: SLF001

    def pressed(self: stages.Stages, wishes: list[str], parameters: stages.Parameters) -> bool:
        calls.extend(wishes)
        if len(calls) > 1:
            raise KeyboardInterrupt
        return stage(self, wishes, parameters)

    monkeypatch.setattr(stages.Stages, "_stage", pressed)
    monkeypatch.setattr(stages, "HEAVIEST", 1)
    done = Climb(TOWNS["thirds"], RULES, silent).run(LIMIT)
    assert [proof.measure for proof in done.proofs] == [proof.measure for proof in usual["thirds"].proofs]
    assert done.stopped
    assert not done.finished
    assert any("not proven" in proof.text for proof in done.proofs)


@pytest.mark.parametrize("limit", [0.02, 0.04, 1.0])
def test_in_whatever_time_every_wish_is_listed_once(
    limit: float, usual: dict[str, Climbed], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The plan of a whole booking is called proven only where each of its wishes is."""
    monkeypatch.setattr(first, "LARGE", 0)
    monkeypatch.setattr(first, "MIDDLE", 0)
    monkeypatch.setattr(bounded, "MANY", 0)
    monkeypatch.setattr(first, "SHARE", 100.0)
    club, true = TOWNS["full quarters"], [proof.measure for proof in usual["full quarters"].proofs]
    found = book(club, RULES, limit=limit)
    assert isinstance(found, Booked)
    listed = [proof.measure for proof in found.plan.proofs]
    assert [wish for wish in listed if wish in true] == true
    assert len(set(listed)) == len(listed)
    assert found.proven == all(proof.proved for proof in found.plan.proofs)
    assert found.proven == (limit >= 1.0)


def pressed_while_solving(monkeypatch: pytest.MonkeyPatch, number: int) -> list[int]:
    """Ctrl-C while the relaxation is solved the so manieth time; the interior point steps of each time."""
    quiet, steps = rows.Silent.run, list[int]()

    def run(self: Any) -> Any:
        if len(steps) + 1 == number:
            os.kill(os.getpid(), signal.SIGINT)
        done = quiet(self)
        steps.append(self.getInfo().ipm_iteration_count)
        return done

    monkeypatch.setattr(rows.Silent, "run", run)
    return steps


@pytest.mark.parametrize("number", [1, 2, 4])
def test_ctrl_c_while_the_relaxation_is_solved_keeps_the_plan(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(first, "LARGE", 0)
    monkeypatch.setattr(first, "MIDDLE", 0)
    club = TOWNS["full quarters"]
    steps = pressed_while_solving(monkeypatch, number)
    found = book(club, RULES)
    assert isinstance(found, Booked)
    assert found.stopped
    assert not found.proven
    assert breaches(club, found.plan) == []
    assert len(steps) == number  # nothing more is asked
    assert steps[-1] < 3
    assert any("not proven" in proof.text for proof in found.plan.proofs)
