"""Mixing by exchange: the figure it keeps is the one the audit counts, and nothing else of the rotation moves."""

from __future__ import annotations

from random import Random

import pytest

from constraints import RULES
from constraints.mixing import Mixing
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.contract import is_rotation_rule
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.priorities import ROTATION_ORDER
from scheduler.rotation import quick
from scheduler.rotation.draft import Draft
from scheduler.rotation.exchanges import Mixer
from scheduler.rotation.margins import Margins
from scheduler.rotation.pair_proof import MEASURE
from scheduler.rotation.places import with_places
from scheduler.rotation.placing import places_of
from scheduler.rotation.proofs import fairness_proofs
from scheduler.rotation.repair import swap
from scheduler.rotation.rotate import rotate
from scheduler.rotation.unmet import unmet_wishes
from tests.booked import SIX, booked_week, random_pool
from tests.clubs import a_club

POOLS = (1, 3, 4, 9, 13)


def a_draft(number: int, monkeypatch: pytest.MonkeyPatch) -> tuple[Club, WeekPlan, Draft]:
    """The draft of a random pool just before it is mixed."""
    kept: list[Draft] = []
    monkeypatch.setattr(quick, "places_of", lambda draft: kept.append(draft) or places_of(draft))
    club, plan = random_pool(number)
    from scheduler.rotation.setting import laid, settings

    plan = plan.model_copy(update={"sessions": tuple(laid(club, one) for one in plan.sessions)})
    quick.rotate_quickly(club, plan, settings(club, plan)[0], mix=False)
    return club, plan, kept[0]


def repeats(club: Club, plan: WeekPlan) -> int:
    """The pair figure by the audit's own count."""
    return sum(int(found.by) for found in Mixing().audit(club, plan))


@pytest.mark.parametrize("number", POOLS)
def test_mixing_keeps_its_figure_and_worsens_nothing(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    club, plan, draft = a_draft(number, monkeypatch)
    before = [draft.walk(player) for player in range(len(draft.names))]
    first = repeats(club, with_places(club, plan, places_of(draft)))
    mixer = Mixer(draft)
    assert mixer.value == first
    reached = mixer.run(4_000, Random(number))
    assert reached == repeats(club, with_places(club, plan, places_of(draft))) <= first
    for player, (over, end) in enumerate(before):
        now = draft.walk(player)
        assert now[0] <= over, draft.names[player]
        assert now[1] <= end, draft.names[player]


@pytest.mark.parametrize("number", POOLS)
def test_margins_say_what_walking_the_whole_week_says(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Any two of one side in any turn, changing back in any other where they hold each other's roles, or not at all."""
    _, _, draft = a_draft(number, monkeypatch)
    random, margins, said = Random(number), Margins(draft), set()
    for _ in range(300):
        index = random.randrange(len(draft.lineups))
        lineup = draft.lineups[index]
        side = draft.sides[lineup.stay]
        one, two = random.sample(lineup.field, 2)
        roles = lineup.role[one], lineup.role[two]
        if side[one] != side[two] or roles[0] == roles[1]:
            continue
        backs = [
            i for i, other in enumerate(draft.lineups)
            if i != index and other.full == lineup.full and one in other.field and two in other.field
            and (other.role[two], other.role[one]) == roles
        ]  # fmt: skip
        back = random.choice(backs) if backs and random.random() < 0.6 else None
        turns = [lineup] if back is None else [lineup, draft.lineups[back]]
        before = draft.walk(one), draft.walk(two)
        for turn in turns:
            swap(turn, one, two)
        after = draft.walk(one), draft.walk(two)
        within = not any(walk[0] for walk in (*before, *after))
        lawful = within and all(now[1] <= then[1] for now, then in zip(after, before, strict=True))
        assert margins.moved(index, back, (one, two), roles) == lawful
        said.add(lawful)
        if not lawful:
            for turn in turns:
                swap(turn, one, two)
    assert True in said


@pytest.mark.parametrize("number", [3, 9, 14])
def test_what_the_rotation_says_it_costs_is_what_the_audits_count(number: int) -> None:
    """Wish by wish, and the proofs of fairness ring by ring, against the audit of the whole week."""
    club, plan = random_pool(number)
    held_to_account(club, plan)


def test_two_rings_are_added_up_as_one_week() -> None:
    club = a_club(teams=2, players=15, keepers=2, sessions=2)
    held_to_account(club, booked_week(club, (0, SIX), (2, SIX), (1, SIX), (3, SIX)))


def held_to_account(club: Club, plan: WeekPlan) -> None:
    outcome = rotate(club, plan, RULES)
    assert isinstance(outcome, Booked)
    full = outcome.plan
    names = {rule.name for rule in RULES if is_rotation_rule(rule) and not rule.firm}
    paid = {wish: by for wish, by in audit(club, full, RULES).paid().items() if wish in names}
    claimed: dict[str, float] = {}
    for row in full.unmet:
        claimed[row.wish] = claimed.get(row.wish, 0.0) + row.by
    assert claimed == {wish: float(by) for wish, by in paid.items()}
    assert set(claimed) <= set(ROTATION_ORDER)
    assert sum(proof.value for proof in full.proofs if proof.measure == MEASURE) == float(paid["mixing"])
    assert full.unmet == unmet_wishes(club, full, RULES)
    fair = fairness_proofs(club, full)
    assert tuple(proof for proof in full.proofs if proof in fair) == fair
