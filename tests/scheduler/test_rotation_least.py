"""The least excess that the models show: against every rotation of tiny pools, counted one by one without a solver.

The fair share and the excess are worked out again here from their definition, in sixtieths of a rep.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction as F
from itertools import combinations, product
from random import Random

import pytest

import scheduler.rotation.least_excess as least_excess_module
from constraints import RULES
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.club.people import Absence, KeeperPolicy, KeeperStays
from scheduler.club.programme import Sizes
from scheduler.club.when import Occurs, Span
from scheduler.contract import is_rotation_rule
from scheduler.outcome import Booked
from scheduler.plan.ledger import ledger
from scheduler.rotation.counts import CountsModel
from scheduler.rotation.distances import alike, order_alike
from scheduler.rotation.draft import Draft
from scheduler.rotation.keepers import choose_keepers
from scheduler.rotation.least_excess import least_excess
from scheduler.rotation.lessen import Solve, solve
from scheduler.rotation.rotate import rotate
from scheduler.rotation.setting import settings
from tests.clubs import MONDAY
from tests.rotations import EIGHTEEN, a_practice, a_rotation_club, a_squad, booked

REP = 4
WHOLE = 60  # parts of a rep: as all numbers of players in the field up to six share it
Held = tuple[tuple[int, ...], ...]


class Tiny:
    """One area, `size` attackers against `other` defenders, so many reps; some come late. `goal`: everyone keeps."""

    def __init__(self, number: int, goal: bool) -> None:
        random = Random(number)
        self.goal = goal
        self.players = 4 if goal else random.randint(4, 5)
        self.reps = 3 if goal else random.randint(4, 5)
        self.attack, self.defend = (1, random.randint(1, 3)), (1, random.randint(1, 2))
        self.first = [0] * self.players  # the first rep (from 0) in which each is there
        if random.random() < 0.6:
            self.first[-1] = random.randint(1, self.reps - 1)

    def club(self) -> Club:
        """The same as a club: one team, one session."""
        part = a_practice(
            attackers=Sizes(self.attack[0], self.attack[1], self.attack[1]),
            defenders=Sizes(self.defend[0], self.defend[1], self.defend[1]),
            keepers=int(self.goal), rep=REP, changeover=1,
        )  # fmt: skip
        policy = KeeperPolicy.EVERYONE if self.goal else KeeperPolicy.VOLUNTEERS
        club = a_rotation_club(a_squad(self.players), [[part]], reps=self.reps, policy=policy, stays=KeeperStays.REP)
        late = tuple(
            Absence(who=(club.players[i].id,), occurs=Occurs(date=MONDAY), span=Span(0, EIGHTEEN + 5 * first))
            for i, first in enumerate(self.first)
            if first
        )
        return club.model_copy(update={"absences": late})

    def least(self) -> F | None:
        """In reps the least distance at the worst whistle over every rotation; None where none is lawful."""
        found = [worst for sides in product((0, 1), repeat=self.players) for worst in self._of_sides(sides)]
        return min(found, default=None)

    def _of_sides(self, sides: Sequence[int]) -> Iterator[F]:
        """The largest distance of every way to play with these bibs; of ways alike so far the best is kept."""
        nothing: Held = tuple((0,) * 4 for _ in sides)
        states: dict[tuple[Held, frozenset[int]], int] = {(nothing, frozenset()): 0}
        for rep in range(self.reps):
            after: dict[tuple[Held, frozenset[int]], int] = {}
            for (held, fielded), worst in states.items():
                for now, field in self._reps(rep, sides, held):
                    beyond = max(abs(value) for row in now for value in row)
                    key, value = (now, fielded | field), max(worst, beyond, 0)
                    if value < after.get(key, 99 * WHOLE):
                        after[key] = value
            states = after
        start = [p for p in range(self.players) if self.first[p] == 0]
        for (_, fielded), worst in states.items():
            if abs(sum(2 * sides[p] - 1 for p in start if p in fielded)) <= 1:
                yield F(worst, WHOLE)

    def _reps(self, rep: int, sides: Sequence[int], held: Held) -> Iterator[tuple[Held, frozenset[int]]]:
        """Every lawful way to play one rep: distances in attack, defence, rest and goal, and the field."""
        here = [p for p in range(self.players) if self.first[p] <= rep]
        for keepers in combinations(here, int(self.goal)):
            field = [p for p in here if p not in keepers]
            attackers, defenders = ([p for p in field if sides[p] == (rep + s) % 2] for s in (0, 1))
            if len(attackers) < self.attack[0] or len(defenders) < self.defend[0]:
                continue
            play = min(self.attack[1], len(attackers)), min(self.defend[1], len(defenders))
            for attack in combinations(attackers, play[0]):
                for defend in combinations(defenders, play[1]):
                    rest = len(field) - sum(play)
                    share = [WHOLE * number // len(field) for number in (*play, rest)]
                    rows = [list(row) for row in held]
                    for p in here:
                        role = 0 if p in attack else 1 if p in defend else 3 if p in keepers else 2
                        rows[p][role] += WHOLE
                        rows[p][3] -= WHOLE * int(self.goal) // len(here)
                        if p in field:
                            rows[p] = [value - part for value, part in zip(rows[p], (*share, 0), strict=True)]
                    yield tuple(tuple(row) for row in rows), frozenset(field)


class TwoAreas(Tiny):
    """Two areas without goals: each side attacks with one or two in one and defends with one or two in the other."""

    def __init__(self, number: int) -> None:
        super().__init__(number, goal=False)
        random = Random(number)
        self.players, self.reps = random.randint(4, 5), 3
        self.attack, self.defend = (1, random.randint(1, 2)), (1, 1)
        self.first = [0] * self.players
        if random.random() < 0.5:
            self.first[-1] = random.randint(1, 2)

    def club(self) -> Club:
        attackers, defenders = (Sizes(low, high, high) for low, high in (self.attack, self.defend))
        part = a_practice(areas=2, attackers=attackers, defenders=defenders, rep=REP, changeover=1)
        club = a_rotation_club(a_squad(self.players), [[part]], reps=self.reps)
        late = tuple(
            Absence(who=(club.players[i].id,), occurs=Occurs(date=MONDAY), span=Span(0, EIGHTEEN + 5 * first))
            for i, first in enumerate(self.first)
            if first
        )
        return club.model_copy(update={"absences": late})

    def _reps(self, rep: int, sides: Sequence[int], held: Held) -> Iterator[tuple[Held, frozenset[int]]]:
        here = [p for p in range(self.players) if self.first[p] <= rep]
        for one, two in product(*(self._ways([p for p in here if sides[p] == s]) for s in (0, 1))):
            attack, defend = one[0] + two[0], one[1] + two[1]
            share = [WHOLE * len(attack) // len(here), WHOLE * len(defend) // len(here)]
            share.append(WHOLE - sum(share))
            rows = [list(row) for row in held]
            for p in here:
                rows[p][0 if p in attack else 1 if p in defend else 2] += WHOLE
                rows[p] = [value - part for value, part in zip(rows[p], (*share, 0), strict=True)]
            yield tuple(tuple(row) for row in rows), frozenset(here)

    def _ways(self, field: list[int]) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
        """Who of one side attacks and who defends, as many as can play."""
        plays = min(len(field), self.attack[1] + self.defend[1])
        for number in range(self.attack[0], min(self.attack[1], plays) + 1):
            if self.defend[0] <= plays - number <= self.defend[1]:
                for attack in combinations(field, number):
                    for defend in combinations([p for p in field if p not in attack], plays - number):
                        yield attack, defend


def a_draft(club: Club) -> Draft:
    plan = booked(club)
    (ring,) = settings(club, plan)
    draft = Draft(club, ring, {})
    choose_keepers(draft)
    draft.weigh()
    return draft


POOLS = [Tiny(number, goal) for goal in (False, True) for number in range(20)] + [TwoAreas(n) for n in range(16)]


@pytest.mark.parametrize("together", [True, False])
@pytest.mark.parametrize("tiny", POOLS)
def test_the_models_least_is_the_least_of_all_rotations(tiny: Tiny, together: bool) -> None:
    """With bounds of nothing the excess is the largest distance at any whistle, which is hardly ever nothing.

    Asked for the least, then for that and for one scaled minute less: the rows about whole reps take part in the
    answer only where little excess is allowed. With children of one kind taken together, and with each alone.
    """
    furthest = tiny.least()
    draft = a_draft(tiny.club())
    draft.bound = [[0, 0, 0, 0] for _ in draft.bound]

    def solved(most: int) -> Solve:
        counts = CountsModel(draft, 0, 1, most if together else None)
        assert bool(counts.flows.players) == together
        order_alike(counts)
        return solve(counts, 20.0, 0, most)

    if furthest is None:
        assert solved(draft.scale * 100).found is None
        return
    scaled = int(furthest * REP * draft.scale)
    assert scaled == furthest * REP * draft.scale
    for most in (draft.scale * 100, scaled):
        found = solved(most)
        assert (found.found, found.bound) == (scaled, scaled)
    if scaled:
        less = solved(scaled - 1)
        assert (less.found, less.bound) == (None, scaled)


@pytest.mark.parametrize("number", range(20))
def test_counting_never_claims_more_than_the_least_of_all_rotations(number: int, monkeypatch: pytest.MonkeyPatch
                                                                    ) -> None:  # fmt: skip
    """With bounds of nothing again."""
    tiny = Tiny(number, goal=False)
    club = tiny.club()
    furthest = tiny.least()
    (ring,) = settings(club, booked(club))
    each = least_excess_module.beyond_of_sides

    def without_bounds(held, sides, field, bounds, unit):
        return each(held, sides, field, (0, 0, 0), unit)

    monkeypatch.setattr(least_excess_module, "beyond_of_sides", without_bounds)
    assert furthest is not None
    counted = least_excess(club, ring, F(100))
    assert counted <= furthest * REP
    assert counted > 0


def test_players_alike_are_those_with_the_same_week() -> None:
    tiny = Tiny(0, False)
    tiny.first = [0, 0, 0, 2, 2, 0][: tiny.players]
    draft = a_draft(tiny.club())
    sets = alike(CountsModel(draft, 0, 1))
    assert sorted(len(players) for players in sets)[-1] == sum(1 for first in tiny.first if not first)
    assert all(len({tiny.first[player] for player in players}) == 1 for players in sets)


def test_an_excess_that_cannot_be_avoided_is_recorded_as_proved() -> None:
    """Five in strict turns, an outside keeper: 0.4 rep is the least (worked out by hand beside the exact model)."""
    part = a_practice(attackers=Sizes(2, 2, 2), defenders=Sizes(1, 1, 1), keepers=1)
    squad = a_squad(6, regulars=1)
    club = a_rotation_club(squad, [[part]], reps=6, policy=KeeperPolicy.REGULARS, stays=KeeperStays.SESSION)
    outcome = rotate(club, booked(club), RULES)
    assert isinstance(outcome, Booked)
    assert outcome.proven
    assert max(line.excess for line in ledger(club, outcome.plan)) == F(2, 5) * REP
    rotation = tuple(rule for rule in RULES if is_rotation_rule(rule))
    assert audit(club, outcome.plan, rotation).breaches == ()


@pytest.mark.parametrize(("bibs", "least"), [("session", F(2, 5) * REP), ("block", F(0))])
def test_with_bibs_drawn_anew_each_block_only_the_first_block_counts(bibs: str, least: F) -> None:
    """The same five in two blocks of three reps: 0.4 rep when bibs stay on; with new bibs each child may change sides.

    After three reps the side of three has attacked twice or once: shares 1.2, 0.6 and 1.2, so nobody need be beyond.
    """
    part = a_practice(attackers=Sizes(2, 2, 2), defenders=Sizes(1, 1, 1), keepers=1)
    squad = a_squad(6, regulars=1)
    club = a_rotation_club(squad, [[part], [part]], reps=3, policy=KeeperPolicy.REGULARS, stays=KeeperStays.SESSION,
                           bibs_stay=bibs)  # fmt: skip
    (ring,) = settings(club, booked(club))
    assert least_excess(club, ring, F(100)) == least
    outcome = rotate(club, booked(club), RULES)
    assert isinstance(outcome, Booked)
    assert outcome.proven
    assert max(line.excess for line in ledger(club, outcome.plan)) == least
