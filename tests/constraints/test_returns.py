"""A child on the way back after a blow to the head, in the audit and in the rotation."""

from __future__ import annotations

import datetime as dt

import pytest
from ortools.sat.python import cp_model

from constraints.returns import Returns
from scheduler.club.club import Club
from scheduler.club.people import Match, Return
from scheduler.club.programme import Kind
from scheduler.contract import Severity
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.rotation.model import RotationModel
from scheduler.rotation.setting import settings
from scheduler.welfare.returns import PROTOCOLS, Protocol, Step, child_step, stand_down_spans
from tests.clubs import MONDAY, a_club
from tests.plans import counted_off
from tests.rotations import a_practice, a_rotation_club, a_squad, booked, every_filling, picture

RULE = Returns()
MIA = "Herons Mia"
# injured 12 days, symptoms over 9 days before the Monday: contact not before Monday + 5 (14 days after they ended)
EARLY = Return(player=MIA, injured=MONDAY - dt.timedelta(days=12), symptoms_ended=MONDAY - dt.timedelta(days=9))


def planned(club: Club, day: int = 0, hold: bool = False) -> WeekPlan:
    plan = counted_off(club, (day, 1080))
    if not hold:
        return plan
    downs = tuple((one.session, down) for one in plan.sessions for down in stand_down_spans(club, one))
    return counted_off(club, (day, 1080), stood_down=downs)


def test_every_rep_with_opponents_is_a_breach() -> None:
    """Six reps of 4 minutes at both ends and three of 8 in the game: 24 + 24 minutes; the warm-up is open."""
    found = list(RULE.audit(club := a_club(returns=(EARLY,)), planned(club)))
    assert sum(int(one.by) for one in found) == 48
    assert {one.severity for one in found} == {Severity.BREACH}
    assert {one.about for one in found} == {(MIA, "Herons 1")}


def test_stood_down_as_the_booking_does_it_is_silent() -> None:
    club = a_club(returns=(EARLY,))
    assert list(RULE.audit(club, planned(club, hold=True))) == []


def test_a_bare_booking_counts_presence() -> None:
    """Blocks 2 and 3 last 30 and 28 minutes; with the stand-downs nothing is left."""
    club = a_club(returns=(EARLY,))

    def bare(plan: WeekPlan) -> WeekPlan:
        sessions: tuple[PlannedSession, ...] = tuple(one.model_copy(update={"blocks": ()}) for one in plan.sessions)
        return plan.model_copy(update={"sessions": sessions})

    assert [int(one.by) for one in RULE.audit(club, bare(planned(club)))] == [30, 28]
    assert list(RULE.audit(club, bare(planned(club, hold=True)))) == []


def test_symptoms_close_the_whole_session() -> None:
    club = a_club(returns=(Return(player=MIA, injured=MONDAY - dt.timedelta(days=5)),))
    assert [int(one.by) for one in RULE.audit(club, planned(club))] == [75]
    assert list(RULE.audit(club, planned(club, hold=True))) == []


@pytest.mark.parametrize(("day", "cleared", "lawful"), [(4, True, False), (5, False, False), (5, True, True)])
def test_the_date_and_the_yes_are_both_needed(day: int, cleared: bool, lawful: bool) -> None:
    """Monday + 5 is 14 days after symptoms ended; day 21 (Monday + 9) is for matches, not for training."""
    club = a_club(returns=(EARLY.model_copy(update={"cleared": cleared}),))
    assert (list(RULE.audit(club, planned(club, day))) == []) is lawful


@pytest.mark.parametrize("protocol", PROTOCOLS, ids=lambda one: one.id)
@pytest.mark.parametrize("born", [dt.date(2014, 5, 1), dt.date(2006, 5, 1)])
def test_the_audit_counts_the_days_the_dates_were_made_of(protocol: Protocol, born: dt.date) -> None:
    """Days between dates, counted by the audit, against the dates that the booking stands children down by."""
    minutes = {Step.STAY_OUT: 75, Step.NO_HEAD_RISK: 48, Step.EVERYTHING: 0}
    seen: set[Step] = set()
    for injured in (0, 1, 2, 3, 4, 5, 6, 20, 21, 22, 23, 24):
        for ended in sorted({injured + 1, injured, injured - 1, 15, 14, 13, 5, 4, 3, 1, 0}):
            row = Return(player=MIA, injured=MONDAY - dt.timedelta(days=injured), cleared=True,
                         symptoms_ended=MONDAY - dt.timedelta(days=ended))  # fmt: skip
            club = a_club(returns=(row,), rule_set=protocol.id)
            players = [p.model_copy(update={"born": born}) if p.id == MIA else p for p in club.players]
            club = club.model_copy(update={"players": tuple(players)})
            step = child_step(club, MIA, MONDAY)
            assert sum(int(one.by) for one in RULE.audit(club, planned(club))) == minutes[step], row
            seen.add(step)
    assert seen == set(Step)


def test_neutral_words_outside_the_welfare_file() -> None:
    club = a_club(returns=(EARLY,))
    found = next(iter(RULE.audit(club, planned(club))))
    assert found.text == "Herons 1, block 2, rep 1: Mia takes part against a limit (welfare file)"
    assert "contact not before 2026-09-12" in found.private
    assert "no clearance entered" in found.private


def test_a_match_too_early_is_a_caution() -> None:
    match = Match(team="Herons", date=MONDAY + dt.timedelta(days=6), kick_off=600, minutes=50, players=(MIA,))
    club = a_club(returns=(EARLY.model_copy(update={"cleared": True}),), matches=(match,))
    found = list(RULE.audit(club, planned(club, 5)))
    assert [one.severity for one in found] == [Severity.CAUTION]
    assert "head" not in found[0].text


def test_off_where_nobody_is_entered() -> None:
    assert RULE.off(a_club()) == "the Returns sheet is empty"
    assert RULE.off(a_club(returns=(EARLY,))) is None


def _solutions(model: RotationModel) -> set[object]:
    class Pictures(cp_model.CpSolverSolutionCallback):
        def __init__(self) -> None:
            super().__init__()
            self.found: set[object] = set()

        def on_solution_callback(self) -> None:
            self.found.add(picture(model.read(self)))

    solver = cp_model.CpSolver()
    solver.parameters.enumerate_all_solutions = True
    solver.parameters.num_workers = 1
    pictures = Pictures()
    solver.solve(model.model, pictures)
    return pictures.found


def test_the_rotation_keeps_the_child_at_the_open_station() -> None:
    """Two stations side by side, one together and one a game: every filling, posted and audited, the same verdict."""
    together = a_practice(Kind.TOGETHER, name="passing in pairs", rep=None)
    row = EARLY.model_copy(update={"player": "Ivo"})
    club = a_rotation_club(a_squad(2), [[together, a_practice(Kind.GAME)]], returns=(row,))
    plan = booked(club)
    verdicts = {picture(one): not list(RULE.audit(club, one)) for one in every_filling(club, plan)}
    models = []
    for post in (True, False):
        model = RotationModel(club, plan, settings(club, plan)[0])
        if post:
            RULE.post_roles(club, plan, model)
            model.switches.fix_on()
        model.model.add(model.shares.excess == 0)
        for over in model.shares.over:
            model.model.add(over == 0)
        models.append(_solutions(model))
    assert models[0] == {shape for shape, good in verdicts.items() if good}
    assert models[1] == set(verdicts)
    assert set(verdicts.values()) == {True, False}
