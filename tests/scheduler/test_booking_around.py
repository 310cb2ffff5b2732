"""A large club's plan with most of it left as it is each time, for better pitches."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from constraints import RULES
from scheduler.booking import bounded, finer, first
from scheduler.booking.book import book
from scheduler.booking.bounded import Bounded
from scheduler.booking.finer import Finer
from scheduler.outcome import Booked
from tests.scheduler.test_booking_draft import breaches, paid
from tests.speed.clubs import a_town

WON = {"thirds": a_town(14, 0.9, 3, 2).club, "quarters": a_town(16, 0.9, 4, 1).club}  # within the day, not at the times
ANY_TIME = ((240, 2.0),)


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> list[tuple[int, int]]:
    """Small clubs are taken for very large ones; what the wish cost before and after each look around."""
    monkeypatch.setattr(first, "LARGE", 0)
    monkeypatch.setattr(first, "MIDDLE", 0)
    monkeypatch.setattr(bounded, "MANY", 0)
    found, look_around = list[tuple[int, int]](), Bounded.look_around

    def noted(self: Any, wish: str, seconds: float) -> None:
        cost = self._cost(wish)
        before, rows = self._value(cost), len(self._booking.model.proto.constraints)
        look_around(self, wish, seconds)
        found.append((before, self._value(cost)))
        if before:  # nothing that comes after it may lose that again
            held = self._booking.model.proto.constraints
            assert len(held) > rows
            assert list(held[len(held) - 1].linear.domain)[-1] == found[-1][1]

    monkeypatch.setattr(Bounded, "look_around", noted)
    return found


@pytest.mark.parametrize("name", WON)
def test_pitches_are_won_and_every_figure_is_as_usual(
    name: str, told: list[tuple[int, int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    club = WON[name]
    monkeypatch.setattr(finer, "AROUND", ())
    usual = book(club, RULES)
    monkeypatch.setattr(finer, "AROUND", ANY_TIME)
    found = book(club, RULES)
    assert isinstance(usual, Booked)
    assert isinstance(found, Booked)
    assert usual.proven
    assert found.proven
    assert breaches(club, found.plan) == []
    assert paid(club, found.plan) == paid(club, usual.plan)
    assert told == [(before, after) for before, after in told if after < before]
    assert told
    again = book(club, RULES)
    assert isinstance(again, Booked)
    assert again.plan == found.plan


def test_it_is_not_gone_on_where_nothing_is_won(told: list[tuple[int, int]]) -> None:
    found = book(a_town(14, 0.9, 3, 1).club, RULES)
    assert isinstance(found, Booked)
    assert found.proven
    assert told == [(2, 2)]


@pytest.mark.parametrize(
    ("owed", "minutes"),
    [([8, 4, 2, 1, 1], [0, 30, 60, 120]), ([8, 4, 3], [0, 30]), ([8, 5], [0]), ([8, 3, 0], [0, 30])],
)
def test_it_is_gone_on_while_the_half_is_won(
    owed: list[int], minutes: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[int | None] = []
    steps = Finer(WON["thirds"], RULES, {}, cast("Any", None))
    coarse = SimpleNamespace(plan=1, left_out=("good slots shared",), is_large=True, stopped=False, left=9.0)

    def noted(self: Finer, of: Any, near: int | None, seconds: float = 0.0) -> None:
        if seconds:
            looked.append(near)

    monkeypatch.setattr(Finer, "_better_pitches", noted)
    monkeypatch.setattr(Finer, "_owed", lambda *_: owed[min(len(looked), len(owed) - 1)])
    monkeypatch.setattr(Finer, "_begun", lambda *_, **__: None)
    monkeypatch.setattr(Finer, "_list", lambda *_: None)
    steps.of(cast("Any", coarse))
    assert looked == minutes


def test_clubs_that_are_not_large_are_looked_at_in_full(
    told: list[tuple[int, int]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounded, "MANY", 10**9)
    found = book(WON["thirds"], RULES)
    assert isinstance(found, Booked)
    assert found.proven
    assert told == []


def test_ctrl_c_keeps_the_plan(told: list[tuple[int, int]], monkeypatch: pytest.MonkeyPatch) -> None:
    real = bounded.make_solver

    def listening(*how: Any, **more: Any) -> Any:
        found = real(*how, **more)
        if more.get("around"):
            solve = found.solve

            def solved(*about: Any) -> Any:
                status = solve(*about)
                found.stopped = True  # as after Ctrl-C
                return status

            found.solve = solved
        return found

    monkeypatch.setattr(bounded, "make_solver", listening)
    monkeypatch.setattr(finer, "AROUND", ANY_TIME)
    club = WON["thirds"]
    found = book(club, RULES)
    assert isinstance(found, Booked)
    assert told
    assert found.stopped
    assert breaches(club, found.plan) == []
