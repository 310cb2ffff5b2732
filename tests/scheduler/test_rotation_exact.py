"""The exact model: known least excesses, wishes in their order, small replans, proofs by counting."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from constraints import RULES
from constraints.few_changes import FewChanges
from scheduler.audit import audit
from scheduler.club.people import Absence, KeeperPolicy, KeeperStays
from scheduler.club.programme import Kind, Sizes
from scheduler.club.when import Occurs, Span
from scheduler.contract import Severity
from scheduler.outcome import Booked
from scheduler.plan.ledger import ledger
from scheduler.plan.plan import WeekPlan
from scheduler.rotation.exact import Exact, is_lawful, locked_before, prove_excess, rotate_exactly
from scheduler.rotation.proofs import fairness_proofs, least_distance
from scheduler.rotation.rotate import rotate
from scheduler.rotation.setting import settings
from tests.clubs import MONDAY, a_club
from tests.rotations import EIGHTEEN, a_practice, a_rotation_club, a_squad, booked

LIMIT = 20.0
FAIRNESS = {"even attack and defend", "keeper minutes", "rest"}


def solved(club, plan: WeekPlan | None = None, **options) -> Exact:
    plan = plan or booked(club)
    return rotate_exactly(club, plan, settings(club, plan)[0], RULES, limit=LIMIT, **options)


def role_breaches(club, plan: WeekPlan) -> list[str]:
    """What the rules on the rotation say; bookings of these clubs are not the matter here."""
    mine = {"area sizes", "willing keepers", "sides kept", "stations visited", "few rests", "apart", *FAIRNESS}
    return [found.text for found in audit(club, plan, RULES).breaches if found.rule in mine]


def five_in_strict_turns():
    """Three in one bib, two in the other, one area of 2 v 1, an outside keeper: a regular who keeps all session."""
    part = a_practice(Kind.PART, attackers=Sizes(2, 2, 2), defenders=Sizes(1, 1, 1), keepers=1)
    squad = a_squad(6, regulars=1)
    return a_rotation_club(squad, [[part]], reps=6, policy=KeeperPolicy.REGULARS, stays=KeeperStays.SESSION)


def nine_at_both_ends():
    """Seven outfielders and two keepers, two areas, exactly two attackers each."""
    part = a_practice(Kind.PART, areas=2, attackers=Sizes(2, 2, 2), defenders=Sizes(1, 2, 2), keepers=1)
    squad = a_squad(9, regulars=2)
    return a_rotation_club(squad, [[part]], reps=6, policy=KeeperPolicy.REGULARS, stays=KeeperStays.SESSION)


FIVE, NINE = five_in_strict_turns(), nine_at_both_ends()
SOLVED: dict[int, Exact] = {}


def best(club) -> Exact:
    """Solved once for all tests."""
    if id(club) not in SOLVED:
        SOLVED[id(club)] = solved(club)
    return SOLVED[id(club)]


@pytest.mark.parametrize(
    ("club", "excess"),
    [
        # the two of the smaller side rest three times in six reps between them, one and two: 2.4 - 1 - 1 = 0.4 rep
        (FIVE, F(2, 5)),
        # after rep 5 three children have ten attacks: one has four, against 20/7: 4 - 20/7 - 1 = 1/7 rep
        (NINE, F(1, 7)),
    ],
    ids=["five in strict turns", "nine at both ends"],
)
def test_least_excess_of_the_worked_examples(club, excess: F) -> None:
    exact = best(club)
    assert exact.status == "found"
    assert exact.plan is not None
    assert (exact.excess, exact.bound, exact.proved) == (4 * excess, 4 * excess, True)
    assert max(line.excess for line in ledger(club, exact.plan)) == 4 * excess
    assert len({line.player for line in ledger(club, exact.plan) if line.excess}) == exact.children_over
    assert role_breaches(club, exact.plan) == []


def test_a_recorded_excess_is_a_caution_and_an_unrecorded_one_a_breach() -> None:
    club = FIVE
    plan = best(club).plan
    assert plan is not None
    found = [v for v in audit(club, plan, RULES).findings if v.rule == "rest"]
    assert found
    assert {v.severity for v in found} == {Severity.CAUTION}
    assert all("less is shown impossible" in v.text for v in found)
    silent = [v for v in audit(club, plan.model_copy(update={"proofs": ()}), RULES).findings if v.rule == "rest"]
    assert {v.severity for v in silent} == {Severity.BREACH}
    less = tuple(p.model_copy(update={"value": p.value - 0.01}) for p in plan.proofs)
    told_less = audit(club, plan.model_copy(update={"proofs": less}), RULES)
    assert any(v.rule == "rest" and v.severity is Severity.BREACH for v in told_less.findings)
    found_only = tuple(p.model_copy(update={"proved": False}) for p in plan.proofs)
    unproved = audit(club, plan.model_copy(update={"proofs": found_only}), RULES)
    assert any("not shown to be the least" in v.text for v in unproved.findings if v.rule == "rest")


def test_an_excess_of_a_given_plan_is_proved_least() -> None:
    club = FIVE
    plan = best(club).plan
    assert plan is not None
    ring = settings(club, plan)[0]
    proof = prove_excess(club, plan.model_copy(update={"proofs": ()}), ring, RULES, LIMIT)
    assert (proof.excess, proof.proved) == (F(8, 5), True)
    assert is_lawful(club, plan, ring, RULES, F(8, 5))
    assert not is_lawful(club, plan, ring, RULES, F(8, 5) - F(1, 5))


def test_one_regular_two_willing_keep_six_three_three() -> None:
    """Two goals, six reps, a turn a rep: the regular keeps all six, the willing share the other goal."""
    part = a_practice(Kind.PART, areas=2, keepers=1)
    squad = a_squad(6, regulars=1, willing=2)
    club = a_rotation_club(squad, [[part]], reps=6, policy=KeeperPolicy.REGULARS, stays=KeeperStays.REP)
    exact = solved(club)
    assert exact.plan is not None
    kept = {line.player: line.held / 4 for line in ledger(club, exact.plan) if line.role == "keep"}
    assert kept["Ivo"] == 6
    assert kept["Noor"] + kept["Tara"] == 6
    assert abs(kept["Noor"] - 3) <= 1


def test_too_few_for_the_sizes_is_no_rotation() -> None:
    part = a_practice(Kind.PART, attackers=Sizes(2, 2, 3), defenders=Sizes(2, 2, 2))
    exact = solved(a_rotation_club(a_squad(3), [[part]], reps=2))
    assert (exact.plan, exact.status) == (None, "none")


@pytest.mark.parametrize("count", [4, 5, 6, 7])
def test_wishes_cost_the_solver_what_their_audits_add_up_to(count: int) -> None:
    """What the audits add up to is what the solver paid, wish by wish, and no more than a plan without wishes costs."""
    part = a_practice(Kind.PART, attackers=Sizes(1, 2, 3), defenders=Sizes(1, 1, 2))
    squad = tuple(
        child.model_copy(update={"even_up": (1, -1, 1)[number] if number < 3 else 0})
        for number, child in enumerate(a_squad(count))
    )
    club = a_rotation_club(squad, [[part]], reps=3)
    wishes = ("wanted sizes", "balanced sides", "mixing")
    exact = solved(club, wishes=wishes)
    assert exact.plan is not None
    plain = solved(club)
    assert plain.plan is not None
    paid, other = audit(club, exact.plan, RULES).paid(), audit(club, plain.plan, RULES).paid()
    assert set(exact.proved_wishes) == set(wishes)
    assert [paid.get(wish, 0) for wish in wishes] == [exact.costs[wish] for wish in wishes]
    assert [paid.get(wish, 0) for wish in wishes] <= [other.get(wish, 0) for wish in wishes]


def test_a_replan_changes_as_few_places_as_possible_and_keeps_what_was_played() -> None:
    """Six in a 1-2 v 1-2 part; one leaves at rep 4: reps 1 to 3 stay, and nobody need swap where sizes still fit."""
    part = a_practice(Kind.PART, attackers=Sizes(1, 2, 3), defenders=Sizes(1, 2, 3))
    club = a_rotation_club(a_squad(6), [[part]], reps=6)
    before = solved(club).plan
    assert before is not None
    gone = Absence(who=("Tara",), occurs=Occurs(date=MONDAY), span=Span(EIGHTEEN + 15, EIGHTEEN + 60))
    later = club.model_copy(update={"absences": (gone,)})
    ring = settings(later, booked(later))[0]
    played = locked_before(ring, MONDAY, EIGHTEEN + 15)
    assert len(played) == 3
    exact = rotate_exactly(later, booked(later), ring, RULES, limit=LIMIT, earlier=before, locked=played)
    assert exact.plan is not None
    assert role_breaches(later, exact.plan) == []
    reps = [plan.sessions[0].blocks[0].stations[0].reps for plan in (before, exact.plan)]
    assert reps[0][:3] == reps[1][:3]
    assert sum(1 for _ in FewChanges(earlier=before).audit(later, exact.plan)) == exact.costs["few changes"]
    assert "Tara" not in {place.player for place in reps[1][3].places}


def test_groups_go_round_and_are_chosen_together_with_the_places() -> None:
    """Eight children, two stations that change after one block: each group of four visits both."""
    one, two = a_practice(Kind.GAME, name="game one"), a_practice(Kind.GAME, name="game two")
    club = a_rotation_club(a_squad(8), [[one, two], [one, two]], reps=2)
    exact = solved(club)
    assert exact.plan is not None
    assert role_breaches(club, exact.plan) == []
    visited = {
        (place.player, station.station)
        for block in exact.plan.sessions[0].blocks
        for station in block.stations
        for place in station.reps[0].places
    }
    assert len(visited) == 16


def test_the_same_input_gives_the_same_places() -> None:
    club = five_in_strict_turns()
    one, other = solved(club).plan, solved(club).plan
    assert one is not None
    assert other is not None
    assert one.to_json() == other.to_json()


@pytest.mark.parametrize(
    ("shares", "total", "bound"),
    [
        # 7 children, 20 attacks, shares 2 + 6/7: somebody holds 2 at most: 6/7
        ([F(20, 7)] * 7, 20, F(6, 7)),
        # 6 children, 8 rests, shares 1 + 1/3: somebody holds 2: 2/3
        ([F(4, 3)] * 6, 8, F(2, 3)),
        # whole shares can be met
        ([F(2)] * 5, 10, F(0)),
        # unequal: 1/2 and 3/2 of two: each is half away
        ([F(1, 2), F(3, 2)], 2, F(1, 2)),
        # 1/4, 1/4, 1/2 of one: whoever holds it is at least 1/2 away
        ([F(1, 4), F(1, 4), F(1, 2)], 1, F(1, 2)),
    ],
)
def test_the_least_distance_by_counting(shares: list[F], total: int, bound: F) -> None:
    names = [f"child {i}" for i in range(len(shares))]
    held = {names[0]: F(4 * total), **dict.fromkeys(names[1:], F(0))}
    share = {name: 4 * fair for name, fair in zip(names, shares, strict=True)}
    assert least_distance(held, share, dict.fromkeys(names, F(4)), 4) == bound


def test_no_plan_is_nearer_to_the_shares_than_counting_allows() -> None:
    for club in (FIVE, NINE):
        plan = best(club).plan
        assert plan is not None
        for proof in fairness_proofs(club, plan):
            assert proof.bound <= proof.value
            assert proof.proved == (proof.bound == proof.value)
            assert proof.unit in ("reps", "stays")


@pytest.mark.parametrize(("players", "keepers"), [(14, 2), (13, 2), (16, 3), (12, 2)])
def test_a_quick_plan_is_lawful_in_the_exact_model(players: int, keepers: int) -> None:
    """Both ends with keepers, then a small game: the quick path's places, held in the exact model, stand."""
    club = a_club(players=players, keepers=keepers)
    outcome = rotate(club, booked(club), RULES)
    assert isinstance(outcome, Booked)
    assert role_breaches(club, outcome.plan) == []
    for ring in settings(club, outcome.plan):
        assert is_lawful(club, outcome.plan, ring, RULES)
