"""Late news: names, dates and hours as typed, what they do to the club, and what differs between two plans."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduler.club.club import Club
from scheduler.club.people import Absence
from scheduler.club.when import Occurs, Span
from scheduler.errors import UsageFault
from scheduler.plan.plan import Place, StoodDown, WeekPlan
from scheduler.plan.presence import away_spans
from scheduler.replan.differences import differences
from scheduler.replan.events import Options, as_reported, read_news, read_now
from scheduler.replan.telling import who_must_be_told
from tests.clubs import MONDAY, a_club
from tests.plans import counted_off
from tests.replans import told

DAY = MONDAY.isoformat()


def plan_of(club: Club) -> WeekPlan:
    return counted_off(club, *((2 * number, 18 * 60) for number in range(len(club.sessions))))


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"absent": ["Tarra"], "on": DAY}, "there is no player, coach or team 'Tarra', did you mean Tara"),
        ({"absent": ["Tara"]}, "--on"),
        ({"absent": ["Tara"], "on": "2026-09-14"}, "not in the week of 2026-09-07"),
        ({"absent": ["Tara"], "on": "Monday"}, "write a date such as 2026-09-07"),
        ({"absent": ["Tara"], "on": DAY, "from_": "late"}, "write a time such as 18:30"),
        ({"absent": ["Tara"], "on": DAY, "from_": "19:00", "until": "18:00"}, "is not after --from"),
        ({"closed": ["Nort"], "on": DAY}, "there is no pitch 'Nort', did you mean North?"),
        ({"closed": ["North:4"], "on": DAY}, "North has the zones 1 to 3"),
        ({"unlit": ["South"], "on": DAY}, "there is no pitch 'South'"),
        ({"missing_kit": ["bib"], "on": DAY}, "such as 'bib 3'"),
        ({"missing_kit": ["bip 3"], "on": DAY}, "there is no kit item 'bip', did you mean bib?"),
        ({"missing_kit": ["bib 30"], "on": DAY}, "there are only 20 bib at Marsh Lane"),
        ({"missing_kit": ["bib 3"], "at": "Mill", "on": DAY}, "there is no site 'Mill'"),
        ({"on": DAY}, "say also what"),
    ],
)
def test_what_makes_no_sense_is_refused_with_what_would(options: dict[str, object], says: str) -> None:
    club = a_club()
    with pytest.raises(UsageFault) as refused:
        read_news(club, plan_of(club), Options(**options))
    assert says in str(refused.value)
    assert refused.value.exit_code == 2


def test_a_name_that_two_bear_asks_for_the_id() -> None:
    club = a_club(teams=2)
    twin = club.players[20].model_copy(update={"called": "Tara"})
    club = club.model_copy(update={"players": (*club.players[:20], twin, *club.players[21:])})
    with pytest.raises(UsageFault, match="may be Herons Tara"):
        read_news(club, plan_of(club), Options(absent=["tara"], on=DAY))


def test_absent_and_here_again_cut_only_that_day() -> None:
    """Away every Monday and Wednesday; on this Monday there from 18:30 on: Wednesday and the first half stay."""
    club = a_club(sessions=2)
    who = club.players[2].id
    row = Absence(who=(who, club.players[3].id), occurs=Occurs(days=frozenset({0, 2})), why="secret")
    club = club.model_copy(update={"absences": (row,)})
    now, _ = told(club, plan_of(club), here=[who], on=DAY, from_="18:30")
    assert away_spans(now, who, MONDAY) == (Span(0, 18 * 60 + 30),)
    assert away_spans(now, who, MONDAY + dt.timedelta(days=2)) == (Span(0, 24 * 60),)
    assert away_spans(now, club.players[3].id, MONDAY) == (Span(0, 24 * 60),)


def test_absent_now_plays_the_rep_that_has_begun_to_its_end() -> None:
    """The second block has reps of four minutes from 18:15; at 18:17 the first runs until 18:19 or 18:20."""
    club = a_club()
    plan = plan_of(club)
    first = plan.sessions[0].blocks[1].stations[0].reps[0]
    _, known = told(club, plan, absent=[club.players[0].id], on=DAY, now=f"{DAY} 18:17")
    assert known.news[0].start == first.end


def test_a_whole_team_a_closure_a_dark_pitch_and_missing_kit() -> None:
    club = a_club()
    now, known = told(club, plan_of(club), absent=["herons"], on=DAY)
    assert {news.about for news in known.news} == {player.id for player in club.players}
    now, known = told(now, known, closed=["North:1;3"], on=DAY, from_="18:00")
    assert (now.booked[-1].zones, now.booked[-1].span) == ((1, 3), Span(18 * 60, 24 * 60))
    now, known = told(now, known, unlit=["North"], on=DAY)
    lit = {day: opening.lit for opening in now.pitches[0].openings for day in opening.days}
    assert lit == {0: False, **dict.fromkeys(range(1, 7), True)}
    now, known = told(now, known, missing_kit=["bib 3"], on=DAY)
    row = next(row for row in now.kit if row.item == "bib")
    assert (row.count_on(MONDAY), row.count_on(MONDAY + dt.timedelta(days=1))) == (17, 20)
    again = WeekPlan.from_json(known.to_json())
    assert as_reported(club, again) == now


def test_now_is_a_minute_of_this_week() -> None:
    club = a_club()
    assert read_now(club, f"{DAY} 18:05") == dt.datetime(2026, 9, 7, 18, 5)
    assert read_now(club, None) is None
    with pytest.raises(UsageFault):
        read_now(club, "2026-09-20 18:00")


def with_place(plan: WeekPlan, block: int, rep: int, old: Place, **changes: object) -> WeekPlan:
    """The plan with one place of its first session changed."""
    session = plan.sessions[0]
    blocks = list(session.blocks)
    station = blocks[block].stations[0]
    reps = list(station.reps)
    places = tuple(p.model_copy(update=changes) if p == old else p for p in reps[rep].places)
    reps[rep] = reps[rep].model_copy(update={"places": places})
    blocks[block] = blocks[block].model_copy(update={"stations": (station.model_copy(update={"reps": tuple(reps)}),)})
    return plan.model_copy(update={"sessions": (session.model_copy(update={"blocks": tuple(blocks)}),)})


@pytest.mark.parametrize("change", [{"role": "rest"}, {"area": 2}, {"side": "bibs orange"}, {"group": 2}])
def test_a_place_is_changed_when_group_area_side_or_role_differs(change: dict[str, object]) -> None:
    club = a_club()
    plan = plan_of(club)
    places = plan.sessions[0].blocks[1].stations[0].reps[2].places
    place = next(p for p in places if (p.side, p.area) == ("bibs green", 1) and p.role != "keep")
    found = differences(club, plan, with_place(plan, 1, 2, place, **change)).places
    assert [(row.block, row.rep, row.player) for row in found] == [(2, 3, place.player)]


def test_who_is_gone_or_new_in_a_rep_has_no_changed_place() -> None:
    club = a_club()
    plan = plan_of(club)
    session = plan.sessions[0]
    gone = session.players[0]
    blocks = tuple(
        block.model_copy(update={"stations": tuple(
            station.model_copy(update={"reps": tuple(
                rep.model_copy(update={"places": tuple(p for p in rep.places if p.player != gone)})
                for rep in station.reps)})
            for station in block.stations)})
        for block in session.blocks
    )  # fmt: skip
    new = session.model_copy(update={"players": session.players[1:], "blocks": blocks})
    changes = differences(club, plan, plan.model_copy(update={"sessions": (new,)}))
    assert not changes.places
    assert [(row.player, row.comes) for row in changes.comes] == [(gone, False)]


def test_who_must_be_told_of_a_move_and_of_new_adults() -> None:
    """The coaches of before and after, the families of the team; nobody else."""
    club = a_club(teams=2)
    plan = plan_of(club)
    session = plan.sessions[0]
    other = "coach Kites 1"
    new = session.model_copy(update={"start": session.start + 30, "end": session.end + 30,
                                     "coaches": (session.coaches[0], other)})  # fmt: skip
    after = plan.model_copy(update={"sessions": (new, *plan.sessions[1:])})
    changes = differences(club, plan, after)
    told_to = [(row.kind, row.who) for row in who_must_be_told(club, plan, after, changes)]
    assert told_to == [
        ("coach", session.coaches[0]),
        ("coach", session.coaches[1]),
        ("coach", other),
        ("team", "Herons"),
    ]


def test_no_reason_is_told() -> None:
    """A stand-down's reason and an absence's why are nobody's business."""
    club = a_club()
    plan = plan_of(club)
    session = plan.sessions[0]
    down = StoodDown(player=session.players[0], why="own limit", start=18 * 60 + 45, end=session.end)
    after = plan.model_copy(update={"sessions": (session.model_copy(update={"stood_down": (down,)}),)})
    rows = who_must_be_told(club, plan, after, differences(club, plan, after))
    assert rows
    assert not any("limit" in text for row in rows for text in row.texts)
