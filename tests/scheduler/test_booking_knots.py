"""What children with two teams lose at least: never more than the complete model of the whole club says."""

from __future__ import annotations

import datetime as dt

import pytest

from constraints import RULES
from scheduler.booking import climb
from scheduler.booking.book import book
from scheduler.booking.build import build_booking, narrowed_booking
from scheduler.booking.knots import ADULTS, CHILDREN, MINUTES, Knots, least_paid, tied
from scheduler.booking.model import BookingModel
from scheduler.club.club import Club
from scheduler.club.part import part_of
from scheduler.club.people import Elsewhere
from scheduler.club.places import Opening
from scheduler.club.programme import PlanRow
from scheduler.club.when import Span
from scheduler.outcome import Booked
from scheduler.solver import cp_model
from scheduler.solving import make_solver
from tests.clubs import WARM_UP, a_club, an_age_row
from tests.speed.clubs import a_town

LIMIT = 60.0
PEOPLE = (MINUTES, CHILDREN, ADULTS)
Figures = tuple[int, ...]


def a_chain(seed: int) -> Club:
    """Three teams, some of the first with the second as well, some of the second with the third."""
    club = a_town(3, 0.6, 3, seed, shared=2).club
    more = {"T000": "T001"}
    few = [player.id for player in club.players if player.team in more][6:8]
    players = tuple(
        player.model_copy(update={"also_plays_for": (more[player.team],)}) if player.id in few else player
        for player in club.players
    )
    return club.model_copy(update={"players": players})


def without_first_aid(club: Club, *teams: str) -> Club:
    """The club with no first aider among the adults of some teams."""
    lapsed = {coach for team in teams for coach in club.team(team).coaches}
    before = club.week - dt.timedelta(days=1)
    coaches = tuple(
        coach.model_copy(update={"first_aid_until": before}) if coach.id in lapsed else coach for coach in club.coaches
    )
    return club.model_copy(update={"coaches": coaches})


def few_adults(club: Club, team: str) -> Club:
    """The club with one coach alone of a team: others help its every session, whoever comes."""
    teams = (one.model_copy(update={"coaches": one.coaches[:1]}) if one.id == team else one for one in club.teams)
    return club.model_copy(update={"teams": tuple(teams)})


def busy_child(club: Club, team: str) -> Club:
    """The club with a child of one team alone who has minutes left for one of its two sessions."""
    child = next(one for one in club.players if one.team == team and not one.also_plays_for)
    row = club.age_row(child)
    assert row is not None
    spare = club.sessions[0].minutes
    much = Elsewhere(player=child.id, date=club.week, minutes=(row.week_minutes or 0) - spare)
    return club.model_copy(update={"elsewhere": (much,)})


CLUBS = {
    **{f"three teams, {z} zones, seed {s}": a_town(3, 0.9, z, s, shared=2).club for z, s in ((3, 4), (3, 8), (4, 2))},
    **{f"six teams, {z} zones, seed {s}": a_town(6, 0.9, z, s, shared=2).club for z, s in ((3, 3), (4, 8))},
    **{f"a chain, seed {s}": a_chain(s) for s in (*range(1, 9), 11)},
    "a chain with few adults": few_adults(a_chain(11), "T001"),
    "a chain with a busy child": busy_child(a_chain(11), "T001"),
}

EXACT = ("three teams, 3 zones, seed 8", "three teams, 4 zones, seed 2", "a chain, seed 8", "a chain with few adults")


def knots_in(club: Club) -> Knots:
    return Knots(narrowed_booking(club, RULES), RULES, LIMIT)


def cost(model: BookingModel, wish: str) -> cp_model.LinearExprT:
    return cp_model.LinearExpr.sum([one.amount * one.term for one in model.penalties if one.wish == wish])


def said(club: Club) -> Figures:
    """What counting and knots say that every week pays for the wishes about people, in their order."""
    knots = knots_in(club)
    model = build_booking(club, RULES, outsiders=False, certain_only=True, widened=knots.sessions)
    least = least_paid(model, knots.known)
    return tuple(least[wish] for wish in PEOPLE)


def true(club: Club) -> Figures:
    """The least in the complete model of the club, wish by wish."""
    model, found = build_booking(club, RULES), list[int]()
    for wish in PEOPLE:
        model.model.minimize(cost(model, wish))
        solver = make_solver(LIMIT)
        assert solver.solve(model.model) == cp_model.OPTIMAL
        found.append(round(solver.objective_value))
        model.model.add(cost(model, wish) <= found[-1])
    return tuple(found)


@pytest.mark.parametrize("name", CLUBS)
def test_what_is_said_is_never_above_the_truth(name: str) -> None:
    assert said(CLUBS[name]) <= true(CLUBS[name])


@pytest.mark.parametrize("name", EXACT)
def test_where_knots_do_not_meet_it_is_the_truth_and_more_than_counting_says(name: str) -> None:
    club = CLUBS[name]
    knots, children = knots_in(club), narrowed_booking(club, RULES).children
    counted = sum(children.least_lost(squad) for squad in children.squads)
    assert said(club) == true(club)
    assert said(club)[0] > counted
    assert 0.0 < knots.spent < 1.0


def test_minutes_of_a_knot_are_counted_once_where_children_are_in_two() -> None:
    """Of three teams in a chain the two knots share the sessions of the second."""
    for name in (one for one in CLUBS if "chain" in one):
        club = CLUBS[name]
        knots = knots_in(club)
        both = [*knots.known, *knots.plain]
        assert len(both) == 2
        assert set(both[0].sessions) & set(both[1].sessions)
        assert len(knots.known) < 2 or not knots.known[0].players & knots.known[1].players
        assert len(knots.known) < 2 or not knots.known[0].staffed & knots.known[1].staffed
        assert sum(len(knot.players) for knot in knots.known) <= len(club.players)


def test_first_aid_may_come_from_sessions_outside_a_knot() -> None:
    """Two teams without a first aider borrow none: sessions at the same site have one."""
    bare = without_first_aid(a_town(6, 0.9, 3, 1, shared=2).club, "T001", "T002")
    assert said(bare) == true(bare) == (330, 4, 0)


def a_child_too_many(lengths: tuple[int, int, int] = (45, 75, 90), **limits: int) -> Club:
    """Three teams who all train at once, 15 children each; one of the first and one of the third are the second's too.

    With 16 of them two adults are enough for the second, with 17 they are not. `limits`: of the age row.
    """
    club = a_club(teams=3, players=15, ages=(an_age_row(**limits),))
    opening = Opening(days=frozenset({0}), span=Span(17 * 60, 18 * 60 + 30))
    both = {club.players[5].id, club.players[35].id}
    return club.model_copy(
        update={
            "pitches": tuple(
                club.pitches[0].model_copy(update={"id": name, "openings": (opening,)}) for name in ("A", "B", "C")
            ),
            "kit": tuple(item.model_copy(update={"count": 100}) for item in club.kit),
            "plans": tuple(PlanRow(plan=f"{n}", block="1", practice=WARM_UP.id, minutes=n) for n in lengths),
            "sessions": tuple(
                ask.model_copy(update={"minutes": n, "plan": f"{n}"})
                for ask, n in zip(club.sessions, lengths, strict=True)
            ),
            "players": tuple(
                one.model_copy(update={"also_plays_for": (club.teams[1].id,)}) if one.id in both else one
                for one in club.players
            ),
        }
    )


def test_children_may_miss_a_session_of_a_knot_for_another_that_is_not_in_it() -> None:
    """Whoever is in the second and third team misses the second's, which then needs nobody lent."""
    club = a_child_too_many()
    assert said(club) == true(club) == (45 + 75, 2, 0)


def test_children_whose_week_is_too_long_may_leave_a_session_of_a_knot_early() -> None:
    """Of both their sessions' minutes, one of which the knot by itself does not have."""
    club = a_child_too_many(week_minutes=150)
    child, sessions = club.players[35].id, [ask.id for ask in club.sessions]
    narrowed = narrowed_booking(club, RULES)
    for choices, leaves_early in ((None, False), (narrowed.children, True)):
        small = part_of(club, sessions[:2], {coach.id for coach in club.coaches})
        model = build_booking(small, RULES, choices=choices)
        squad = next(one for one in model.squads() if child in one.players)
        cut = model.children.cut(model.children.ways(squad)[0], sessions[1])
        assert isinstance(cut, int) is not leaves_early


def test_nothing_is_looked_at_where_no_child_has_two_teams() -> None:
    club = a_town(6, 0.9, 3, 1).club
    assert tied(narrowed_booking(club, RULES)) == []
    assert knots_in(club).spent == 0.0


def test_out_of_time_the_rest_is_left_to_counting() -> None:
    narrowed = narrowed_booking(CLUBS["six teams, 4 zones, seed 8"], RULES)
    assert len(Knots(narrowed, RULES, LIMIT).known) == 2
    assert len(Knots(narrowed, RULES, 0.1).known) == 1
    assert Knots(narrowed, RULES, 0.0).known == []


class _NoKnots:
    """A club of which nothing is known but what counting says."""

    known = plain = ()
    sessions = frozenset[str]()

    def __init__(self, *about: object) -> None:
        """Whatever the club."""

    def bill(self) -> float:
        return 0.0


@pytest.mark.parametrize("name", [*EXACT, "eight teams"])
def test_where_it_is_the_truth_the_smallest_model_is_enough(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """It has help, and every choice of who comes, where a knot needs it: of the eight teams one is lent an adult."""
    club = a_town(8, 0.8, 3, 9, shared=2).club if name == "eight teams" else CLUBS[name]
    monkeypatch.setattr(climb, "LADDER", climb.LADDER[:1])
    found = book(club, RULES, explain=False)
    assert isinstance(found, Booked)
    assert found.proven
    paid = {proof.measure: proof.value for proof in found.plan.proofs}
    assert tuple(paid.get(wish, 0) for wish in PEOPLE) == said(club)
    assert paid[ADULTS] == 1 or name != "eight teams"


@pytest.mark.parametrize("name", CLUBS)
def test_weeks_are_as_good_as_the_whole_model_finds_without(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """In every wish, whether the whole loses more than its knots by themselves or not."""
    figures = []
    for whole in (False, True):
        if whole:
            monkeypatch.setattr(climb, "Knots", _NoKnots)
            monkeypatch.setattr(climb, "LADDER", ({},))
        found = book(CLUBS[name], RULES)
        assert isinstance(found, Booked)
        assert found.proven
        figures.append({proof.measure: proof.value for proof in found.plan.proofs if proof.value})
    assert figures[0] == figures[1]


def test_what_a_knot_loses_is_not_asked_of_weeks_with_a_session_cancelled() -> None:
    """Three places for four sessions, a child in all four who may come to three: one is cancelled, and nothing lost."""
    club = a_club(teams=2, sessions=2, ages=(an_age_row(sessions_a_week=3),))
    opening = Opening(days=frozenset({0, 2, 4}), span=Span(17 * 60, 18 * 60 + 15))
    pitches = tuple(pitch.model_copy(update={"openings": (opening,)}) for pitch in club.pitches)
    child, *others = club.players
    players = (child.model_copy(update={"also_plays_for": (club.teams[1].id,)}), *others)
    club = club.model_copy(update={"pitches": pitches, "players": players})
    assert [knot.minutes for knot in knots_in(club).known] == [75]
    found = book(club, RULES, may_cancel=True)
    assert isinstance(found, Booked)
    assert len(found.plan.sessions) == 3
    assert found.proven
    assert {proof.measure: proof.value for proof in found.plan.proofs if proof.value}["sessions cancelled"] == 1
    assert all(proof.value == 0 for proof in found.plan.proofs if proof.measure in (MINUTES, CHILDREN))
