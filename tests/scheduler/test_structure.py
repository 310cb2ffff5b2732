"""A plan that is not the week asked for is named as such, whatever the rules say."""

from __future__ import annotations

import datetime as dt

import pytest

from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.plan.plan import Cancelled, Place, PlannedSession, WeekPlan
from scheduler.plan.skeleton import lay_blocks
from scheduler.structure import audit_structure
from tests.clubs import MONDAY, a_club


def a_plan(club: Club) -> WeekPlan:
    """Every session on Monday from 18:00, one after another in the grid; everybody in one long warm-up."""
    sessions = []
    for number, ask in enumerate(club.sessions):
        start = 18 * 60 + 75 * number
        players = tuple(player.id for player in club.members(ask.id))
        booked = PlannedSession(
            session=ask.id, teams=ask.teams, date=MONDAY, start=start, end=start + ask.minutes, pitch="North",
            zones=(1, 2, 3), coaches=("coach Herons 1", "coach Herons 2"), players=players,
            sides=("bibs", "own shirts"),
        )  # fmt: skip
        sessions.append(with_places(club, lay_blocks(club, booked)))
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=tuple(sessions))


def with_places(club: Club, planned: PlannedSession) -> PlannedSession:
    everybody = tuple(Place(player=player, role="all") for player in planned.players)
    blocks = tuple(
        block.model_copy(
            update={
                "stations": tuple(
                    station.model_copy(
                        update={"reps": tuple(rep.model_copy(update={"places": everybody}) for rep in station.reps)}
                    )
                    for station in block.stations
                )
            }
        )
        for block in planned.blocks
    )
    return planned.model_copy(update={"blocks": blocks})


@pytest.fixture
def club() -> Club:
    """One team, a session of warm-up alone, so that every place is `all`."""
    base = a_club()
    return base.model_copy(update={"plans": base.plans[:1]})


def texts(club: Club, plan: WeekPlan) -> list[str]:
    return [found.text for found in audit_structure(club, plan)]


def changed(plan: WeekPlan, **changes: object) -> WeekPlan:
    return plan.model_copy(update={"sessions": (plan.sessions[0].model_copy(update=changes),)})


def test_a_plan_as_asked_is_silent(club: Club) -> None:
    assert texts(club, a_plan(club)) == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"end": 19 * 60}, "lasts 60 minutes, asked for 75"),
        ({"date": MONDAY + dt.timedelta(days=7)}, "outside the week"),
        ({"start": 18 * 60 + 5, "end": 19 * 60 + 20}, "starts fall on every 15 minutes"),
        ({"zones": (1, 2)}, "needs 3 side by side"),
        ({"zones": (1, 3, 2)}, "needs 3 side by side"),
        ({"zones": (2, 3, 4)}, "does not have"),
        ({"pitch": "Nowhere"}, "there is no pitch Nowhere"),
        ({"players": ("Herons Ivo", "Nobody")}, "there is no player Nobody"),
        ({"coaches": ("Stranger",)}, "there is no coach Stranger"),
        ({"teams": ("Kites",)}, "planned for Kites, asked for Herons"),
        ({"blocks": ()}, "has 0 blocks"),
        ({"session": "Owls 9"}, "nobody asked for it"),
    ],
)
def test_each_way_of_not_being_the_week_asked_for(club: Club, changes: dict[str, object], said: str) -> None:
    found = texts(club, changed(a_plan(club), **changes))
    assert any(said in text for text in found), found


def test_a_child_left_out_without_a_reason(club: Club) -> None:
    plan = a_plan(club)
    fewer = changed(plan, players=plan.sessions[0].players[1:])
    assert any("Ivo is left out" in text for text in texts(club, fewer))


def test_a_child_who_is_there_without_a_place(club: Club) -> None:
    plan = a_plan(club)
    block = plan.sessions[0].blocks[0]
    rep = block.stations[0].reps[0]
    short = rep.model_copy(update={"places": rep.places[1:]})
    station = block.stations[0].model_copy(update={"reps": (short,)})
    worse = changed(plan, blocks=(block.model_copy(update={"stations": (station,)}),))
    assert any("Ivo is there and has no place" in text for text in texts(club, worse))


def test_missing_twice_and_cancelled(club: Club) -> None:
    plan = a_plan(club)
    assert "Herons 1 is not planned" in texts(club, plan.model_copy(update={"sessions": ()}))
    assert any("2 times" in text for text in texts(club, plan.model_copy(update={"sessions": plan.sessions * 2})))
    called_off = (Cancelled(session="Herons 1", why="no light"),)
    assert texts(club, plan.model_copy(update={"sessions": (), "cancelled": called_off})) == []


def test_unknown_names_stop_the_rules_and_nothing_is_raised(club: Club) -> None:
    """A rule could not look the name up; the structure's finding stands alone."""

    class Raises:
        name, words, firm = "raises", "", True
        source = None

        def off(self, club: Club) -> None:
            return None

        def audit(self, club: Club, plan: WeekPlan) -> None:
            raise AssertionError("asked in spite of an unknown pitch")

    judged = audit(club, changed(a_plan(club), pitch="Nowhere"), [Raises()])
    assert [found.text for found in judged.breaches] == ["Herons 1: there is no pitch Nowhere"]


def test_plan_json_reads_back(club: Club) -> None:
    plan = a_plan(club)
    assert WeekPlan.from_json(plan.to_json()) == plan
    assert '"start": "18:00"' in plan.to_json()
