"""What the booking pays for a wish is what the wish's audit counts: on every booking of a tiny club, and on what is
booked for seeded towns.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from random import Random

import pytest

from constraints import RULES
from constraints.brothers_and_sisters import BrothersAndSisters
from constraints.early_finish import EarlyFinish
from constraints.few_stood_down import FewStoodDown
from constraints.good_slots_shared import GoodSlotsShared
from constraints.own_coaches_first import OwnCoachesFirst
from constraints.space import Space
from constraints.spread_of_days import SpreadOfDays
from constraints.wished_days import WishedDays
from scheduler.audit import audit
from scheduler.booking.book import book
from scheduler.booking.build import build_booking
from scheduler.booking.slots import Slot
from scheduler.club.club import Club
from scheduler.club.people import Absence, Elsewhere
from scheduler.club.places import Opening, Pitch, Site
from scheduler.club.programme import Kind, Practice, Sizes
from scheduler.club.when import Occurs, Span
from scheduler.contract import BookingRule, Severity, is_booking_rule
from scheduler.outcome import Booked
from scheduler.plan.plan import WeekPlan
from scheduler.priorities import BOOKING_ORDER
from tests.bookings import Attendance, any_coaches, every_booking, everybody, least_cost, own_coaches, with_cuts
from tests.clubs import MONDAY, a_club, an_age_row
from tests.towns import a_town
from tests.weeks import FIVE, SEVEN, SIX, hours, together, with_asks, with_players, with_practices

FEW_DAYS = frozenset({0, 1, 3})


def tiny(teams: int = 1, sessions: int = 1, players: int = 1, **changes: object) -> Club:
    """An hour a session on one pitch of one zone, open for an hour, starts on the hour."""
    base: dict[str, object] = {
        "step": 60,
        "pitches": (Pitch(id="North", site="Marsh Lane", zones=1, openings=hours(FIVE, SIX)),),
    }
    club = a_club(teams=teams, players=players, keepers=0, sessions=sessions, **{**base, **changes})
    return with_asks(with_practices(club, together(), minutes=60), minutes=60)


TWO_SITES = {
    "sites": (Site(id="Marsh Lane"), Site(id="Mill Road")),
    "pitches": (
        Pitch(id="North", site="Marsh Lane", zones=1, quality=4, openings=hours(FIVE, SEVEN)),
        Pitch(id="Mill", site="Mill Road", zones=1, quality=2, openings=hours(FIVE, SIX)),
    ),
}
PART = Practice(id="Part", kind=Kind.PART, attackers=Sizes(1, 1, 2), defenders=Sizes(1, 1, 1), keepers=0, rep=10,
                m2_most=200.0)  # fmt: skip


@dataclass(frozen=True)
class Case:
    """A wish, a tiny club in which it costs differently from booking to booking, and the choices to enumerate."""

    rule: BookingRule
    club: Club
    wishes: frozenset[str] = frozenset()
    adults: Callable[[Club, str], list[tuple[str, ...]]] = own_coaches
    attendance: Callable[[Club, str], list[Attendance]] = everybody
    days: frozenset[int] = frozenset(range(7))
    starts: frozenset[int] = frozenset({FIVE})


def of_unlike_weeks(club: Club) -> Club:
    """The second team trains once. The child of the first plays for it too; those are not the family's evenings."""
    club = with_players(club, 0, also_plays_for=(club.teams[1].id,))
    return club.model_copy(update={"sessions": club.sessions[:3]})


LATE = (Absence(who=("Herons Ivo",), occurs=Occurs(date=MONDAY), span=Span(FIVE, FIVE + 40)),
        Absence(who=("Herons Noor",), occurs=Occurs(date=MONDAY)))  # fmt: skip
WISHING = with_asks(tiny(sessions=2), wished_days=frozenset({1, 3}))
SPREAD = tiny(teams=2, sessions=2)
SHARED = tuple(ask.model_copy(update={"teams": ("Herons", "Kites")}) if n == 3 else ask
               for n, ask in enumerate(SPREAD.sessions))  # fmt: skip

CASES = (
    Case(FewStoodDown(), tiny(players=2, absences=LATE), frozenset({"fewest minutes stood down",
         "fewest children stood down"}), attendance=with_cuts(0, 5, None), days=frozenset({0, 1})),
    Case(OwnCoachesFirst(), tiny(teams=2), adults=any_coaches, days=frozenset({0})),
    Case(WishedDays(), WISHING, days=FEW_DAYS),
    Case(SpreadOfDays(), SPREAD.model_copy(update={"sessions": SHARED}), days=FEW_DAYS),
    Case(BrothersAndSisters(), with_players(tiny(teams=2, sessions=2, **TWO_SITES), 0, 1, family="Reed"),
         days=frozenset({0, 1})),
    Case(BrothersAndSisters(), of_unlike_weeks(with_players(tiny(teams=2, sessions=2, **TWO_SITES), 0, 1,
                                                            family="Reed")), days=frozenset({0, 1})),
    Case(EarlyFinish(), tiny(ages=(an_age_row(finish_by=SEVEN),), **TWO_SITES), starts=frozenset({FIVE, SIX})),
    Case(GoodSlotsShared(), tiny(teams=1, sessions=3, **TWO_SITES), days=frozenset({0}),
         starts=frozenset({FIVE, SIX})),
    Case(Space(), with_practices(tiny(teams=2, pitches=tuple(
        Pitch(id=name, site="Marsh Lane", length=length, width=20, zones=zones, openings=hours(FIVE, SIX))
        for name, length, zones in (("North", 30, 1), ("South", 31, 1), ("Long", 60, 2)))), PART, minutes=60),
        frozenset({"room to play"}), days=frozenset({0})),
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.rule.name)
def test_the_model_pays_what_the_audit_counts(case: Case) -> None:
    wishes = case.wishes or {case.rule.name}
    model = build_booking(case.club, (case.rule,), switchable=True, free=True)
    assert {one.wish for one in model.penalties} == wishes
    seen: set[tuple[int, ...]] = set()

    def wanted(slot: Slot) -> bool:
        return slot.date.weekday() in case.days and slot.start in case.starts

    for plan in every_booking(case.club, case.adults, case.attendance, wanted):
        counted = dict.fromkeys(wishes, 0)
        for one in case.rule.audit(case.club, plan):
            if one.severity is Severity.NOTE:
                counted[one.rule] += int(one.by)
        assert least_cost(model, plan) == counted, plan.sessions
        seen.add(tuple(counted.values()))
    assert len(seen) > 1, "this club cannot tell one booking from another"


def test_every_wish_of_the_booking_has_a_case() -> None:
    wishes = {wish for case in CASES for wish in case.wishes or {case.rule.name}}
    assert wishes == set(BOOKING_ORDER) - {"sessions cancelled", "few changes"}  # those two belong to replanning
    soft = {rule.name for rule in RULES if is_booking_rule(rule) and not rule.firm}
    assert soft <= {case.rule.name for case in CASES}


BOOKING_RULES = tuple(rule for rule in RULES if is_booking_rule(rule))


def a_strained_town(seed: int) -> Club:
    """Four teams on two pitches where every wish is in somebody's way: little ground, limits, adults away."""
    random = Random(seed)
    limits = an_age_row(sessions_a_week=random.choice((2, 3)), rest_days=2, days_in_a_row=2, finish_by=20 * 60,
                        week_minutes=random.choice((150, 170, 300)))  # fmt: skip
    town = a_town(teams=4, seed=seed, pitches=2, squad=14, shared=3, hired=0.3, ages=(limits,))
    pitches = tuple(
        pitch.model_copy(update={"openings": (Opening(days=frozenset(range(5)), span=Span(FIVE, 20 * 60)),),
                                 "quality": 5 - n}) for n, pitch in enumerate(town.pitches))  # fmt: skip
    away = tuple(
        Absence(who=(coach.id,), occurs=Occurs(days=frozenset(random.sample(range(5), random.choice((2, 4))))))
        for coach in random.sample(town.coaches, 2)
    )
    elsewhere = tuple(
        Elsewhere(player=child.id, date=MONDAY + dt.timedelta(days=random.randrange(7)), minutes=30, rpe=5)
        for child in random.sample(town.players, 4)
    )
    practices = tuple(
        practice.model_copy(update={"m2_most": random.choice((100.0, 200.0))}) if n else practice
        for n, practice in enumerate(town.practices)
    )
    return town.model_copy(update={"pitches": pitches, "absences": away, "elsewhere": elsewhere,
                                   "practices": practices})  # fmt: skip


SEEDS = (1, 3, 5, 6, 9)


@pytest.fixture(scope="module")
def towns() -> list[tuple[Club, WeekPlan]]:
    """Each seed's town and the week booked for it."""
    found = []
    for seed in SEEDS:
        club = a_strained_town(seed)
        outcome = book(club, BOOKING_RULES, limit=4.0)
        assert isinstance(outcome, Booked)
        found.append((club, outcome.plan))
    return found


def test_what_is_recorded_and_printed_is_what_the_audit_counts(towns: list[tuple[Club, WeekPlan]]) -> None:
    """Every proof and the amounts under `unmet` against the audit; no breach; every wish costs something somewhere."""
    paid_somewhere: set[str] = set()
    for club, plan in towns:
        judged = audit(club, plan, BOOKING_RULES, with_roles=False)
        assert not judged.breaches
        paid = judged.paid()
        recorded = {proof.measure: Fraction(proof.value) for proof in plan.proofs}
        printed: dict[str, Fraction] = {}
        for one in plan.unmet:
            printed[one.wish] = printed.get(one.wish, Fraction(0)) + Fraction(one.by)
        for wish in BOOKING_ORDER:
            assert recorded.get(wish, 0) == printed.get(wish, 0) == paid.get(wish, 0), wish
        paid_somewhere |= {wish for wish, amount in paid.items() if amount}
    assert paid_somewhere == set(BOOKING_ORDER) - {"sessions cancelled", "few changes"}
