"""Weather as a rule of the booking: the slots it leaves are those the audit finds nothing wrong with."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from ortools.sat.python import cp_model

from constraints.weather import Weather as Rule
from scheduler.booking.model import BookingModel
from scheduler.booking.slots import Slot, planned_at, slots_of
from scheduler.booking.standdown import stand_downs
from scheduler.club.club import Club
from scheduler.club.places import Opening, Pitch, Site, Weather
from scheduler.club.programme import SessionAsk
from scheduler.club.when import Span, hhmm
from scheduler.contract import Severity
from scheduler.folder.cards import cards
from scheduler.folder.edited import read_timetable
from scheduler.folder.pages import noticeboard_html
from scheduler.folder.timetable import write_timetable
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.week import plan_week
from tests.clubs import MONDAY, a_club, an_age_row

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


def plan_of(club: Club, slot: Slot, *, cut: bool = True) -> WeekPlan:
    """Everybody comes; `cut`: with the stand-downs that follow from the limits, heat among them."""
    players = tuple(player.id for player in club.players)
    planned = planned_at(club.sessions[0], slot, club.teams[0].coaches, players)
    if cut:
        planned = planned.model_copy(update={"stood_down": stand_downs(club, [planned])[0]})
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
    if len(rows) != 2:  # under red and orange sessions are held and end early
        assert len(lawful) < len(every)


@pytest.mark.parametrize(
    ("wbgt", "minutes", "stop"),
    [(90.1, 90, 60), (90.1, 61, 60), (90.1, 60, None), (90.0, 135, 120), (90.0, 120, None), (87.0, 135, None)],
)
def test_a_session_longer_than_the_heat_allows_ends_early_for_everybody(
    wbgt: float, minutes: int, stop: int | None
) -> None:
    """U.S. Soccer, category 3: red 90.1 to 91.9 an hour, so a 90-minute session is cut to 60; orange 2 hours."""
    rows = (an_age_row(session_minutes=None),)
    club = a_weather_club(at(0, wbgt_f=wbgt), minutes=minutes).model_copy(update={"ages": rows})
    slot = Slot(MONDAY, 1080, 1080 + minutes, "Marsh Lane", "Marsh Lane", (1,))
    (planned,) = plan_of(club, slot).sessions
    assert {(down.start, down.end, down.why) for down in planned.stood_down} == (
        set() if stop is None else {(1080 + stop, 1080 + minutes, "heat")}
    )
    assert len(planned.stood_down) == (0 if stop is None else 14)
    assert breaches(club, slot) == []
    uncut = RULE.audit(club, plan_of(club, slot, cut=False))
    assert [one.by for one in uncut if one.severity is Severity.BREACH] == ([] if stop is None else [minutes - stop])


def test_a_week_of_red_heat_is_planned_audited_and_printed(tmp_path: Path) -> None:
    """75 minutes on every day of red heat: the last reps are not held, the card and the noticeboard say when to stop.

    15 minutes together, six reps of 4 + 1, then a game of 8 + 2: at 60 minutes one rep of the game (45 to 53) is held,
    the second would be on at 60 and is not.
    """
    from constraints import RULES

    club = a_club(weather=tuple(at(offset, wbgt_f=90.5) for offset in range(7)))
    done = plan_week(club, RULES, limit=5)
    assert isinstance(done, Booked)
    (planned,) = done.plan.sessions
    stop = planned.start + 60
    assert {(down.start, down.end) for down in planned.stood_down} == {(stop, planned.end)}
    held = [rep.start - planned.start for rep in planned.blocks[2].stations[0].reps if rep.places]
    assert held == [45]
    assert [card.title for card in cards(club, done.plan)] == ["Herons 1"]
    (card,) = cards(club, done.plan)
    assert f"Everybody stops at {hhmm(stop)} because of the heat." in card.notes
    assert len([note for note in card.notes if "takes no part" in note]) == 0
    assert [len(block.reps) for block in card.blocks] == [1, 6, 1]
    assert any(label == "Weather" and "four breaks of 4 minutes" in words for label, words in card.heads)
    assert f"stops at {hhmm(stop)}" in noticeboard_html(club, done.plan)
    (tmp_path / "plan.json").write_text(done.plan.to_json(), encoding="utf-8")
    write_timetable(club, done.plan, tmp_path / "timetable.xlsx", None)
    again, faults = read_timetable(tmp_path / "timetable.xlsx", club)
    assert (again.sessions, faults) == (done.plan.sessions, ())


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
    found = list(RULE.audit(club, plan_of(club, slot, cut=False)))
    assert [(one.severity, one.by) for one in found] == [(Severity.BREACH, 15), (Severity.CAUTION, 0)]
    assert found[0].text.startswith(
        "Herons 1 on Mon 7 Sep, 18:00-19:15: WBGT 90.5 F, 32.5 C (red in heat category 3): at most 1 hour"
    )


def test_off_without_weather_in_the_week() -> None:
    assert RULE.off(a_club()) == "no weather is entered for this week"
    assert RULE.off(a_weather_club(at(-1, wbgt_f=95.0))) is not None
    assert RULE.off(a_weather_club(at(0, wbgt_f=80.0))) is None
