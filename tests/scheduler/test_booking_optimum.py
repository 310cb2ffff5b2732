"""The booking against every booking there is, and against the same week written a second way for another solver."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from constraints import RULES
from scheduler.audit import audit
from scheduler.booking.book import book
from scheduler.club.club import Club
from scheduler.club.places import Opening, Pitch
from scheduler.club.programme import Kind, Practice, SessionAsk, Sizes
from scheduler.club.when import Span
from scheduler.contract import Severity, is_booking_rule
from scheduler.outcome import Booked, Conflict
from scheduler.plan.plan import WeekPlan
from scheduler.priorities import BOOKING_ORDER
from tests.bookings import every_booking
from tests.clubs import a_club

FIVE = 17 * 60
BOOKING_RULES = tuple(rule for rule in RULES if is_booking_rule(rule))
SEEDS = range(30)
# three players are needed and each team has three, so that nobody can be left out of anything
TWO_V_ONE = Practice(id="Two v one", kind=Kind.PART, attackers=Sizes(2, 2, 2), defenders=Sizes(1, 1, 1), keepers=0,
                     rep=10, rpe=5)  # fmt: skip


def a_small_club(seed: int) -> Club:
    """Two or three sessions of an hour, one or two pitches open for one or two of them; some weeks have no room."""
    random = Random(seed)
    teams = random.choice((1, 2, 2))
    hours = random.choice((60, 60, 120))
    pitches = tuple(
        Pitch(id=name, site="Marsh Lane", zones=1, quality=5 - n,
              openings=(Opening(span=Span(FIVE, FIVE + hours)),))
        for n, name in enumerate(("North", "South")[: random.choice((1, 1, 2))])
    )  # fmt: skip
    club = a_club(teams=teams, players=3, step=60, pitches=pitches)
    names = [team.id for team in club.teams]
    asks = []
    for number in range(3 if teams == 2 else 2):
        days = frozenset(random.sample(range(3), random.choice((1, 1, 2))))
        wished = frozenset(random.sample(range(3), 1))
        asks.append(
            SessionAsk(id=f"session {number + 1}", teams=(names[number % teams],), plan="Evening", minutes=60, zones=1,
                       days=days, wished_days=wished)
        )  # fmt: skip
    plans = (club.plans[0].model_copy(update={"practice": TWO_V_ONE.id, "minutes": 60}),)
    return club.model_copy(update={"sessions": tuple(asks), "plans": plans, "practices": (TWO_V_ONE,)})


def cost(club: Club, plan: WeekPlan) -> tuple[float, ...] | None:
    """What each wish costs a plan, in order of priority, from the audits alone; None where a rule is broken."""
    judged = audit(club, plan, BOOKING_RULES, with_roles=False)
    if judged.of(Severity.BREACH):
        return None
    paid = judged.paid()
    return tuple(float(paid.get(wish, 0)) for wish in BOOKING_ORDER)


def best_of_all(club: Club) -> tuple[float, ...] | None:
    """The least cost of any lawful booking with everybody and their own two coaches; None where there is none.

    Nobody can be left out of sessions that need all three, and each team's two coaches suffice: all others cost more.
    """
    allowed = {day for ask in club.sessions for day in ask.days}
    last = club.pitches[0].openings[0].span.end
    plans = every_booking(
        club, slots=lambda slot: slot.date.weekday() in allowed and slot.start >= FIVE and slot.end <= last
    )
    return min((found for plan in plans if (found := cost(club, plan)) is not None), default=None)


@pytest.mark.parametrize("seed", SEEDS)
def test_small_clubs_are_booked_as_well_as_any_or_shown_impossible(seed: int) -> None:
    club = a_small_club(seed)
    outcome = book(club, BOOKING_RULES)
    best = best_of_all(club)
    if isinstance(outcome, Booked):
        found = cost(club, outcome.plan)
        assert found is not None, "the plan breaks a rule"
        assert outcome.proven
        assert found == best
        proofs = {proof.measure: proof.value for proof in outcome.plan.proofs}
        assert all(proofs.get(wish, 0.0) == value for wish, value in zip(BOOKING_ORDER, found, strict=True))
    else:
        assert isinstance(outcome, Conflict)
        assert best is None, "a lawful booking exists"


def test_the_seeds_tell_both_outcomes() -> None:
    kinds = {type(book(a_small_club(seed), BOOKING_RULES)) for seed in SEEDS}
    assert kinds == {Booked, Conflict}


def least_by_another_solver(club: Club) -> tuple[int, int] | None:
    """Sessions off their wished days, then pairs of a team on neighbouring days: 0/1 rows for HiGHS, two solves.

    A variable a session, day, hour and pitch; one for each pair of a team's sessions that are too close.
    """
    hours = club.pitches[0].openings[0].span
    starts = range(hours.start, hours.end - 59, 60)
    keys = [(s, d, t, p) for s in range(len(club.sessions)) for d in sorted(club.sessions[s].days) for t in starts
            for p in range(len(club.pitches))]  # fmt: skip
    teams = [ask.teams[0] for ask in club.sessions]
    pairs = [(a, b) for a in range(len(teams)) for b in range(a) if teams[a] == teams[b]]
    width = len(keys) + len(pairs)

    def row(test: object, pair: int | None = None) -> np.ndarray:
        found = np.array([float(test(*key)) for key in keys] + [0.0] * len(pairs))  # type: ignore[operator]
        if pair is not None:
            found[len(keys) + pair] = -1.0
        return found

    rows, low, high = [], [], []

    def add(line: np.ndarray, least: float, most: float) -> None:
        rows.append(line)
        low.append(least)
        high.append(most)

    for session in range(len(club.sessions)):
        add(row(lambda s, d, t, p, session=session: s == session), 1, 1)
    for day in range(7):
        for start in starts:
            for pitch in range(len(club.pitches)):
                add(row(lambda s, d, t, p, at=(day, start, pitch): (d, t, p) == at), 0, 1)
        for number, (a, b) in enumerate(pairs):
            add(row(lambda s, d, t, p, day=day, two=(a, b): d == day and s in two), 0, 1)
            near = row(lambda s, d, t, p, day=day, a=a, b=b: (s == a and d == day) or (s == b and abs(d - day) == 1),
                       number)  # fmt: skip
            add(near, -np.inf, 1)
    wished = np.array([float(d not in club.sessions[s].wished_days) for s, d, _, _ in keys] + [0.0] * len(pairs))
    close = np.array([0.0] * len(keys) + [1.0] * len(pairs))
    values: list[int] = []
    for aim in (wished, close):
        solved = milp(aim, constraints=LinearConstraint(np.array(rows), low, high), integrality=np.ones(width),
                      bounds=Bounds(0, 1))  # fmt: skip
        if not solved.success:
            return None
        values.append(round(solved.fun))
        add(aim, 0, values[-1])
    return values[0], values[1]


@pytest.mark.parametrize("seed", SEEDS)
def test_wished_days_and_spread_as_another_solver_finds_them(seed: int) -> None:
    club = a_small_club(seed)
    outcome = book(club, BOOKING_RULES)
    expected = least_by_another_solver(club)
    if not isinstance(outcome, Booked):
        assert expected is None
        return
    found = cost(club, outcome.plan)
    assert found is not None
    paid = dict(zip(BOOKING_ORDER, found, strict=True))
    assert (paid["wished days"], paid["spread of days"]) == expected
