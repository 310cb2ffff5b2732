"""A few teams book anew: what does not change in the sessions of the others."""

from __future__ import annotations

from typing import Any

import pytest

from constraints import RULES
from scheduler.booking import nearby
from scheduler.booking.book import book
from scheduler.booking.build import build_booking
from scheduler.booking.model import BookingModel
from scheduler.booking.nearby import Nearby
from scheduler.booking.slots import slot_of
from scheduler.outcome import Booked
from scheduler.plan.plan import PlannedSession
from scheduler.solver import cp_model
from scheduler.solving import make_solver
from tests.scheduler.test_booking_draft import lawful_slots
from tests.speed.clubs import a_town


def test_sessions_that_do_not_change_keep_their_adults(monkeypatch: pytest.MonkeyPatch) -> None:
    """Those of the other teams of a part, one and all; who is kept can neither go nor come."""
    club = a_town(6, 0.5, 3, 3).club
    shared = (*club.team("T000").coaches, *club.team("T001").coaches)
    teams = tuple(team.model_copy(update={"coaches": shared}) if team.id == "T000" else team for team in club.teams)
    club = club.model_copy(update={"teams": teams})
    booked, keep, kept = book(club, RULES), nearby._keep_adults, list[str]()  # noqa: SLF001
    assert isinstance(booked, Booked)

    def noted(model: BookingModel, planned: PlannedSession) -> None:
        kept.append(planned.session)
        keep(model, planned)

    monkeypatch.setattr(nearby, "_keep_adults", noted)
    near = Nearby(club, RULES, lawful_slots(club))
    near.rebooked(booked.plan, {"T001"})
    others = {session for session in near._part({"T001"}, booked.plan) if club.session(session).teams != ("T001",)}  # noqa: SLF001
    assert set(kept) == others
    assert others
    planned = booked.plan.by_session[min(others)]
    held = {one.session: [slot_of(club, one)] for one in booked.plan.sessions}
    for coaches in (planned.coaches, planned.coaches[:-1]):
        model = build_booking(club, RULES, outsiders=False, slots=held)
        keep(model, planned)
        for coach, literal in model.adults.possible(planned.session).items():
            model.model.add(literal == int(coach in coaches))
        found = make_solver(5.0).solve(model.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        assert found == (coaches == planned.coaches)


def test_nobody_helps_who_belongs_to_sessions_out_of_sight(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the adults of a family's other team the one who leads a team far off as well may not, the others may."""
    club = a_town(8, 0.5, 3, 3).club
    both = (*club.team("T000").coaches, club.team("T006").coaches[0])
    teams = (team.model_copy(update={"coaches": both}) if team.id == "T000" else team for team in club.teams)
    club = club.model_copy(update={"teams": tuple(teams)})
    booked, keep = book(club, RULES), Nearby._keep_away  # noqa: SLF001
    assert isinstance(booked, Booked)
    helpful = dict[str, set[bool]]()

    def noted(near: Nearby, model: BookingModel, planned: PlannedSession, *about: Any) -> None:
        keep(near, model, planned, *about)
        for coach in both:
            literal = model.adults.at(planned.session, coach)
            assert literal is not None
            asked = model.model.clone()
            asked.add(literal == 1)
            helpful.setdefault(coach, set()).add(make_solver(5.0).solve(asked) in (cp_model.OPTIMAL, cp_model.FEASIBLE))

    monkeypatch.setattr(Nearby, "_keep_away", noted)
    near = Nearby(club, RULES, lawful_slots(club), frozenset({"T001 1", "T001 2"}))
    assert "T006 1" not in near._part({"T001"}, booked.plan)  # noqa: SLF001
    near.rebooked(booked.plan, {"T001"})
    assert helpful[both[-1]] == {False}
    assert any(True in helpful[coach] for coach in both[:-1])
