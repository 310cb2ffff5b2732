"""Enough to play: a session that cannot be played is none (our choice); least sizes and goals counted by hand. That
children are asked before they keep goal is common practice, no source.
"""

from __future__ import annotations

import pytest

from constraints import RULES
from constraints.enough_to_play import EnoughToPlay
from scheduler.booking.book import book
from scheduler.club.people import Absence, KeeperPolicy, KeeperWish
from scheduler.club.programme import Kind, PlanRow, Practice, Sizes
from scheduler.club.when import Occurs, Span
from scheduler.outcome import Booked, Conflict
from tests.clubs import MONDAY, a_club
from tests.weeks import FIVE, breaches, held, spoken, together, with_asks, with_players, with_practices

RULE = EnoughToPlay()
GAME = Practice(id="Game", kind=Kind.GAME, attackers=Sizes(2, 4, 6), rep=10)
PART = Practice(id="Part", kind=Kind.PART, areas=2, attackers=Sizes(3, 4, 5), defenders=Sizes(1, 2, 3), rep=5)


@pytest.mark.parametrize(
    ("practices", "needed"),
    [
        ((together(),), 1),  # a session for nobody is none
        ((GAME,), 6),  # two sides of two and a keeper each
        ((GAME.model_copy(update={"keepers": 0, "areas": 2}),), 8),
        ((PART,), 10),  # two areas of three, one and a keeper
        ((PART.model_copy(update={"keepers": 0, "areas": 1}),), 4),
        ((together(), GAME, PART), 10),  # the fullest block decides
    ],
)
def test_the_least_sizes_of_the_plan(practices: tuple[Practice, ...], needed: int) -> None:
    club = with_practices(a_club(players=12), *practices)
    enough = tuple(player.id for player in club.players[:needed])
    assert breaches(RULE, club, held(club, players=enough)) == []
    assert breaches(RULE, club, held(club, players=enough[:-1])) == [1]


@pytest.mark.parametrize(("under", "needed"), [(7, 4), (8, 6)])
def test_games_up_to_u7_have_no_keepers(under: int, needed: int) -> None:
    club = with_practices(a_club(players=8), GAME)
    club = club.model_copy(update={"teams": (club.teams[0].model_copy(update={"age_group": under}),)})
    assert breaches(RULE, club, held(club, players=tuple(p.id for p in club.players[: needed - 1]))) == [1]
    assert breaches(RULE, club, held(club, players=tuple(p.id for p in club.players[:needed]))) == []


def test_stations_side_by_side_need_all_their_places_at_once() -> None:
    rows = tuple(PlanRow(plan="Evening", block="1", practice=practice.id, minutes=30) for practice in (GAME, PART))
    club = with_practices(a_club(players=16), GAME, PART).model_copy(update={"plans": rows})
    assert breaches(RULE, club, held(club)) == []
    assert breaches(RULE, club, held(club, players=tuple(p.id for p in club.players[:15]))) == [1]


def test_whoever_could_not_come_is_not_missed_and_guests_do_not_help() -> None:
    """Six are needed, five can come: five are enough and four are one too few, guests or not."""
    gone = Absence(who=("Herons Ivo",), occurs=Occurs(date=MONDAY), span=Span(FIVE, FIVE + 75))
    club = with_practices(a_club(teams=2, players=6, keepers=3, absences=(gone,)), GAME)
    club = with_players(club, 6, 7, also_plays_for=("Herons",))
    own = [player.id for player in club.players[1:6]]
    guests = [player.id for player in club.players[6:8]]
    assert breaches(RULE, club, held(club, players=tuple(own))) == []
    assert breaches(RULE, club, held(club, players=(*own[1:], *guests))) == [1]
    assert spoken(RULE, club, held(club, players=(*own[1:], *guests))) == [
        "Herons 1 keeps 4 of its own players; its plan needs 6, 5 could come"
    ]
    late = gone.model_copy(update={"span": Span(FIVE + 1, FIVE + 75)})
    club = club.model_copy(update={"absences": (late,)})
    assert breaches(RULE, club, held(club, players=tuple(own))) == [1]


def test_every_goal_of_a_rep_has_somebody_to_keep_it() -> None:
    """Both ends need two keepers in every rep of 17:00 to 18:15; who leaves at 18:00 is missing in the last reps."""
    ends = PART.model_copy(update={"attackers": Sizes(2, 2, 3), "defenders": Sizes(1, 1, 2)})
    leaves = Absence(who=("Herons Noor",), occurs=Occurs(date=MONDAY), span=Span(FIVE + 60, FIVE + 75))
    club = with_practices(a_club(players=12), ends)
    assert breaches(RULE, club, held(club)) == []
    early = club.model_copy(update={"absences": (leaves,)})
    assert spoken(RULE, early, held(early)) == [
        "Herons 1, block 1, 18:00-18:05: 2 in goal at once and 1 of the 11 there may be asked to keep"
    ]
    assert breaches(RULE, with_players(early, 2, keeper=KeeperWish.WILLING), held(early)) == []


@pytest.mark.parametrize(("policy", "missing"), [("regulars", [2]), ("volunteers", [2]), ("everyone", [])])
def test_the_policy_of_the_team_says_who_may_be_asked(policy: str, missing: list[int]) -> None:
    club = with_practices(a_club(players=12, keepers=0), PART)
    team = club.teams[0].model_copy(update={"keepers": KeeperPolicy(policy)})
    asked = club.model_copy(update={"teams": (team,)})
    assert breaches(RULE, asked, held(asked)) == missing
    refused = with_players(asked, keeper=KeeperWish.NO)
    assert breaches(RULE, refused, held(refused)) == [2]


@pytest.mark.parametrize("who", [("Herons Ivo", "Herons Noor"), ("Herons Noor",)])
def test_a_session_is_booked_on_a_day_with_keepers(who: tuple[str, ...]) -> None:
    """Two goals, and a keeper away on every day but Saturday and Sunday: the wish for Monday gives way."""
    gone = Absence(who=who, occurs=Occurs(days=frozenset(range(5))))
    club = with_asks(a_club(players=14, keepers=2), wished_days=frozenset({0}))
    outcome = book(club, RULES, limit=5.0)
    assert isinstance(outcome, Booked)
    assert outcome.plan.sessions[0].date.weekday() == 0
    outcome = book(club.model_copy(update={"absences": (gone,)}), RULES, limit=5.0)
    assert isinstance(outcome, Booked)
    assert outcome.plan.sessions[0].date.weekday() >= 5


def test_no_day_with_keepers_is_said_in_trade_words() -> None:
    gone = Absence(who=("Herons Ivo", "Herons Noor"), occurs=Occurs(days=frozenset(range(7))))
    outcome = book(a_club(absences=(gone,)), RULES, limit=5.0)
    assert isinstance(outcome, Conflict)
    said = [demand.text for clash in outcome.clashes for demand in clash.demands]
    assert any("keep goal" in text for text in said), said
