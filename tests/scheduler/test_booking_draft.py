"""A first week by draft, the same week made better part by part, and both against what the whole model proves."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from constraints import RULES
from constraints.pitch_bookings import PitchBookings
from scheduler.booking import bounded, first
from scheduler.booking.book import book
from scheduler.booking.branching import Proposal
from scheduler.booking.build import build_booking, narrowed_booking
from scheduler.booking.climb import Climb
from scheduler.booking.draft.claims import claims_of
from scheduler.booking.draft.draft import draft_of
from scheduler.booking.draft.placing import Placing
from scheduler.booking.nearby import Nearby
from scheduler.booking.slots import Slot, planned_at
from scheduler.booking.stages import Stages
from scheduler.booking.twins import order_twins, twins_of
from scheduler.club.club import Club
from scheduler.contract import Severity, is_booking_rule
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.priorities import BOOKING_ORDER
from scheduler.progress import silent
from tests.clubs import a_club
from tests.speed.clubs import a_town
from tests.towns import a_town as a_tangled_town

ROOT = Path(__file__).parents[2]
HOME = 20 * 60 + 30


def lawful_slots(club: Club) -> dict[str, list[Slot]]:
    return narrowed_booking(club, RULES).narrowed


def as_plan(club: Club, slots: dict[str, Slot]) -> WeekPlan:
    sessions = tuple(planned_at(club.session(session), slot) for session, slot in slots.items())
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=sessions)


def breaches(club: Club, plan: WeekPlan) -> list[str]:
    rules = [rule for rule in RULES if is_booking_rule(rule) and rule.off(club) is None]
    return [f.text for rule in rules for f in rule.audit(club, plan) if f.severity is Severity.BREACH]


def paid(club: Club, plan: WeekPlan) -> list[float]:
    rules = [rule for rule in RULES if is_booking_rule(rule) and rule.off(club) is None]
    found = [f for rule in rules for f in rule.audit(club, plan) if f.severity is Severity.NOTE]
    return [sum(f.by for f in found if f.rule == wish) for wish in BOOKING_ORDER]


@pytest.mark.parametrize(("teams", "zones", "shared"), [(12, 3, 2), (30, 3, 0), (30, 4, 2), (60, 3, 2)])
def test_a_full_week_has_a_draft_on_lawful_ground(teams: int, zones: int, shared: int) -> None:
    """The club is full to 90 %; whether ground is used twice is for the audit of pitch bookings to say."""
    club = a_town(teams, 0.9, zones, 1, shared=shared).club
    slots = lawful_slots(club)
    drafted = draft_of(club, slots)
    assert drafted is not None
    assert list(drafted) == [ask.id for ask in club.sessions]
    assert all(slot in slots[session] for session, slot in drafted.items())
    assert list(PitchBookings().audit(club, as_plan(club, drafted))) == []
    for team in club.teams:
        dates = [drafted[ask.id].date for ask in club.sessions if team.id in ask.teams]
        assert len(set(dates)) == len(dates)


def test_ground_across_another_pitch_is_minded() -> None:
    club = a_tangled_town(teams=6, seed=1)
    pitches = (
        *club.pitches,
        club.pitches[0].model_copy(update={"id": "Across", "lies_on": club.pitches[0].id, "zones": 2}),
    )
    club = club.model_copy(update={"pitches": pitches})
    drafted = draft_of(club, lawful_slots(club))
    assert drafted is not None
    assert list(PitchBookings().audit(club, as_plan(club, drafted))) == []


def test_what_cannot_all_be_placed_leaves_somebody_out() -> None:
    """Two sessions of one team and a single evening: one is placed, and there is no draft."""
    club = a_club(sessions=2)
    slots = lawful_slots(club)
    date = min(slot.date for of in slots.values() for slot in of)
    evening = {session: [slot for slot in of if slot.date == date] for session, of in slots.items()}
    assert all(evening.values())
    placing = Placing(claims_of(club, evening))
    assert len(placing.search()) == 1
    assert draft_of(club, evening) is None


def test_a_time_after_which_children_must_be_home_is_disliked() -> None:
    """The younger finish by 20:30: no strict sketch has a later end, and a lax one would rather have an earlier."""
    club = a_town(12, 0.75, 3, 1).club
    young = {ask.id for ask in club.sessions if club.team(ask.teams[0]).age_group <= 12}
    slots = lawful_slots(club)
    assert any(slot.end > HOME for session in young for slot in slots[session])
    for one in claims_of(club, slots, strict=True).wanted:
        assert one.session not in young or max(one.times.end) <= HOME
    for one in claims_of(club, slots, strict=False).wanted:
        late = one.times.end > HOME
        if one.session in young and late.any():
            assert one.times.dislike[late].min() > one.times.dislike[~late].min()


def test_a_start_is_said_in_the_model_as_it_is() -> None:
    """Twins are swapped into the order of the sheet, which the models of the whole week demand."""
    club = a_town(12, 0.9, 4, 2).club
    alike = tuple(ask.model_copy(update={"wished_days": frozenset()}) for ask in club.sessions)
    club = club.model_copy(update={"sessions": alike})
    narrowed = narrowed_booking(club, RULES)
    start = first.first_week(club, RULES, narrowed.narrowed, 60.0, silent)
    assert start is not None
    when = {one.session: (one.date, one.start) for one in start.sessions}
    assert len(twins_of(club)) == 12
    assert all(when[one] <= when[other] for one, other in twins_of(club))
    model = build_booking(club, RULES, relaxed=True, like=narrowed)
    order_twins(model)
    stages = Stages(model, 60.0)
    assert stages.start_from(start)
    assert stages.plan is not None
    assert {one.session: (one.date, one.start) for one in stages.plan.sessions} == when


@pytest.mark.parametrize("shared", [0, 2])
def test_part_by_part_is_lawful_and_never_worse(shared: int) -> None:
    club = a_town(12, 0.9, 4, 2, shared=shared).club
    slots = lawful_slots(club)
    start = first.first_week(club, RULES, slots, 60.0, silent)
    assert start is not None
    assert breaches(club, start) == []
    better, left, stopped = Nearby(club, RULES, slots).improved(start, 1.5, silent)
    assert breaches(club, better) == []
    assert paid(club, better) < paid(club, start)
    assert left < 1.5
    assert not stopped


def test_what_the_audit_of_the_whole_refuses_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    club = a_town(12, 0.9, 4, 2).club
    slots = lawful_slots(club)
    start = first.first_week(club, RULES, slots, 60.0, silent)
    assert start is not None
    monkeypatch.setattr(Nearby, "is_lawful", lambda *_: False)
    assert Nearby(club, RULES, slots).improved(start, 0.5, silent)[0] == start


@pytest.mark.parametrize(
    "club",
    [a_town(6, 0.9, 3, 1, shared=2).club, a_town(6, 0.9, 4, 2, shared=2).club, a_tangled_town(teams=4, seed=3)],
    ids=["thirds", "quarters", "three pitches"],
)
@pytest.mark.parametrize("many", [0, 10**9])
def test_a_start_changes_no_figure(club: Club, many: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same wishes met as from nothing, each proven, on small clubs taken for large ones and very large ones."""
    usual = book(club, RULES)
    monkeypatch.setattr(first, "LARGE", 0)
    monkeypatch.setattr(first, "MIDDLE", 0)
    monkeypatch.setattr(bounded, "MANY", many)
    started = book(club, RULES)
    assert isinstance(usual, Booked)
    assert isinstance(started, Booked)
    assert usual.proven
    assert started.proven
    assert breaches(club, started.plan) == []
    assert paid(club, started.plan) == paid(club, usual.plan)


def test_beyond_models_of_the_week_only_what_is_not_paid_is_proved(monkeypatch: pytest.MonkeyPatch) -> None:
    club = a_town(12, 0.9, 3, 1).club
    monkeypatch.setattr(first, "LARGE", 0)
    monkeypatch.setattr(first, "MIDDLE", 0)
    monkeypatch.setattr(first, "TOO_MANY", 0)
    found = book(club, RULES, limit=1.0)
    assert isinstance(found, Booked)
    assert breaches(club, found.plan) == []
    values = {proof.measure: proof.value for proof in found.plan.proofs}
    assert [values.get(wish, 0.0) for wish in BOOKING_ORDER] == paid(club, found.plan)
    assert all(proof.proved == (proof.value == 0) and proof.bound == 0 for proof in found.plan.proofs)


@pytest.mark.parametrize("shared", [0, 2])
def test_a_forbidden_week_never_comes_again(shared: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not as the start either: others are there, or for other minutes."""
    club = a_town(6, 0.9, 3, 1, shared=shared).club
    monkeypatch.setattr(first, "LARGE", 0)
    monkeypatch.setattr(first, "MIDDLE", 0)
    narrowed = narrowed_booking(club, RULES)
    week = first.first_week(club, RULES, narrowed.narrowed, 60.0, silent)
    assert week is not None
    found = book(club, RULES, forbidden=[week], explain=False)
    who = {one.session: (one.players, one.stood_down) for one in week.sessions}
    assert isinstance(found, Booked)
    assert breaches(club, found.plan) == []
    assert {one.session: (one.players, one.stood_down) for one in found.plan.sessions} != who
    monkeypatch.setattr(Stages, "run", lambda _: None)  # out of time before anything is found
    assert Climb(club, RULES, silent, narrowed=narrowed, forbidden=[week]).run(30.0, week).plan is None


def test_a_week_that_breaks_a_rule_is_no_start() -> None:
    club = a_town(6, 0.75, 3, 1).club
    found = book(club, RULES)
    assert isinstance(found, Booked)
    one, other, *rest = found.plan.sessions
    clash = other.model_copy(update={"date": one.date, "start": one.start, "pitch": one.pitch, "zones": one.zones})
    clash = clash.model_copy(update={"end": clash.start + club.session(other.session).minutes})
    broken = found.plan.model_copy(update={"sessions": (one, clash, *rest)})
    narrowed = narrowed_booking(club, RULES)
    ended = Climb(club, RULES, silent, narrowed=narrowed).run(30.0, broken)
    assert ended.plan is not None
    assert breaches(club, ended.plan) == []


def test_ctrl_c_part_by_part_keeps_a_lawful_week(monkeypatch: pytest.MonkeyPatch) -> None:
    club = a_town(12, 0.9, 4, 2).club
    monkeypatch.setattr(first, "LARGE", 0)
    monkeypatch.setattr(first, "MIDDLE", 0)
    monkeypatch.setattr(bounded, "MANY", 0)
    monkeypatch.setattr(bounded, "proposal", lambda *_, **__: Proposal(None, 0.001, False))
    usual, calls = Nearby.rebooked, list[set[str]]()

    def interrupted(
        self: Nearby, plan: WeekPlan, teams: set[str], allowed: bounded.Allowed | None = None
    ) -> tuple[WeekPlan | None, float]:
        calls.append(teams)
        if len(calls) == 2:
            raise KeyboardInterrupt
        return usual(self, plan, teams, allowed)

    monkeypatch.setattr(Nearby, "rebooked", interrupted)
    found = book(club, RULES)
    assert isinstance(found, Booked)
    assert found.stopped
    assert not found.proven
    assert breaches(club, found.plan) == []


def test_same_draft_and_same_week_whatever_the_hash_seed() -> None:
    code = (
        "import tests.scheduler.test_booking_draft as t; from scheduler.progress import silent;"
        "club = t.a_town(12, 0.9, 3, 1, shared=2).club; slots = t.lawful_slots(club);"
        "week = t.first.first_week(club, t.RULES, slots, 60.0, silent);"
        "print(t.Nearby(club, t.RULES, slots).improved(week, 0.8, silent)[0].to_json())"
    )
    weeks = {
        subprocess.run(
            [sys.executable, "-c", code], cwd=ROOT, check=True, capture_output=True, text=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
        ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    assert len(weeks) == 1
    assert "sessions" in weeks.pop()
