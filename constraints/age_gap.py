"""No contact practice in which the oldest and the youngest of an area are more than two age years apart."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.programme import Contact
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.plan.walk import spots

if TYPE_CHECKING:
    from scheduler.rotation.model import RotationModel

MOST_YEARS = 2


class AgeGap:
    """At most two age years between any two in one area of a practice with contact."""

    name = "age gap"
    words = (
        "In a practice with contact nobody shares an area with a child more than two age years older or younger "
        "(whole years on the Monday; resting does not count); whoever then finds too few others stands down from it."
    )
    source = Source("bands of two years for contact between children", basis=Basis.COMMON_PRACTICE)
    firm = True

    def off(self, club: Club) -> str | None:
        """Off where no birth dates are kept."""
        return "no birth dates are entered" if club.is_blank("Players.Born") else None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Of two too far apart in age, at most one in an area (or at a station where areas are not told apart)."""
        for turn in model.ring.turns:
            if turn.practice.contact is Contact.NONE:
                continue
            ages = {p: age for p in model.here(turn) if (age := club.age(club.player(p))) is not None}
            for one, two in combinations(ages, 2):
                if abs(ages[one] - ages[two]) > MOST_YEARS:
                    sentence = f"{turn.practice.id} in {turn.session}: contact only within two age years in an area"
                    switch = model.switch(self.name, f"{turn.session}, block {turn.block}", sentence)
                    for area in range(1, turn.areas + 1) if turn.has_roles else (None,):
                        both = model.places(one, turn, area=area) + model.places(two, turn, area=area)
                        model.model.add(sum(both) <= 1).only_enforce_if(switch)

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Compare the oldest and the youngest of every area of every rep with contact."""
        for spot in spots(plan):
            practice = club.practice(spot.station.practice)
            if practice.contact is Contact.NONE:
                continue
            active = [place for place in spot.rep.places if place.role != "rest"]
            areas: list[int | None] = [*sorted({place.area for place in active if place.area is not None})]
            for area in areas or [None]:
                ages = {
                    place.player: age
                    for place in active
                    if place.area in (None, area) and (age := club.age(club.player(place.player))) is not None
                }
                if ages and max(ages.values()) - min(ages.values()) > MOST_YEARS:
                    oldest, youngest = max(ages, key=ages.__getitem__), min(ages, key=ages.__getitem__)
                    gap = ages[oldest] - ages[youngest]
                    where = spot.words if area is None else f"{spot.words}, area {area}"
                    names = f"{club.called(oldest)} and {club.called(youngest)}"
                    text = f"{where}: {names} are {gap} age years apart in {practice.id}, at most {MOST_YEARS}"
                    yield Violation(
                        self.name, (oldest, youngest, spot.planned.session), text, gap - MOST_YEARS, "years"
                    )
