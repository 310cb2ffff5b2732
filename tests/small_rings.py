"""Pools so small that every rotation of them can be listed: the fewest changed places by enumeration."""

from __future__ import annotations

from itertools import product

from constraints import RULES
from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.club.programme import Kind, PlanRow, Practice, Sizes
from scheduler.contract import is_rotation_rule
from scheduler.plan.plan import Place, WeekPlan
from scheduler.replan.differences import differences
from scheduler.rotation.places import with_places
from scheduler.rotation.setting import settings
from tests.clubs import a_club
from tests.replans import rotated

ROLES = [rule for rule in RULES if is_rotation_rule(rule)]
SMALL = {
    "game": Practice(id="Two v two", kind=Kind.GAME, attackers=Sizes(1, 2, 2), keepers=0, rep=5, rpe=5),
    "part": Practice(
        id="Two v one", kind=Kind.PART, attackers=Sizes(1, 2, 2), defenders=Sizes(1, 1, 2), keepers=0, rep=5, rpe=5
    ),
    "in goal": Practice(
        id="One v one", kind=Kind.PART, attackers=Sizes(1, 1, 2), defenders=Sizes(1, 1, 1), keepers=1, rep=5, rpe=5
    ),
}


def small(practice: str, players: int, keepers: int = 0, reps: int = 2) -> tuple[Club, WeekPlan]:
    """One team, one session of two reps (or so many) of one small practice."""
    club = a_club(
        players=players,
        keepers=keepers,
        practices=(SMALL[practice],),
        plans=(PlanRow(plan="Evening", block="1", practice=SMALL[practice].id, minutes=5 * reps, reps=reps),),
        kit=(),
        blank=frozenset({"Kit"}),
    )
    return club, rotated(club, (0, 18 * 60))


def every_place(players: tuple[str, ...], kind: Kind) -> list[list[Place]]:
    """Every way to give these players a place in one area."""
    roles = ("play",) if kind is Kind.GAME else ("attack", "defend", "keep")
    ways = [(role, 1, side) for role in roles for side in ("bibs", "own shirts")]
    ways += [("rest", None, side) for side in ("bibs", "own shirts")]
    return [
        [Place(player=p, role=role, area=area, side=side) for p, (role, area, side) in zip(players, way, strict=True)]
        for way in product(ways, repeat=len(players))
    ]


def fewest_by_enumeration(club: Club, before: WeekPlan, booked: WeekPlan) -> int | None:
    """The fewest changed places of all lawful rotations: every filling of both reps, those of one rep sifted first."""
    (ring,) = settings(club, booked)
    first, second = ring.turns

    def lawful(filled: WeekPlan) -> bool:
        return not audit(club, filled, ROLES).breaches

    def alone(turn_key: tuple[str, int, int, int]) -> list[list[Place]]:
        """Fillings of one rep that its own rules allow, whatever the other rep is."""
        kept = []
        for places in every_place(first.there, first.kind):
            plan = with_places(club, booked, {turn_key: places})
            rules = [rule for rule in ROLES if rule.name in ("area sizes", "willing keepers", "few rests")]
            found = [
                breach
                for rule in rules
                for breach in rule.audit(club, plan)
                if f"rep {turn_key[3]}" in breach.text
            ]  # fmt: skip
            if not found:
                kept.append(places)
        return kept

    best: int | None = None
    one, two = alone(first.key), alone(second.key)
    for a in one:
        for b in two:
            plan = with_places(club, booked, {first.key: a, second.key: b})
            changes = len(differences(club, before, plan).places)
            if (best is None or changes < best) and lawful(plan):
                best = changes
    return best
