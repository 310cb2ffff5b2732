"""Fair shares counted by hand."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from constraints import RULES
from scheduler.club.club import Club
from scheduler.club.people import Carried, KeeperPolicy, KeeperStays, KeeperWish
from scheduler.club.programme import Kind, Sizes
from scheduler.outcome import Booked
from scheduler.plan.ledger import Line, keeper_shares, ledger, minutes_by_role, policy_of
from scheduler.plan.plan import Place, WeekPlan
from scheduler.rotation.places import with_places
from scheduler.rotation.rotate import rotate
from scheduler.rotation.setting import settings
from tests.booked import random_pool
from tests.rotations import SIDES, a_child, a_practice, a_rotation_club, a_squad, booked


def played(club: Club, reps: list[dict[str, str]], side: str = SIDES[0]) -> WeekPlan:
    """A plan of one station: for each rep the role of each player by name."""
    plan = booked(club)
    turns = settings(club, plan)[0].turns
    places = {
        turn.key: [
            Place(player=player, role=role, area=None if role == "rest" else 1, side=side)
            for player, role in roles.items()
        ]
        for turn, roles in zip(turns, reps, strict=True)
    }
    return with_places(club, plan, places)


def line(club: Club, plan: WeekPlan, player: str, role: str) -> Line:
    return next(one for one in ledger(club, plan) if (one.player, one.role) == (player, role))


def names(roles: str, players: str = "Ivo Noor Tara Sami Mia") -> dict[str, str]:
    letters = {"a": "attack", "d": "defend", "k": "keep", "r": "rest", "p": "play"}
    return {player: letters[letter] for player, letter in zip(players.split(), roles, strict=False) if letter != "-"}


def test_worked_example_of_five_in_strict_turns() -> None:
    """a b c in one bib, d e in the other, 2 v 1, an outside keeper, six reps: shares 6 x 2/5, 6 x 1/5, 6 x 2/5 reps."""
    part = a_practice(Kind.PART, attackers=Sizes(2, 2, 2), defenders=Sizes(1, 1, 1))
    club = a_rotation_club(a_squad(5), [[part]], reps=6)
    plan = played(club, [names(r) for r in ("aardr", "drraa", "arard", "rdraa", "raadr", "rrdaa")])
    for player in ("Ivo", "Sami"):
        assert line(club, plan, player, "attack").share == 4 * F(12, 5)
        assert line(club, plan, player, "defend").share == 4 * F(6, 5)
        assert line(club, plan, player, "rest").share == 4 * F(12, 5)
    mia = line(club, plan, "Mia", "rest")
    # Mia rests in reps 1 and 5, Sami in rep 3 alone: 1 rep against 2.4, beyond the bound by 0.4 of four minutes
    assert mia.held == 8
    sami = line(club, plan, "Sami", "rest")
    assert (sami.held, abs(sami.apart)) == (4, 4 * F(7, 5))
    assert sami.excess == 4 * F(2, 5)


def test_the_worst_whistle_is_found_within_the_week() -> None:
    """Two share one resting place: after two reps one of them has rested twice against a share of one: 1 rep off; at
    the end both have two, exactly the share.
    """
    club = a_rotation_club(a_squad(3), [[a_practice(Kind.GAME, attackers=Sizes(1, 1, 1))]], reps=3)
    plan = played(club, [names("rpp"), names("rpp"), names("prp")])
    ivo = line(club, plan, "Ivo", "rest")
    assert (ivo.held, ivo.share) == (8, 4)
    assert ivo.worst == F(16, 3)  # after rep 2: 8 minutes against 2 x 4/3
    assert (ivo.worst_at.rep, ivo.excess) == (2, F(4, 3))


def test_whoever_keeps_goal_is_not_counted_in_the_field() -> None:
    """Ivo keeps in rep 1: only Noor and Tara share its one attack; in rep 2 Noor keeps, Ivo and Tara share it."""
    club = a_rotation_club(a_squad(3, willing=3), [[a_practice(Kind.PART, keepers=1)]], reps=2)
    plan = played(club, [names("kad"), names("akd")])
    assert line(club, plan, "Ivo", "attack").share == 2
    assert line(club, plan, "Tara", "attack").share == 4
    assert line(club, plan, "Tara", "keep").share == 2 * F(4, 3)


def test_a_late_child_shares_only_in_the_reps_there() -> None:
    club = a_rotation_club(a_squad(3), [[a_practice(Kind.GAME)]], reps=2)
    plan = played(club, [names("rp"), names("rpp")])
    assert line(club, plan, "Ivo", "rest").share == 2 + F(4, 3)
    assert line(club, plan, "Tara", "rest").share == F(4, 3)


def test_one_regular_two_willing_two_goals_six_reps() -> None:
    """Under `regulars` the regular has a goal all six reps, the willing share the other: 6, 3, 3."""
    club = a_rotation_club(a_squad(4, regulars=1, willing=2), [[a_practice(Kind.GAME)]], policy=KeeperPolicy.REGULARS)
    shares = keeper_shares(club, [player.id for player in club.players], 2)
    assert {player: 6 * share for player, share in shares.items()} == {"Ivo": 6, "Noor": 3, "Tara": 3}


@pytest.mark.parametrize(
    ("policy", "shares"),
    [
        # two goals: one regular and two willing share alike; of everyone but `no`, four do
        (KeeperPolicy.VOLUNTEERS, {"Ivo": F(2, 3), "Noor": F(2, 3), "Tara": F(2, 3)}),
        (KeeperPolicy.EVERYONE, {"Ivo": F(1, 2), "Noor": F(1, 2), "Tara": F(1, 2), "Sami": F(1, 2)}),
    ],
)
def test_goal_shares_by_policy(policy: KeeperPolicy, shares: dict[str, F]) -> None:
    squad = (*a_squad(4, regulars=1, willing=2), a_child(4, KeeperWish.NO))
    club = a_rotation_club(squad, [[a_practice(Kind.GAME)]], policy=policy)
    assert keeper_shares(club, [player.id for player in squad], 2) == shares


def test_two_policies_in_one_group_regulars_first_else_volunteers() -> None:
    squad = (a_child(0, team="A"), a_child(1, team="B"))
    team = a_rotation_club(squad, [[a_practice(Kind.GAME)]]).teams[0]
    for one, other, found in (
        (KeeperPolicy.REGULARS, KeeperPolicy.EVERYONE, KeeperPolicy.REGULARS),
        (KeeperPolicy.VOLUNTEERS, KeeperPolicy.EVERYONE, KeeperPolicy.VOLUNTEERS),
        (KeeperPolicy.EVERYONE, KeeperPolicy.EVERYONE, KeeperPolicy.EVERYONE),
    ):
        teams = tuple(team.model_copy(update={"id": i, "keepers": k}) for i, k in (("A", one), ("B", other)))
        club = a_rotation_club(squad, [[a_practice(Kind.GAME)]], teams=teams, sessions=0)
        assert policy_of(club, ["Ivo", "Noor"]) is found


@pytest.mark.parametrize(("stays", "bound"), [(KeeperStays.REP, 4), (KeeperStays.BLOCK, 8), (KeeperStays.SESSION, 16)])
def test_of_keeping_one_rep_means_one_stay(stays: KeeperStays, bound: int) -> None:
    """Two blocks of two reps of four minutes."""
    part = a_practice(Kind.PART, keepers=1)
    club = a_rotation_club(a_squad(3, willing=2), [[part], [part]], reps=2, stays=stays)
    plan = played(club, [names("kad"), names("kad"), names("akd"), names("akd")])
    assert line(club, plan, "Ivo", "keep").bound == bound


def test_at_most_one_rep_of_what_is_due_counts() -> None:
    """Nine minutes of attack due, reps of four: four count. Two minutes less than none: two count."""
    club = a_rotation_club(a_squad(2), [[a_practice(Kind.PART)]], carried=(Carried(player="Ivo", attack=9, defend=-2),))
    plan = played(club, [names("ad")])
    assert line(club, plan, "Ivo", "attack").share == 2 + 4
    assert line(club, plan, "Ivo", "defend").share == 2 - 2


def test_minutes_by_role_add_up_to_the_reps() -> None:
    club = a_rotation_club(a_squad(2), [[a_practice(Kind.PART)]], reps=2)
    plan = played(club, [names("ad"), names("ar")])
    assert minutes_by_role(plan) == {"Ivo": {"attack": 8}, "Noor": {"defend": 4, "rest": 4}}


def slow_ledger(club: Club, plan: WeekPlan) -> dict[tuple[str, str], tuple[F, F, F]]:
    """Held, share and the largest distance by fractions alone, rep by rep, for clubs with nothing due."""
    reps = sorted(
        (planned.date, rep.end, rep.end - rep.start, club.practice(station.practice).kind, rep.places)
        for planned in plan.sessions
        for block in planned.blocks
        for station in block.stations
        for rep in station.reps
        if club.practice(station.practice).kind is not Kind.TOGETHER
    )
    found: dict[tuple[str, str], tuple[F, F, F]] = {}
    for _, _, minutes, kind, places in reps:
        keepers = [place.player for place in places if place.role == "keep"]
        goal = keeper_shares(club, [place.player for place in places], len(keepers)) if keepers else {}
        for place in places:
            shares = {"keep": goal[place.player]} if place.player in goal else {}
            if place.role != "keep":
                for role in ("attack", "defend", "rest") if kind is Kind.PART else ("rest",):
                    shares[role] = F(sum(p.role == role for p in places), len(places) - len(keepers))
            for role, part in shares.items():
                held, share, worst = found.get((place.player, role), (F(0), F(0), F(0)))
                held, share = held + minutes * (place.role == role), share + minutes * part
                found[place.player, role] = held, share, max(worst, abs(held - share))
    return found


@pytest.mark.parametrize("number", [1, 4, 9])
def test_whole_numbers_say_what_fractions_say(number: int) -> None:
    """The ledger reckons in a common denominator; the same in plain fractions, for weeks of parts and games."""
    club, booked_plan = random_pool(number)
    club = club.model_copy(update={"carried": ()})
    outcome = rotate(club, booked_plan, RULES)
    assert isinstance(outcome, Booked)
    plan = outcome.plan
    lines = {(one.player, one.role): (one.held, one.share, one.worst) for one in ledger(club, plan)}
    assert lines == slow_ledger(club, plan)
    for one in ledger(club, plan):
        assert abs(one.held_then - one.share_then) == one.worst


def test_the_same_sessions_are_reckoned_once() -> None:
    """Proofs and wishes are added to a plan again and again: as long as its sessions are the same ones, so is this."""
    part = a_practice(Kind.PART, attackers=Sizes(1, 1, 1), defenders=Sizes(1, 1, 1))
    club = a_rotation_club(a_squad(2), [[part]], reps=2)
    plan = played(club, [names("ad"), names("da")])
    assert ledger(club, plan.model_copy(update={"revision": 2})) is ledger(club, plan)
    other = played(club, [names("ad"), names("ad")])
    assert ledger(club, other) is not ledger(club, plan)
    assert line(club, other, "Ivo", "attack").held == 8
    assert line(club, plan, "Ivo", "attack").held == 4
