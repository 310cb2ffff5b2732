"""Early finish: what the booking would pay is what the audit counts, slot by slot."""

from __future__ import annotations

import datetime as dt

from ortools.sat.python import cp_model

from constraints.early_finish import EarlyFinish
from scheduler.booking.model import BookingModel
from scheduler.booking.slots import Slot, planned_at, slots_of
from scheduler.club.club import Club
from scheduler.club.programme import SessionAsk
from scheduler.contract import Severity
from scheduler.plan.plan import WeekPlan
from tests.clubs import a_club, an_age_row
from tests.weeks import week_of

RULE = EarlyFinish()
ASK = SessionAsk(id="Herons 1", teams=("Herons",), plan="Evening", minutes=75, zones=None)


def finishing_by(*times: int | None) -> Club:
    """Herons is twelve years old, an age row for each of the times: the first for 12, the next for 13, and so on."""
    ages = tuple(
        an_age_row(phase=f"{age}", from_age=age, to_age=age, finish_by=time) for age, time in enumerate(times, 12)
    )
    return a_club(ages=ages).model_copy(update={"sessions": (ASK,)})


def plan_of(club: Club, slot: Slot) -> WeekPlan:
    return week_of(club, planned_at(club.sessions[0], slot, club.teams[0].coaches))


def costs(club: Club, slot: Slot) -> int:
    found = list(RULE.audit(club, plan_of(club, slot)))
    assert all(one.severity is Severity.NOTE for one in found)
    return sum(int(one.by) for one in found)


def test_an_hour_before_is_early_and_a_quarter_later_is_not() -> None:
    """By 20:30: 75 minutes from 18:15 end at 19:30, just an hour before; from 18:30 they end at 19:45."""
    club = finishing_by(20 * 60 + 30)
    by_start = {slot.start: slot for slot in slots_of(club, ASK)}
    assert costs(club, by_start[18 * 60 + 15]) == 0
    assert costs(club, by_start[18 * 60 + 30]) == 1
    (found,) = RULE.audit(club, plan_of(club, by_start[18 * 60 + 30]))
    assert found.text == "Herons 1 ends at 19:45, less than an hour before 20:30, the Finish by of its youngest"


def test_the_youngest_sets_the_hour() -> None:
    """One child born a year earlier is 13 and may finish an hour later; the others' 20:00 counts."""
    club = finishing_by(20 * 60, 21 * 60)
    first, *others = club.players
    mixed = club.model_copy(update={"players": (first.model_copy(update={"born": dt.date(2013, 5, 1)}), *others)})
    slot = next(slot for slot in slots_of(mixed, ASK) if slot.start == 18 * 60)  # ends 19:15
    assert costs(mixed, slot) == 1


def test_no_hour_given_switches_it_off() -> None:
    club = finishing_by(None)
    assert RULE.off(club) == "no age row gives a Finish by"
    assert sum(costs(club, slot) for slot in slots_of(club, ASK)) == 0


def test_the_booking_pays_what_the_audit_counts() -> None:
    """Each slot in turn is the only one allowed; the least cost of the model is the audit's count."""
    club = finishing_by(20 * 60)
    model = BookingModel(club)
    model.make()
    RULE.post(club, model)
    model.switches.fix_on()
    cost = cp_model.LinearExpr.sum([one.amount * one.term for one in model.penalties])
    slots = slots_of(club, ASK)
    seen = set()
    for slot in slots[:: len(slots) // 20]:
        literal = model.at(ASK.id, slot)
        assert literal is not None
        model.model.clear_assumptions()
        model.model.add_assumption(literal)
        model.model.minimize(cost)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        assert solver.solve(model.model) == cp_model.OPTIMAL
        assert round(solver.objective_value) == costs(club, slot)
        seen.add(costs(club, slot))
    assert seen == {0, 1}
