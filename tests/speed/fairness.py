"""Fairness beside what a coach does by hand, over many random attendances."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from random import Random

from constraints import RULES
from scheduler.club.club import Club
from scheduler.outcome import Booked
from scheduler.plan.ledger import ledger
from scheduler.plan.plan import WeekPlan
from scheduler.plan.walk import spots
from scheduler.rotation.pair_bounds import figure
from scheduler.rotation.rotate import rotate
from scheduler.rotation.setting import settings
from tests.plans import a_plan
from tests.speed.by_hand import swap_round
from tests.speed.clubs import a_team_week

AWAY = 0.12


@dataclass(frozen=True)
class Evenness:
    """How even a week is: furthest from the share (in reps), children beyond one rep, children, repeated pairs.

    `meetings` counts pairs side by side, rep by rep; `rests` the places at rest.
    """

    furthest: Fraction | float
    beyond: int
    children: int
    repeats: int
    meetings: int
    rests: int


def evenness(club: Club, plan: WeekPlan) -> Evenness:
    """The figures of one plan, every whistle counted."""
    lines = [line for line in ledger(club, plan) if line.bound]
    met: Counter[tuple[str, str]] = Counter()
    rests = 0
    for spot in spots(plan):
        rests += len(spot.holding("rest"))
        places = sorted(spot.holding("attack", "defend", "play"), key=lambda place: place.player)
        for one, two in combinations(places, 2):
            if (one.area, one.role, one.side) == (two.area, two.role, two.side):
                met[one.player, two.player] += 1
    return Evenness(
        max((line.worst / line.bound for line in lines), default=Fraction(0)),
        len({line.player for line in lines if line.excess}),
        len({line.player for line in lines}),
        figure(met.values()),
        sum(met.values()),
        rests,
    )


def pairs_of_weeks(numbers: Iterable[int], done: Container[int] = (), seed: int = 1
                   ) -> Iterator[tuple[int, tuple[Evenness, Evenness | None]]]:  # fmt: skip
    """For random attendances of teams of 12 to 18, by number: by hand, and by this program (None: no plan)."""
    for number in numbers:
        if number in done:
            continue
        club = a_team_week(Random(seed * 100_000 + number).randint(12, 18), seed * 100_000 + number, AWAY)
        booked = a_plan(club)
        (ring,) = settings(club, booked)
        by_hand, ours = swap_round(club, booked, ring), rotate(club, booked, RULES)
        yield number, (evenness(club, by_hand), evenness(club, ours.plan) if isinstance(ours, Booked) else None)


def summary(found: Iterable[Evenness]) -> dict[str, float]:
    """The worst and the mean of many weeks."""
    weeks = list(found)
    children = sum(week.children for week in weeks)
    return {
        "weeks": len(weeks),
        "furthest from the share, reps, worst": float(max(week.furthest for week in weeks)),
        "furthest from the share, reps, mean": float(sum(week.furthest for week in weeks) / len(weeks)),
        "children beyond one rep, %": 100 * sum(week.beyond for week in weeks) / children,
        "weeks with such a child, %": 100 * sum(week.beyond > 0 for week in weeks) / len(weeks),
        "repeated pairs, mean": sum(week.repeats for week in weeks) / len(weeks),
        "repeated pairs for 100 meetings": 100 * sum(w.repeats for w in weeks) / sum(w.meetings for w in weeks),
        "places at rest, mean": sum(week.rests for week in weeks) / len(weeks),
    }
