"""First weeks with less lost, adults lent between teams who book anew, and starts from nothing."""

from __future__ import annotations

import pytest

from constraints import RULES
from scheduler.booking import first, untie
from scheduler.booking.book import book
from scheduler.booking.build import narrowed_booking
from scheduler.booking.climb import Climb
from scheduler.booking.knots import Knots
from scheduler.booking.nearby import Nearby
from scheduler.booking.twins import in_order
from scheduler.booking.untie import paid, untied
from scheduler.club.club import Club
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.progress import silent
from tests.scheduler.test_booking_draft import breaches
from tests.speed.clubs import Town, a_town, known_week

WISHES = [rule for rule in RULES if not rule.firm]
TOWNS = {name: a_town(12, 0.9, zones, seed, shared=2) for name, zones, seed in (("thirds", 3, 1), ("quarters", 4, 1))}


def parts_of(town: Town) -> tuple[Club, WeekPlan, Knots, Nearby]:
    """The club, its known week in which children come to their own team alone, its knots and its neighbourhoods."""
    club = town.club
    narrowed = narrowed_booking(club, RULES)
    knots = Knots(narrowed, RULES, 60.0)
    return club, in_order(club, known_week(town)), knots, Nearby(club, RULES, narrowed.narrowed, knots.sessions)


@pytest.fixture(scope="module")
def untied_towns() -> dict[str, WeekPlan]:
    """The towns' known weeks with less lost."""
    found = {}
    for name, town in TOWNS.items():
        club, week, knots, near = parts_of(town)
        found[name], spent, stopped = untied(near, club, RULES, week, knots, 1.5, silent)
        assert 0.0 < spent < 2.5
        assert not stopped
    return found


@pytest.mark.parametrize("name", TOWNS)
def test_less_is_lost_and_never_less_than_a_knot_must(name: str, untied_towns: dict[str, WeekPlan]) -> None:
    """Of these towns one knot cannot have its least in the whole, or was not brought to it; the others are."""
    club, week, knots, _ = parts_of(TOWNS[name])
    plan, reached = untied_towns[name], 0
    assert breaches(club, plan) == []
    for knot in (*knots.known, *knots.plain):
        least, before, after = knot[3:], paid(club, WISHES, week, knot), paid(club, WISHES, plan, knot)
        assert least <= after < before
        reached += after[:2] == least[:2]
    assert reached == 2


def test_adults_are_lent_where_they_are_needed_nowhere_else(untied_towns: dict[str, WeekPlan]) -> None:
    """And weeks with adults lent are made better part by part like any other, the lent ones with their own teams."""
    club, _, knots, near = parts_of(TOWNS["quarters"])
    plan = untied_towns["quarters"]
    lent = {one.session: near._lent(one) for one in plan.sessions if near._lent(one)}  # noqa: SLF001
    assert lent
    for session, coaches in lent.items():
        teams = set(club.session(session).teams)
        own = {ask.id for ask in club.sessions if coaches & set(club.own_coaches(ask.id))}
        assert own <= near._part(teams, plan)  # noqa: SLF001
        for helped in (knots.sessions, frozenset[str]()):
            near = Nearby(club, RULES, narrowed_booking(club, RULES).narrowed, helped)
            found, _ = near.rebooked(plan, teams | {"T000"})
            assert found is not None
            assert breaches(club, found) == []


def test_nobody_is_lent_who_may_be_needed_elsewhere() -> None:
    """However many teams book anew, and whatever session may be helped."""
    club, week, _, _ = parts_of(TOWNS["quarters"])
    near = Nearby(club, RULES, narrowed_booking(club, RULES).narrowed, frozenset(week.by_session))
    lent = 0
    for number in range(0, len(club.teams) - 1, 2):
        found, _ = near.rebooked(week, {team.id for team in club.teams[number : number + 2]})
        if found is not None:
            assert breaches(club, found) == []
            lent += sum(len(near._lent(one)) for one in found.sessions)  # noqa: SLF001
    assert lent


def test_ctrl_c_keeps_the_week_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    club, week, knots, near = parts_of(TOWNS["thirds"])

    def pressed(*about: object, **more: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Nearby, "rebooked", pressed)
    assert untied(near, club, RULES, week, knots, 10.0, silent)[::2] == (week, True)


@pytest.mark.parametrize("when", ["knots", "_model"])
def test_ctrl_c_before_anything_is_solved_keeps_the_first_week(when: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """While knots are looked at, or the smallest model is made."""
    monkeypatch.setattr(first, "LARGE_WITH_KNOTS", 0)

    def pressed(*about: object, **more: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Climb, when, pressed)
    club = TOWNS["thirds"].club
    found = book(club, RULES)
    assert isinstance(found, Booked)
    assert found.stopped
    assert not found.proven
    assert breaches(club, found.plan) == []


def test_out_of_time_nothing_is_tried() -> None:
    club, week, knots, near = parts_of(TOWNS["thirds"])
    assert untied(near, club, RULES, week, knots, 0.0, silent) == (week, 0.0, False)


def test_who_is_in_the_way_moves_first_and_not_always_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody but them is on the ground that the knot's week takes; who was asked before weighs more."""
    club, week, knots, near = parts_of(TOWNS["thirds"])
    knot = knots.plain[0]
    moving = untie._moving(near, knots, knot, week, dict.fromkeys(week.by_session, 0))  # noqa: SLF001
    heavy = {session: 9 * (session in moving) for session in week.by_session}
    others = untie._moving(near, knots, knot, week, heavy)  # noqa: SLF001
    assert moving
    assert others != moving
    assert not (moving | others) & set(knot.sessions)


# the smallest model from nothing, before a first week is gone on from


def figures(club: Club) -> dict[str, float]:
    found = book(club, RULES)
    assert isinstance(found, Booked)
    assert found.proven
    return {proof.measure: proof.value for proof in found.plan.proofs if proof.value}


@pytest.mark.parametrize("share", [1 / 3, 0.002])
def test_a_start_from_nothing_changes_no_figure(share: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whether the smallest model is solved from nothing, or comes to nothing in its time."""
    club = a_town(6, 0.9, 3, 1, shared=2).club
    usual = figures(club)
    monkeypatch.setattr(first, "LARGE_WITH_KNOTS", 0)
    monkeypatch.setattr(first, "AFRESH", share)
    assert figures(club) == usual
    monkeypatch.setattr(first, "MIDDLE", 0)
    assert figures(club) == usual
