"""What a coarse model left out is settled by other pitches, other times or the full model: figures are as without."""

from __future__ import annotations

import os
import signal
from typing import Any

import pytest

from constraints import RULES
from scheduler.booking import finer, first
from scheduler.booking.book import book
from scheduler.booking.bounded import Bounded
from scheduler.booking.finer import Finer
from scheduler.booking.rows import Silent
from scheduler.booking.unmet import unmet_of
from scheduler.club.club import Club
from scheduler.club.places import Opening, Pitch, Site
from scheduler.club.programme import PlanRow, SessionAsk
from scheduler.club.when import Span
from scheduler.outcome import Booked
from scheduler.plan.plan import Proof
from tests.clubs import SMALL_GAME, a_club
from tests.scheduler.test_booking_bounded import breaches
from tests.scheduler.test_booking_optimum import TWO_V_ONE
from tests.speed.clubs import a_town

FIVE = 17 * 60
QUALITY, ROOM = "good slots shared", "room to play"
FULL = "full"
NAMES = ("Herons", "Kites", "Larks", "Owls")
TOWNS = ((6, 0.6, 2, 8), (8, 0.6, 3, 13), (8, 0.6, 3, 15), (9, 0.75, 2, 5))


def pitch(name: str, quality: int, start: int, end: int, **more: Any) -> Pitch:
    """A pitch open from some minutes past five to others."""
    base = {"site": "Marsh Lane", "zones": 1, "length": 60, "width": 40, **more}
    days = base.pop("days", frozenset({0}))
    openings = (Opening(days=days, span=Span(FIVE + start, FIVE + end)),)
    return Pitch(id=name, quality=quality, openings=openings, **base)


def ask(number: int, minutes: int, **more: Any) -> SessionAsk:
    team = NAMES[number]
    return SessionAsk(id=f"{team} 1", teams=(team,), plan=f"{minutes} minutes", minutes=minutes, zones=1, **more)


def of(pitches: tuple[Pitch, ...], *asks: SessionAsk, **more: Any) -> Club:
    """A club of these pitches, each team with one session, which three children and two adults cannot but come to."""
    lengths = sorted({one.minutes for one in asks})
    plans = [PlanRow(plan=f"{n} minutes", block="1", practice=TWO_V_ONE.id, minutes=n) for n in lengths]
    club = a_club(teams=len(asks), players=3, step=15, pitches=pitches, practices=(TWO_V_ONE,), plans=tuple(plans))
    return club.model_copy(update={"sessions": asks, **more})


def figures(found: Booked) -> list[tuple[str, float, float, bool]]:
    return [(proof.measure, proof.value, proof.bound, proof.proved) for proof in found.plan.proofs]


def booked(club: Club) -> Booked:
    """Booked, lawful, and with each wish listed at what the plan pays for it."""
    found = book(club, RULES)
    assert isinstance(found, Booked)
    assert breaches(club, found.plan) == []
    for proof in found.plan.proofs:
        assert proof.value == sum(row.by for row in unmet_of(club, found.plan, RULES) if row.wish == proof.measure)
        assert proof.bound <= proof.value
    return found


def plainly(club: Club, monkeypatch: pytest.MonkeyPatch) -> Booked:
    """Booked as a small club is, all rules in one model."""
    monkeypatch.setattr(first, "LARGE", 10**9)
    found = booked(club)
    assert found.proven
    return found


def in_steps(club: Club, monkeypatch: pytest.MonkeyPatch) -> tuple[Booked, list[object]]:
    """Booked as a large club is, and what was tried after the coarse model: minutes, or the full model."""
    tried: list[object] = []
    better, begun = Finer._better_pitches, Finer._begun  # noqa: SLF001

    def noted(self: Finer, coarse: Bounded, minutes: int | None) -> None:
        tried.append(minutes)
        better(self, coarse, minutes)

    def begin(self: Finer, *about: Any, nearer: bool) -> Any:
        tried.extend([FULL] if nearer else [])
        return begun(self, *about, nearer=nearer)

    monkeypatch.setattr(first, "LARGE", 0)
    monkeypatch.setattr(first, "MIDDLE", 0)
    monkeypatch.setattr(Finer, "_better_pitches", noted)
    monkeypatch.setattr(Finer, "_begun", begin)
    return booked(club), tried


def proof(found: Booked, wish: str) -> Proof:
    return next(one for one in found.plan.proofs if one.measure == wish)


# each step settles it once

POOR = pitch("Poor", 2, 0, 240)
SITES = {
    "sites": (Site(id="Marsh Lane", latitude=53.35, longitude=-6.26), Site(id="Far End", latitude=53.3, longitude=-6.2))
}
WIDE = {"practices": (TWO_V_ONE.model_copy(update={"m2_most": 500.0}),)}
"""Three players on a whole pitch have 800 square metres each, on half of one 400."""


def good(start: int, **more: Any) -> Pitch:
    """A good pitch, open later than the poor one."""
    return pitch("Good", 5, start, 240, **more)


STEPS: dict[str, tuple[Club, list[object]]] = {
    "as it is": (of((POOR, good(0, site="Far End")), ask(0, 60), **SITES), []),
    "same times": (of((POOR, good(0)), ask(0, 60)), [None]),
    "another site": (of((good(0, site="Far End"), POOR), ask(0, 60), **SITES), [None, 0]),
    "a quarter later": (of((POOR, good(15)), ask(0, 60)), [None, 0, 15]),
    "half an hour later": (of((POOR, good(30)), ask(0, 60)), [None, 0, 15, 30]),
    "an hour later": (of((POOR, good(60)), ask(0, 60)), [None, 0, 15, 30, 60]),
    "much later": (of((POOR, good(75)), ask(0, 60)), [None, 0, 15, 30, 60, FULL]),
    "another day": (of((POOR, good(0, days=frozenset({1}))), ask(0, 60)), [None, 0, 15, 30, 60, FULL]),
    "no better": (of((POOR, good(0, zones=2)), ask(0, 60, pitches=("Poor",))), [None, 0, 15, 30, 60, FULL]),
}


@pytest.mark.parametrize("wide", [False, True], ids=["no bounds", "bounds of room"])
@pytest.mark.parametrize("step", STEPS)
def test_each_step_settles_it_once(step: str, wide: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    club, steps = STEPS[step]
    club = club.model_copy(update=WIDE) if wide else club
    plain = plainly(club, monkeypatch)
    found, tried = in_steps(club, monkeypatch)
    assert tried == steps
    assert figures(found) == figures(plain)
    assert found.proven
    assert proof(found, QUALITY).value == (step == "no better")
    assert not wide or proof(found, ROOM).value == 1


def test_better_pitches_with_too_much_room_are_taken_and_nothing_is_claimed_before_the_full_model_says_so(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The coarse model knows of no need for room beyond the most; quality comes first."""
    club = of((pitch("Poor", 2, 0, 240, length=20), good(0, site="Far End"), POOR.model_copy(update={"id": "Third"})),
              ask(0, 60), **SITES, **WIDE)  # fmt: skip
    plain = plainly(club, monkeypatch)
    found, tried = in_steps(club, monkeypatch)
    assert tried == [None, 0, 15, 30, 60, FULL]
    assert figures(found) == figures(plain)
    assert found.proven
    assert (proof(found, QUALITY).value, proof(found, ROOM).value) == (0, 1)


# late hours that are worth it


def late_for_good(**more: Any) -> Club:
    """The good pitch has room for a long session and two short ones if the long one is late, else a poor one has two.

    A fourth session is late in any case.
    """
    pitches = (pitch("Good", 5, 0, 120), pitch("Poor", 2, 0, 90, zones=2), pitch("Third", 5, 0, 120))
    either, third = {"pitches": ("Good", "Poor")}, {"pitches": ("Third",), "earliest": FIVE + 60}
    return of(pitches, ask(0, 60, **either), ask(1, 30, **either), ask(2, 30, **either), ask(3, 60, **third), **more)


@pytest.mark.parametrize("wide", [False, True], ids=["no bounds", "bounds of room"])
def test_more_late_hours_than_the_least_are_taken_where_fewer_poorer_pitches_make_up_for_them(
    wide: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One late hour and two poorer pitches against two late hours: the least of late hours alone is dearer."""
    club = late_for_good(**(WIDE if wide else {}))
    plain = plainly(club, monkeypatch)
    found, tried = in_steps(club, monkeypatch)
    assert tried == [None, 0, 15, 30, 60, FULL]
    assert figures(found) == figures(plain)
    assert found.proven
    assert proof(found, QUALITY).value == 2
    assert {one.session for one in found.plan.sessions if one.pitch == "Poor"} == set()
    assert not wide or proof(found, ROOM).value == 4


# where time runs out while something is owed


def owed(found: Booked, plain: Booked, value: float) -> None:
    """Quality is listed at what the plan pays and at least what the coarse model showed; of room nothing is claimed."""
    assert not found.proven
    quality, room = proof(found, QUALITY), proof(found, ROOM)
    assert (quality.value, quality.bound, quality.proved) == (value, 1, False)
    assert quality.bound <= proof(plain, QUALITY).value <= quality.value
    assert "at least 1, not proven" in quality.text
    assert (room.value < proof(plain, ROOM).value) == (quality.value > proof(plain, QUALITY).value)
    assert (room.bound, room.proved) == (0, False)
    assert "at least 0, not proven" in room.text
    others = [one for one in figures(plain) if one[0] not in (QUALITY, ROOM)]
    assert [one for one in figures(found) if one[0] not in (QUALITY, ROOM)] == others


def test_without_time_for_any_step_what_is_owed_is_listed(monkeypatch: pytest.MonkeyPatch) -> None:
    club = late_for_good(**WIDE)
    plain = plainly(club, monkeypatch)
    monkeypatch.setattr(finer, "LEAST_LEFT", 10.0**9)
    found, tried = in_steps(club, monkeypatch)
    assert tried == []
    owed(found, plain, 3)
    assert not found.stopped


@pytest.mark.parametrize(("after", "value"), [(1, 3), (3, 3), (5, 2)])
def test_where_time_runs_out_after_a_step_what_is_still_owed_is_listed(
    after: int, value: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After the last one with the best plan there is, which only the full model would prove."""
    club = late_for_good(**WIDE)
    plain = plainly(club, monkeypatch)
    better, calls = Finer._better_pitches, list[object]()  # noqa: SLF001

    def last(self: Finer, coarse: Bounded, minutes: int | None) -> None:
        calls.append(minutes)
        better(self, coarse, minutes)
        coarse.left = 0.0 if len(calls) == after else coarse.left

    monkeypatch.setattr(Finer, "_better_pitches", last)
    found, tried = in_steps(club, monkeypatch)
    assert tried == [None, 0, 15, 30, 60][:after]
    owed(found, plain, value)


def test_ctrl_c_in_a_step_keeps_the_plan_and_claims_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    club = late_for_good(**WIDE)
    plain = plainly(club, monkeypatch)
    better, run, inside = Finer._better_pitches, Silent.run, list[object]()  # noqa: SLF001

    def entered(self: Finer, coarse: Bounded, minutes: int | None) -> None:
        inside.append(minutes)
        better(self, coarse, minutes)

    def pressed(self: Silent) -> Any:
        if inside:
            os.kill(os.getpid(), signal.SIGINT)
        return run(self)

    monkeypatch.setattr(Finer, "_better_pitches", entered)
    monkeypatch.setattr(Silent, "run", pressed)
    found, tried = in_steps(club, monkeypatch)
    assert tried == [None]
    assert found.stopped
    owed(found, plain, 3)


def test_where_no_finer_model_can_say_the_plan_it_stays_as_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    club = late_for_good(**WIDE)
    plain = plainly(club, monkeypatch)
    monkeypatch.setattr(Finer, "_begun", lambda *_, nearer: None)
    found, tried = in_steps(club, monkeypatch)
    assert tried == [None, 0, 15, 30, 60, FULL]
    owed(found, plain, 3)
    assert not found.stopped


# towns


@pytest.mark.parametrize(("teams", "use", "zones", "seed"), TOWNS)
def test_towns_are_booked_as_well_as_in_one_model(
    teams: int, use: float, zones: int, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    club = a_town(teams, use, zones, seed).club
    pitches = tuple(
        one.model_copy(update={"quality": 5 - (number + seed) % 2, "length": 60 + 20 * (number % 3)})
        for number, one in enumerate(club.pitches)
    )
    practices = tuple(
        one.model_copy(update={"m2_most": 110.0}) if one.id == SMALL_GAME.id else one for one in club.practices
    )
    club = club.model_copy(update={"pitches": pitches, "practices": practices})
    plain = plainly(club, monkeypatch)
    found, _ = in_steps(club, monkeypatch)
    assert figures(found) == figures(plain)
    assert proof(found, ROOM).value
