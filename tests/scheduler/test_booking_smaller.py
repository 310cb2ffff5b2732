"""What makes models of bookings smaller changes no answer: slots without staff, first aid, parts of clubs."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from constraints import RULES
from constraints.kit import Kit
from scheduler.booking import bounded, first
from scheduler.booking.adults import Adults
from scheduler.booking.book import book
from scheduler.booking.bounded import Bounded
from scheduler.booking.branching import Proposal
from scheduler.booking.build import build_booking
from scheduler.booking.nearby import Nearby
from scheduler.booking.twins import in_order
from scheduler.booking.unmet import unmet_of
from scheduler.club.club import Club
from scheduler.club.part import part_of
from scheduler.club.people import Coach
from scheduler.club.when import Span
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.progress import silent
from scheduler.solving import make_solver
from tests.clubs import a_club
from tests.scheduler.test_booking_draft import breaches, lawful_slots, paid
from tests.speed.clubs import a_town, known_week

SMALL = {"outsiders": False, "certain_only": True}


# slots in which too few of a session's own adults are free


@pytest.mark.parametrize("seed", [1, 2])
def test_no_week_has_a_slot_that_was_left_out_for_want_of_adults(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each, tried in the model that still has it, allows no week at all; and without them nothing is worse."""
    club = a_town(6, 0.6, 3, seed).club
    lean = build_booking(club, RULES, outsiders=False, certain_only=True)
    gone = {s: set(lean.narrowed[s]) - set(lean.slots(s)) for s in lean.narrowed}
    assert sum(map(len, gone.values())) > 20
    monkeypatch.setattr(Adults, "count_own", lambda _: {})
    whole = build_booking(club, RULES, outsiders=False, certain_only=True, wishes=False)
    for session in gone:
        literals = [whole.at(session, slot) for slot in sorted(gone[session])]
        model = whole.model.clone()
        model.add_bool_or([literal for literal in literals if literal is not None])
        if literals:
            assert make_solver(20.0).solve(model).name == "INFEASIBLE"
    without = book(club, RULES)
    monkeypatch.undo()
    usual = book(club, RULES)
    assert isinstance(usual, Booked)
    assert isinstance(without, Booked)
    assert usual.proven
    assert without.proven
    assert paid(club, usual.plan) == paid(club, without.plan)


def test_a_session_with_too_few_of_its_own_in_every_slot_keeps_them_all() -> None:
    """Others help it then, so no slot is left out; a session with enough in some slots keeps those alone."""
    club = a_town(6, 0.6, 3, 1).club
    short = club.teams[0]
    few = club.model_copy(update={"teams": (short.model_copy(update={"coaches": short.coaches[:1]}), *club.teams[1:])})
    model = build_booking(few, RULES, outsiders=False, certain_only=True)
    for ask in few.sessions:
        helped = short.id in ask.teams
        assert (model.adults.least_lent(ask.id) > 0) is helped
        if helped:
            assert model.slots(ask.id) == model.narrowed[ask.id]
    assert any(len(model.slots(ask.id)) < len(model.narrowed[ask.id]) for ask in few.sessions)


# first aid


def without_first_aid(club: Club, *, but: int) -> Club:
    """The club with so many first aiders in each team, first down the sheet."""
    aiders = {coach for team in club.teams for coach in team.coaches[:but]}
    yesterday = club.week - dt.timedelta(days=1)

    def with_date(coach: Coach) -> Coach:
        return coach if coach.id in aiders else coach.model_copy(update={"first_aid_until": yesterday})

    return club.model_copy(update={"coaches": tuple(with_date(coach) for coach in club.coaches)})


@pytest.mark.parametrize("aiders", [0, 1])
def test_where_a_session_may_lack_a_first_aider_the_week_has_one(aiders: int) -> None:
    """One team in six has no first aider of its own (or one of four adults, two of whom are enough)."""
    club = a_town(6, 0.6, 3, 1).club
    bare = club.teams[2]
    few = without_first_aid(club, but=2)
    mine = set(bare.coaches[aiders:])
    yesterday = club.week - dt.timedelta(days=1)
    few = few.model_copy(
        update={
            "coaches": tuple(
                coach.model_copy(update={"first_aid_until": yesterday}) if coach.id in mine else coach
                for coach in few.coaches
            )
        }
    )
    found = book(few, RULES)
    assert isinstance(found, Booked)
    assert breaches(few, found.plan) == []


def test_two_adults_who_are_enough_without_the_first_aider_do_not_train_alone() -> None:
    """Monday is wished for, the one first aider of three adults can come on Tuesday alone: Tuesday it is."""
    club = a_club(players=12)
    evening = Span(16 * 60, 22 * 60)
    both = frozenset({0, 1})

    def adult(number: int, days: frozenset[int], until: dt.date) -> Coach:
        return Coach(id=f"adult {number}", name=f"Adult {number}", first_aid_until=until,
                     checked_until=club.coaches[0].checked_until, available=((days, evening),))  # fmt: skip

    lapsed = club.week - dt.timedelta(days=1)
    adults = (adult(1, both, lapsed), adult(2, both, lapsed), adult(3, both - {0}, club.week + dt.timedelta(days=9)))
    team = club.teams[0].model_copy(update={"coaches": tuple(one.id for one in adults)})
    ask = club.sessions[0].model_copy(update={"wished_days": frozenset({0})})
    club = club.model_copy(update={"coaches": adults, "teams": (team,), "sessions": (ask,)})
    found = book(club, RULES)
    assert isinstance(found, Booked)
    assert breaches(club, found.plan) == []
    assert [one.date.weekday() for one in found.plan.sessions] == [1]


# kit that is counted by who comes


def with_so_many(club: Club, item: str, count: int) -> Club:
    kit = (row.model_copy(update={"count": count}) if row.item == item else row for row in club.kit)
    return club.model_copy(update={"kit": tuple(kit)})


@pytest.mark.parametrize(
    ("teams", "zones", "seed", "item", "count", "large"),
    [
        (6, 3, 1, "bib", 16, False),
        (6, 3, 1, "bib", 22, False),
        (6, 4, 1, "ball size 4", 37, False),
        (3, 4, 2, "bib", 10, True),
        (3, 4, 2, "bib", 16, True),
        (3, 4, 2, "ball size 4", 28, True),
    ],
)
def test_kit_that_waits_for_a_plan_that_is_short_changes_no_figure(
    teams: int, zones: int, seed: int, item: str, count: int, large: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Children may stay away for want of kit; whoever does not wait counts them all from the start."""
    club = with_so_many(a_town(teams, 0.9, zones, seed, shared=2).club, item, count)
    if large:
        monkeypatch.setattr(first, "LARGE_WITH_KNOTS", 0)
        monkeypatch.setattr(first, "MIDDLE", 0)
    post = Kit._post_item  # noqa: SLF001

    def noted(self: Kit, *about: Any, counted: bool) -> bool:
        posted.append(counted)
        return post(self, *about, counted=counted or at_once)

    figures = []
    for at_once in (False, True):
        posted = list[bool]()
        monkeypatch.setattr(Kit, "_post_item", noted)
        found = book(club, RULES, explain=False)
        assert any(posted) or at_once
        if isinstance(found, Booked):
            assert found.proven
            assert breaches(club, found.plan) == []
        figures.append(paid(club, found.plan) if isinstance(found, Booked) else None)
    assert figures[0] == figures[1]
    assert (figures[0] is None) == ((teams, count) in {(6, 16), (3, 10)})


# parts of a club


@pytest.mark.parametrize("shared", [0, 2])
def test_a_part_of_a_club_knows_all_about_its_own_sessions(shared: int) -> None:
    """What the whole club pays for its parts' teams its parts pay too, and faults planted in a part are seen there."""
    club = a_town(12, 0.8, 3, 2, shared=shared).club
    found = book(club, RULES, limit=5.0)
    assert isinstance(found, Booked)
    plan, near = found.plan, Nearby(club, RULES, lawful_slots(club))
    seen = 0
    for team in club.teams:
        part = near._part({team.id}, plan)  # noqa: SLF001
        small = near._club_of(part, plan)  # noqa: SLF001
        mine = plan.model_copy(update={"sessions": tuple(one for one in plan.sessions if one.session in part)})
        assert breaches(small, mine) == []
        wished = [row for row in unmet_of(club, plan, RULES) if row.wish == "wished days" and row.about[0] in part]
        assert [row for row in unmet_of(small, mine, RULES) if row.wish == "wished days"] == wished
        late = mine.sessions[0].model_copy(update={"coaches": ()})
        assert breaches(small, mine.model_copy(update={"sessions": (late, *mine.sessions[1:])}))
        seen += len(wished)
    assert seen


def test_who_is_in_none_of_the_sessions_is_unknown_to_a_part() -> None:
    club = a_town(6, 0.5, 3, 1, shared=2).club
    small = part_of(club, {club.sessions[0].id}, {"coach 005 1"})
    members = {player.id for player in club.members(club.sessions[0].id)}
    assert {player.id for player in small.players} == members
    assert small.members(club.sessions[0].id) == club.members(club.sessions[0].id)
    assert {coach.id for coach in small.coaches} >= {*club.own_coaches(club.sessions[0].id), "coach 005 1"}
    assert len(small.coaches) < len(club.coaches)
    assert all(match.team in {team.id for team in small.teams} for match in small.matches)


# a better plan nearby before a stage


def test_ctrl_c_while_looking_nearby_keeps_the_plan_and_claims_nothing_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounded, "proposal", lambda *_, **__: Proposal(None, 0.001, False))  # else it finds all
    monkeypatch.setattr(bounded, "NEARLY", 0)
    monkeypatch.setattr(bounded, "STEEP", 10**9)
    town = a_town(12, 0.9, 3, 1)
    club = town.club
    model = build_booking(club, RULES, outsiders=False, certain_only=True, relaxed=True)
    calls = []

    def pressed(plan: WeekPlan, left: float, settled: object, allowed: object) -> tuple[WeekPlan, float, bool]:
        calls.append(settled)
        return plan, left, True

    stages = Bounded(model, 20.0, silent, nearer=pressed)
    stages.is_large = True
    assert stages.assume_least()
    assert stages.start_from(in_order(club, known_week(town)))
    stages.run()
    assert len(calls) == 1
    assert stages.stopped
    assert not stages.finished
    assert stages.plan is not None
    assert breaches(club, stages.plan) == []
    assert not all(proof.proved for proof in stages.proofs)
    assert all(proof.proved == (proof.value == proof.bound) for proof in stages.proofs)
