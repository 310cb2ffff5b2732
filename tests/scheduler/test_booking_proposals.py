"""Proposals that are wrong are never taken: the plan stays lawful and no dearer, and the figures are as without."""

from __future__ import annotations

from collections.abc import Callable, Container
from random import Random
from typing import Any

import pytest

from constraints import RULES
from scheduler.booking import bounded
from scheduler.booking.bounded import Bounded
from scheduler.booking.branching import Proposal, proposal
from scheduler.booking.build import build_booking
from scheduler.booking.climb import Climb, Climbed
from scheduler.booking.stages import Stages
from scheduler.progress import silent
from scheduler.solver import cp_model
from scheduler.solving import Solution
from tests.scheduler.test_booking_bounded import LIMIT, TOWNS, breaches, climbed, figures, idle

CLUB = TOWNS["full quarters"]
Wrong = Callable[[Random, dict[str, int], dict[str, list[str]], list[int]], None]


@pytest.fixture(scope="module")
def usual() -> Climbed:
    """The town booked without proposals."""
    return Climb(CLUB, RULES, silent).run(LIMIT)


def move(values: list[int], index: dict[str, int], of: list[str], to: str) -> None:
    """Let a session have another of its slots."""
    for name in of:
        values[index[name]] = int(name == to)


def elsewhere(random: Random, index: dict[str, int], slots: dict[str, list[str]], values: list[int]) -> None:
    """Two sessions by lot in other slots: mostly unlawful, else as good or dearer."""
    for session in random.sample(sorted(slots), 2):
        move(values, index, slots[session], random.choice(slots[session]))


def all_at_once(random: Random, index: dict[str, int], slots: dict[str, list[str]], values: list[int]) -> None:
    """Every session in its first slot."""
    for of in slots.values():
        move(values, index, of, of[0])


def nowhere(random: Random, index: dict[str, int], slots: dict[str, list[str]], values: list[int]) -> None:
    """One session in no slot at all."""
    move(values, index, slots[random.choice(sorted(slots))], "")


def changed(wrong: Wrong, told: list[object]) -> Callable[..., Proposal]:
    """Proposals of HiGHS with slots changed afterwards."""
    random = Random(1)

    def answer(model: cp_model.CpModel, seconds: float, cost: Any, implied: Container[int], **how: bool) -> Proposal:
        found = proposal(model, seconds, cost, implied, **how)
        if found.values is None:
            return found
        index = {variable.name: number for number, variable in enumerate(model.proto.variables)}
        slots: dict[str, list[str]] = {}
        for name in index:
            if name.startswith("at["):
                slots.setdefault(name.split("|")[0], []).append(name)
        values = list(found.values)
        wrong(random, index, slots, values)
        told.append(values)
        return found._replace(values=values)

    return answer


@pytest.mark.parametrize("wrong", [elsewhere, all_at_once, nowhere])
def test_the_same_figures_with_wrong_proposals(wrong: Wrong, usual: Climbed, monkeypatch: pytest.MonkeyPatch) -> None:
    told: list[object] = []
    take = Stages._take  # noqa: SLF001

    def taken(self: Stages, found: Solution) -> bool:
        lawful = take(self, found)
        assert not lawful or (self.plan is not None and breaches(CLUB, self.plan) == [])
        return lawful

    monkeypatch.setattr(Stages, "_take", taken)
    monkeypatch.setattr(bounded, "MANY", 10**9)
    monkeypatch.setattr(bounded, "FIRST_ASK", 0.02)  # so that the model is often asked in vain, and proposals wanted
    monkeypatch.setattr(bounded, "proposal", changed(wrong, told))
    done = climbed(CLUB, idle)
    assert done.plan is not None
    assert breaches(CLUB, done.plan) == []
    assert done.finished
    assert figures(done) == figures(usual)
    assert told


def test_a_dearer_plan_is_not_taken_whoever_proposes_it(usual: Climbed, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lawful, and dear in the wish that is looked at."""
    model = build_booking(CLUB, RULES, outsiders=False, certain_only=True, relaxed=True)
    stages = Bounded(model, LIMIT, silent, nearer=idle)
    dear = climbed(CLUB, idle, limit=0.02).plan
    assert dear is not None
    assert usual.plan is not None
    said = stages._said(dear)  # noqa: SLF001
    assert said is not None
    assert stages.start_from(usual.plan)
    best, wish = stages.plan, "wished days"
    cost = stages._cost(wish)  # noqa: SLF001
    assert said.value(cost) > stages._value(cost)  # noqa: SLF001
    monkeypatch.setattr(bounded, "proposal", lambda *_, **__: Proposal(said.values, 0.001, False))
    assert not stages._propose([wish], model.model, 0, 1.0)  # noqa: SLF001
    assert stages.plan == best
    assert stages._value(cost) < said.value(cost)  # noqa: SLF001
