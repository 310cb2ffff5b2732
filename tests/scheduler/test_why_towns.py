"""Why there is no plan in a town of twelve teams: what is named, what is minimal, and whether each way out is one."""

from __future__ import annotations

import datetime as dt

import pytest

from constraints import RULES
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.club.people import Absence, Coach
from scheduler.club.when import Occurs
from scheduler.outcome import Clash
from scheduler.plan.plan import WeekPlan
from scheduler.reasons import core
from scheduler.reasons.changes import candidates
from scheduler.reasons.feasible import Feasible
from scheduler.reasons.together import Together
from scheduler.reasons.why import ASKED, can_stand, sessions_in, why, without_sessions
from tests.clubs import a_club
from tests.speed.clubs import a_town
from tests.speed.whys import KINDS

SAME_TIME = {"days": frozenset({2}), "earliest": 18 * 60, "latest": 19 * 60 + 15}


def others_than(club: Club, sessions: list[str]) -> list[str]:
    return [ask.id for ask in club.sessions if ask.id not in sessions]


def assert_minimal(club: Club, clash: Clash) -> None:
    """All demands of the sessions named cannot be met; with any one of them left out the others can."""
    assert clash.minimal
    alone = without_sessions(club, others_than(club, sessions_in(club, clash)))
    assert can_stand(alone, RULES, clash.demands) is False
    for demand in clash.demands:
        assert can_stand(alone, RULES, [one for one in clash.demands if one is not demand]) is True, demand


def assert_lawful(club: Club) -> None:
    """Every session can be held, and the audit finds nothing in the plan."""
    plan = Feasible(club, RULES, 30).booking(club)
    assert isinstance(plan, WeekPlan)
    assert {planned.session for planned in plan.sessions} == {ask.id for ask in club.sessions}
    assert audit(club, plan, RULES, with_roles=False).breaches == ()


@pytest.mark.parametrize("kind", ["no adult", "kit short", "child in two teams", "age cap", "two conflicts"])
def test_named_exactly_and_every_way_out_gives_a_lawful_plan(kind: str) -> None:
    """The sessions expected are worked out by hand in `KINDS`; each way out is tried again from nothing."""
    club, expected = KINDS[kind](a_town(12, use=0.6).club)
    found = why(club, RULES)
    assert found is not None
    named = [sessions_in(club, clash) for clash in found.clashes]
    assert sorted(map(sorted, named)) == sorted(map(sorted, expected))
    for clash, mine in zip(found.clashes, named, strict=True):
        if any(demand.rule == ASKED for demand in clash.demands):
            assert_minimal(club, clash)
        others = [session for sessions in named for session in sessions if session not in mine]
        offered = {way.text: way.club for way in candidates(without_sessions(club, others), mine)}
        assert clash.ways_out
        for text in clash.ways_out:
            assert_lawful(offered[text])


def two_at_one_time_with_a_shared_adult() -> Club:
    """Herons and Kites train at one time, each with an adult of its own and one of both; Larks' adult could help."""
    ever = dt.date(2030, 1, 1)
    coaches = tuple(
        Coach(id=name, name=name, checked_until=ever, first_aid_until=ever) for name in ("Ada", "Ben", "Cem", "Dot")
    )
    led = {"Herons": ("Ada", "Cem"), "Kites": ("Ben", "Cem"), "Larks": ("Dot", "Ada")}
    club = a_club(teams=3, zones=4)
    teams = tuple(team.model_copy(update={"coaches": led[team.id]}) for team in club.teams)
    asks = tuple(
        ask.model_copy(update={"zones": 2, **(SAME_TIME if ask.id != "Larks 1" else {"days": frozenset({0})})})
        for ask in club.sessions
    )
    return club.model_copy(update={"coaches": coaches, "teams": teams, "sessions": asks})


def test_sessions_that_need_help_from_others_are_no_conflict() -> None:
    """The small model has no help for either; that it cannot hold both is no reason before help has been tried."""
    club = two_at_one_time_with_a_shared_adult()
    together = Together(Feasible(club, RULES, 20))
    plan = together.booking([ask.id for ask in club.sessions])
    assert isinstance(plan, WeekPlan)
    assert together.widened == {"Herons 1", "Kites 1"}
    assert audit(club, plan, RULES, with_roles=False).breaches == ()
    assert why(club, RULES, 20) is None


def test_without_that_help_it_is_one() -> None:
    club = two_at_one_time_with_a_shared_adult()
    away = Absence(who=("Dot",), occurs=Occurs(days=frozenset({2})))
    club = club.model_copy(update={"absences": (away,)})
    few = Together(Feasible(club, RULES, 20)).booking([ask.id for ask in club.sessions])
    assert few == (["Herons 1", "Kites 1"], True)


def kit_for_one_of_two() -> Club:
    club = a_club(teams=2, zones=4)
    asks = tuple(ask.model_copy(update={"zones": 2, **SAME_TIME}) for ask in club.sessions)
    kit = tuple(row.model_copy(update={"count": 20}) if row.item == "ball size 4" else row for row in club.kit)
    return club.model_copy(update={"sessions": asks, "kit": kit})


def test_only_changes_that_bear_on_the_conflict_are_tried() -> None:
    """Kit is short on one day: more adults, keepers, hours or an earlier start change no demand of it."""
    club = kit_for_one_of_two()
    found = why(club, RULES, 20)
    assert found is not None
    (clash,) = found.clashes
    useful = {way.text for way in candidates(club, ["Herons 1", "Kites 1"]) if way.could_help(clash.demands)}
    assert "bring up to 5 more of ball size 4 to Marsh Lane" in useful
    assert "let Herons 1 end by 20:15" in useful
    assert "leave out Kites 1 this week" in useful
    assert not any("adult" in text or "keep goal" in text or "book" in text or "bib" in text for text in useful)


def test_the_core_is_the_same_where_search_alone_is_given_no_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """Then the linear relaxation and probing come into it at once."""
    club = kit_for_one_of_two()
    quick = why(club, RULES, 20)
    monkeypatch.setattr(core, "LIGHT", 0.0)
    slow = why(club, RULES, 20)
    assert quick is not None
    assert slow is not None
    assert [clash.minimal for clash in slow.clashes] == [True]
    assert [set(clash.demands) for clash in slow.clashes] == [set(clash.demands) for clash in quick.clashes]


def test_no_time_at_all_is_said_and_no_conflict_made_up() -> None:
    found = why(kit_for_one_of_two(), RULES, 1e-6)
    assert found is not None
    (clash,) = found.clashes
    assert clash.demands == ()
    assert not clash.minimal
    assert "time ran out" in clash.text


def test_what_naming_the_demands_costs_is_taken_from_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """With every question about demands made out to cost four seconds of ten, three are begun and no more."""
    asked: list[float] = []
    assume = core.assume

    def dear(model, literals, limit, symmetries=True):
        asked.append(limit)
        return (*assume(model, literals, limit, symmetries)[:2], 4.0)

    monkeypatch.setattr(core, "assume", dear)
    found = why(kit_for_one_of_two(), RULES, 10)
    assert found is not None
    assert len(asked) == 3
    assert [clash.minimal for clash in found.clashes] == [False, False]
    assert "time ran out" in found.clashes[-1].text
