"""Dates after a blow to the head, and who may join which block meanwhile."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduler.club.people import Match, Return
from scheduler.club.programme import Contact, Kind, PlanRow, Practice
from scheduler.plan.plan import PlannedSession
from scheduler.welfare.returns import (
    PROTOCOLS,
    UK,
    Protocol,
    Step,
    may_join,
    not_before,
    on_the_way_back,
    protocol_of,
    stand_down_spans,
    step_on,
)
from tests.clubs import BOTH_ENDS, MONDAY, SMALL_GAME, WARM_UP, a_club

NEW_ZEALAND, BERLIN = PROTOCOLS[1], PROTOCOLS[2]
INJURED = dt.date(2025, 3, 1)


def march(day: int) -> dt.date:
    return dt.date(2025, 3, day)


def a_return(ended: dt.date | None, injured: dt.date = INJURED, cleared: bool = False) -> Return:
    return Return(player="p", injured=injured, symptoms_ended=ended, cleared=cleared)


def a_session(date: dt.date = MONDAY, players: tuple[str, ...] = ()) -> PlannedSession:
    return PlannedSession(
        session="Herons 1", teams=("Herons",), date=date, start=1080, end=1155, pitch="North", zones=(1, 2, 3),
        coaches=("coach Herons 1", "coach Herons 2"), players=players,
    )  # fmt: skip


def test_uk_dates_when_the_21_days_decide() -> None:
    """UK Concussion Guidelines for Grassroots Sport, 2023: 5 + 14 = 19 March contact, 1 + 21 = 22 March match."""
    dates = not_before(UK, a_return(march(5)), 12)
    assert (dates.contact, dates.match) == (march(19), march(22))


def test_uk_dates_when_the_14_days_without_symptoms_decide() -> None:
    """12 + 14 = 26 March, later than day 21, for both."""
    dates = not_before(UK, a_return(march(12)), 12)
    assert (dates.contact, dates.match) == (march(26), march(26))


@pytest.mark.parametrize("protocol", PROTOCOLS, ids=lambda protocol: protocol.id)
def test_no_date_while_symptoms_last(protocol: Protocol) -> None:
    """Never day 21 by itself."""
    dates = not_before(protocol, a_return(None), 12)
    assert (dates.light, dates.contact, dates.match) == (None, None, None)


@pytest.mark.parametrize(("age", "match"), [(18, 24), (19, 22)])
def test_new_zealand_days_by_age(age: int, match: int) -> None:
    """23 days under 19, 21 from 19: 1 March + 23 = 24 March, + 21 = 22 March. No earlier day for contact is given."""
    dates = not_before(NEW_ZEALAND, a_return(march(5)), age)
    assert (dates.contact, dates.match) == (march(match), march(match))


def test_berlin_steps_of_24_hours() -> None:
    """Six steps: the fifth (contact) starts 4 x 24 h after the first, the sixth 5 x 24 h; day 2 is the earliest."""
    assert not_before(BERLIN, a_return(march(5)), 12).contact == march(9)
    assert not_before(BERLIN, a_return(march(5)), 12).match == march(10)
    early = not_before(BERLIN, a_return(march(1)), 12)
    assert (early.contact, early.match) == (march(7), march(8))


def test_29_february_counts_as_a_day() -> None:
    """Symptoms ended 20 February 2028, a leap year: + 14 days is 5 March (29 February among them); 2027: 6 March."""
    leap = a_return(dt.date(2028, 2, 20), injured=dt.date(2028, 2, 18))
    plain = a_return(dt.date(2027, 2, 20), injured=dt.date(2027, 2, 18))
    assert not_before(UK, leap, 12).contact == dt.date(2028, 3, 5)
    assert not_before(UK, plain, 12).contact == dt.date(2027, 3, 6)


@pytest.mark.parametrize(
    ("day", "cleared", "step"),
    [
        (1, True, Step.STAY_OUT),  # the day itself
        (2, True, Step.STAY_OUT),  # the hour is not kept: the day after is inside 24 hours for somebody
        (5, True, Step.STAY_OUT),  # the day symptoms ended
        (6, True, Step.NO_HEAD_RISK),
        (18, True, Step.NO_HEAD_RISK),  # cleared, but before the date: both are needed
        (19, False, Step.NO_HEAD_RISK),  # the date has come, but nobody said yes
        (19, True, Step.EVERYTHING),
        (31, False, Step.NO_HEAD_RISK),
    ],
)
def test_the_step_needs_the_date_and_the_yes(day: int, cleared: bool, step: Step) -> None:
    row = a_return(march(5), cleared=cleared)
    assert step_on(row, not_before(UK, row, 12), march(day)) is step


def test_before_the_injury_nothing_is_closed() -> None:
    row = a_return(None)
    assert step_on(row, not_before(UK, row, 12), dt.date(2025, 2, 28)) is Step.EVERYTHING


def test_a_yes_does_not_end_symptoms() -> None:
    row = a_return(None, cleared=True)
    assert step_on(row, not_before(UK, row, 12), march(31)) is Step.STAY_OUT


def test_the_blocks_without_a_risk_of_a_blow_to_the_head() -> None:
    """Our choice: together, no contact, no headers. Areas with opponents wait."""
    headers = Practice(id="Heading in pairs", kind=Kind.TOGETHER, headers_a_rep=5, rpe=3)
    contact = Practice(id="Shielding", kind=Kind.TOGETHER, contact=Contact.SOME, rpe=3)
    joined = [may_join(Step.NO_HEAD_RISK, p) for p in (WARM_UP, BOTH_ENDS, SMALL_GAME, headers, contact)]
    assert joined == [True, False, False, False, False]
    assert not any(may_join(Step.STAY_OUT, p) for p in (WARM_UP, BOTH_ENDS))
    assert all(may_join(Step.EVERYTHING, p) for p in (WARM_UP, BOTH_ENDS, SMALL_GAME, headers, contact))


def test_stood_down_from_the_blocks_with_opponents_only() -> None:
    """Warm-up 18:00-18:15 stays; the next blocks, 18:15-18:45 and 18:45-19:13, are one stretch; neutral words."""
    row = Return(player="Herons Mia", injured=dt.date(2026, 8, 25), symptoms_ended=dt.date(2026, 8, 28))
    club = a_club(returns=(row,))
    (down,) = stand_down_spans(club, a_session())
    assert (down.player, down.start, down.end) == ("Herons Mia", 1095, 1153)
    assert down.why == "own limit"


def test_stood_down_from_all_of_it_while_symptoms_last() -> None:
    club = a_club(returns=(Return(player="Herons Mia", injured=MONDAY),))
    (down,) = stand_down_spans(club, a_session())
    assert (down.start, down.end) == (1080, 1155)


def test_other_children_and_cleared_ones_are_not_stood_down() -> None:
    row = Return(player="Herons Mia", injured=dt.date(2026, 8, 1), symptoms_ended=dt.date(2026, 8, 3), cleared=True)
    assert stand_down_spans(a_club(), a_session()) == ()
    assert stand_down_spans(a_club(returns=(row,)), a_session()) == ()


def test_with_stations_side_by_side_the_unknown_group_is_on_the_cautious_side() -> None:
    """Before the groups are made any of the two stations may be the child's: one of them has opponents."""
    plans = (
        PlanRow(plan="Evening", block="1", practice=WARM_UP.id, minutes=30),
        PlanRow(plan="Evening", block="1", practice=BOTH_ENDS.id, minutes=30, reps=6),
    )
    row = Return(player="Herons Mia", injured=dt.date(2026, 8, 25), symptoms_ended=dt.date(2026, 8, 28))
    (down,) = stand_down_spans(a_club(plans=plans, returns=(row,)), a_session())
    assert (down.start, down.end) == (1080, 1110)


def test_the_protocol_is_chosen_by_name() -> None:
    assert protocol_of(a_club()) is UK
    assert protocol_of(a_club(rule_set="NSPCC; new zealand")) is NEW_ZEALAND


def test_a_match_before_its_date_is_remarked_on() -> None:
    row = Return(player="Herons Mia", injured=dt.date(2026, 8, 25), symptoms_ended=dt.date(2026, 8, 28), cleared=True)
    match = Match(team="Herons", date=dt.date(2026, 9, 12), kick_off=600, minutes=50, players=("Herons Mia",))
    (found,) = on_the_way_back(a_club(returns=(row,), matches=(match,)))
    assert any("2026-09-12" in remark for remark in found.remarks)  # 25 August + 21 = 15 September
    later = match.model_copy(update={"date": dt.date(2026, 9, 15)})
    (found,) = on_the_way_back(a_club(returns=(row,), matches=(later,)))
    assert not any("match on" in remark for remark in found.remarks)
