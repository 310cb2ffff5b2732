"""Bounds that are raised because no plan is at them: each is shown anew by the solver, and no figure changes."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from constraints import RULES
from scheduler.booking import first, sounding
from scheduler.booking.book import book
from scheduler.booking.bounded import Bounded
from scheduler.booking.climb import Climb
from scheduler.booking.forced import Emptiness, forced
from scheduler.outcome import Booked
from scheduler.progress import silent
from scheduler.solver import cp_model
from scheduler.solving import make_solver
from tests.scheduler.test_booking_draft import breaches
from tests.speed.clubs import a_town

LIMIT = 60.0
BY_ROWS, BY_RELAXATION = False, True
TOWNS = {
    "by rows": (6, 0.8, 3, 2, 0),
    "by the relaxation": (12, 0.8, 3, 1, 0),
    "by both": (6, 0.9, 4, 3, 2),
}
WAYS = {
    "by rows": [BY_ROWS],
    "by the relaxation": [BY_RELAXATION],
    "by both": [BY_ROWS, BY_RELAXATION],
}


def least(model: cp_model.CpModel, cost: cp_model.LinearExprT) -> int | None:
    """The least that a cost comes to, None where there is no plan."""
    model.minimize(cost)
    solver = make_solver(LIMIT)
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return round(solver.objective_value) if status == cp_model.OPTIMAL else None


def raises(monkeypatch: pytest.MonkeyPatch, *, check: bool) -> list[bool]:
    """How each bound was raised from now on; `check`: with a look whether it is true."""
    raised, found = Bounded._raised, list[bool]()  # noqa: SLF001

    def noted(self: Bounded, wishes: list[str], empty: list[str], relaxed: bool) -> list[str]:
        whole = self._booking.model.clone()  # noqa: SLF001
        for wish in empty if check else ():
            whole.add(self._cost(wish) <= self._shown[wish].value)  # noqa: SLF001
        assert not check or least(whole, 0) is None
        known = raised(self, wishes, empty, relaxed)
        found.append(relaxed)
        if check:
            look_at(self, known)
        return known

    monkeypatch.setattr(Bounded, "_raised", noted)
    return found


def look_at(stages: Bounded, known: Sequence[str]) -> None:
    """What is shown of each wish is true where those before cost no more than was shown, and takes no such plan."""
    whole = stages._booking.model.clone()  # noqa: SLF001
    for number, wish in enumerate(known):
        cost, value = stages._cost(wish), stages._shown[wish].value  # noqa: SLF001
        part, _ = stages._at_the_bounds(known[:number])  # noqa: SLF001
        true = least(whole, cost)
        assert least(part, cost) == true
        if true is None:
            break
        assert value <= true
        whole.add(cost <= value)


def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    for size in ("LARGE", "LARGE_WITH_KNOTS", "MIDDLE"):
        monkeypatch.setattr(first, size, 0)


@pytest.mark.parametrize("town", TOWNS)
def test_what_is_raised_is_true_and_figures_are_those_of_the_complete_model(
    town: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    club = a_town(*TOWNS[town][:4], shared=TOWNS[town][4]).club
    usual = Climb(club, RULES, silent).run(LIMIT, ladder=({},))
    at_once(monkeypatch)
    raised = raises(monkeypatch, check=True)
    found = book(club, RULES, limit=LIMIT)
    assert raised == WAYS[town]
    assert isinstance(found, Booked)
    assert found.proven
    assert breaches(club, found.plan) == []
    figures = [{proof.measure: proof.value for proof in proofs if proof.value}
               for proofs in (found.plan.proofs, usual.proofs)]  # fmt: skip
    assert usual.finished
    assert figures[0] == figures[1]


def test_nothing_is_said_wrongly_where_time_runs_out_while_bounds_are_raised(monkeypatch: pytest.MonkeyPatch) -> None:
    """In whatever time: each bound that is listed is one of the complete model."""
    club = a_town(*TOWNS["by both"][:4], shared=2).club
    usual = book(club, RULES, limit=LIMIT)
    assert isinstance(usual, Booked)
    assert usual.proven
    true = {proof.measure: proof.value for proof in usual.plan.proofs}
    at_once(monkeypatch)
    monkeypatch.setattr(first, "SHARE", 100.0)
    raised, unproven = raises(monkeypatch, check=False), 0
    for limit in (0.2, 0.5):
        found = book(club, RULES, limit=limit)
        assert isinstance(found, Booked)
        assert breaches(club, found.plan) == []
        worse = False
        for proof in found.plan.proofs:
            if not worse:  # what comes after a wish that is less well met may cost less
                assert proof.bound <= true.get(proof.measure, 0) <= proof.value
            assert proof.proved == (proof.bound == proof.value)
            worse = worse or proof.value > true.get(proof.measure, 0)
            unproven += not proof.proved
    assert raised
    assert unproven


@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_ctrl_c_while_it_is_seen_whether_there_is_a_plan_keeps_the_week(
    number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The so manieth time; what was raised before is true, and nothing more is asked."""
    club = a_town(*TOWNS["by rows"][:4]).club
    usual = book(club, RULES)
    assert isinstance(usual, Booked)
    true = {proof.measure: proof.value for proof in usual.plan.proofs}
    at_once(monkeypatch)
    calls = list[cp_model.CpModel]()

    def pressed(model: cp_model.CpModel, seconds: float) -> Emptiness:
        calls.append(model)
        return Emptiness(False, 0.0, True) if len(calls) == number else forced(model, seconds)

    monkeypatch.setattr(sounding, "forced", pressed)
    found = book(club, RULES)
    assert isinstance(found, Booked)
    assert len(calls) == number
    assert found.stopped
    assert found.proven is (number == 4)  # all was shown by then
    assert not found.proven or {proof.measure: proof.value for proof in found.plan.proofs if proof.value} == {
        wish: value for wish, value in true.items() if value
    }
    assert breaches(club, found.plan) == []
    for proof in found.plan.proofs:
        assert proof.proved == (proof.bound == proof.value)
        if not proof.proved:
            assert proof.bound <= true.get(proof.measure, 0) <= proof.value
            break
