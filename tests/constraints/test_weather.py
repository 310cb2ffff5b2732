"""Weather as a rule of the booking: the slots it leaves are those the audit finds nothing wrong with."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from ortools.sat.python import cp_model

from constraints.weather import Weather as Rule
from scheduler.booking.model import BookingModel
from scheduler.booking.slots import Slot, planned_at, slots_of
from scheduler.club.club import Club
from scheduler.club.places import Opening, Pitch, Site, Weather
from scheduler.club.programme import SessionAsk
from scheduler.club.when import Span
from scheduler.contract import Severity
from scheduler.plan.plan import WeekPlan
from tests.clubs import MONDAY, a_club

RULE = Rule()
ASK = SessionAsk(id="Herons 1", teams=("Herons",), plan="Evening", minutes=75, zones=None)
HOURS = (Opening(span=Span(17 * 60, 21 * 60)),)


def day(offset: int) -> dt.date:
    return MONDAY + dt.timedelta(days=offset)


def a_weather_club(*rows: Weather, minutes: int = 75) -> Club:
    """Two sites with a pitch each, one session; only Marsh Lane has the weather."""
    sites = (Site(id="Marsh Lane"), Site(id="Hill"))
    pitches = tuple(Pitch(id=site.id, site=site.id, zones=1, openings=HOURS) for site in sites)
    ask = ASK.model_copy(update={"minutes": minutes})
    return a_club(sites=sites, pitches=pitches, weather=rows).model_copy(update={"sessions": (ask,)})


def at(offset: int, **given: Any) -> Weather:
    return Weather(date=day(offset), site="Marsh Lane", **given)


def plan_of(club: Club, slot: Slot) -> WeekPlan:
    planned = planned_at(club.sessions[0], slot, club.teams[0].coaches)
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=(planned,))


def breaches(club: Club, slot: Slot) -> list[int]:
    found = RULE.audit(club, plan_of(club, slot))
    return [int(one.by) for one in found if one.severity is Severity.BREACH]


ROWS = (
    (at(0, wbgt_f=92.0),),
    (at(0, wbgt_f=90.1), at(1, wbgt_f=89.0)),
    (at(2, thunder_last=18 * 60 + 20),),
    (at(2, thunder_last=18 * 60 + 15),),  # on the grid: a session may end at 18:15 and another start at 18:45
    (at(2, thunder_last=18 * 60 + 2), at(2, thunder_last=19 * 60 + 20), at(3, wind_chill_f=5)),
)


@pytest.mark.parametrize("rows", ROWS)
@pytest.mark.parametrize("minutes", [60, 75, 135])
def test_the_slots_left_are_those_the_audit_accepts(rows: tuple[Weather, ...], minutes: int) -> None:
    """Every slot of the week, at the site with the weather and at the other one."""
    club = a_weather_club(*rows, minutes=minutes)
    model = BookingModel(club)
    RULE.narrow(club, model)
    every = slots_of(club, club.sessions[0])
    lawful = [slot for slot in every if not breaches(club, slot)]
    assert model.slots("Herons 1") == lawful
    if minutes != 60 or len(rows) != 2:  # an hour is held under red and orange
        assert len(lawful) < len(every)


def test_thunder_is_half_open_at_both_ends() -> None:
    """Thunder at 18:15 closes [18:15, 18:45): 17:15-18:15 and 18:45-19:45 stand, 15 minutes nearer neither does."""
    club = a_weather_club(at(0, thunder_last=1095), minutes=60)
    model = BookingModel(club)
    RULE.narrow(club, model)
    left = {one.start for one in model.slots("Herons 1") if one.date == MONDAY and one.site == "Marsh Lane"}
    assert {1035, 1125} <= left
    assert not {1050, 1110} & left


def test_a_switch_that_is_off_forbids_nothing() -> None:
    """Held to a black Monday the model has no answer with the switch on, and one with it off."""
    club = a_weather_club(at(0, wbgt_f=95.0))
    slot = next(one for one in slots_of(club, club.sessions[0]) if one.date == MONDAY and one.site == "Marsh Lane")
    for on, status in ((True, cp_model.INFEASIBLE), (False, cp_model.OPTIMAL)):
        model = BookingModel(club, switchable=True)
        RULE.narrow(club, model)
        model.make()
        RULE.post(club, model)
        literal = model.at("Herons 1", slot)
        assert literal is not None
        model.model.add(literal == 1)
        model.switches.fix_on(but=frozenset() if on else frozenset(key for key, _ in model.switches.items()))
        assert cp_model.CpSolver().solve(model.model) == status


def test_sentences_and_amounts() -> None:
    """75 minutes under red are 15 too many; breaks and cold are cautions with an amount of 0."""
    club = a_weather_club(at(0, wbgt_f=90.5, wind_chill_f=28))
    slot = Slot(MONDAY, 1080, 1155, "Marsh Lane", "Marsh Lane", (1,))
    found = list(RULE.audit(club, plan_of(club, slot)))
    assert [(one.severity, one.by) for one in found] == [(Severity.BREACH, 15), (Severity.CAUTION, 0)]
    assert found[0].text.startswith(
        "Herons 1 on Mon 7 Sep, 18:00-19:15: WBGT 90.5 F, 32.5 C (red in heat category 3): at most 1 hour"
    )


def test_off_without_weather_in_the_week() -> None:
    assert RULE.off(a_club()) == "no weather is entered for this week"
    assert RULE.off(a_weather_club(at(-1, wbgt_f=95.0))) is not None
    assert RULE.off(a_weather_club(at(0, wbgt_f=80.0))) is None
