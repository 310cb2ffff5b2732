"""Brothers and sisters train on the same evenings at the same site."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import WeekPlan

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot


def _families(club: Club) -> dict[str, list[tuple[str, ...]]]:
    """For each family with children in different sessions each child's own sessions, in the club's order."""
    found: dict[str, list[tuple[str, ...]]] = {}
    for player in club.players:
        if player.family:
            own = tuple(ask.id for ask in club.sessions if player.team in ask.teams and player in club.members(ask.id))
            found.setdefault(player.family, []).append(own)
    return {family: lists for family, lists in found.items() if len(set(lists)) > 1}


class BrothersAndSisters:
    """Costs one for each outing (a day and a site) of a family beyond those of its busiest child."""

    name = "brothers and sisters together"
    words = "A family's children train on the same days at the same site: the fewest outings."
    source = Source("one journey for one family", basis=Basis.COMMON_PRACTICE)
    firm = False

    def off(self, club: Club) -> str | None:
        """Off where no family is entered."""
        return None if any(player.family for player in club.players) else "the column Family is empty"

    def post(self, club: Club, model: BookingModel) -> None:
        """Pay for each day and site where one of a family's sessions is, less the busiest child's sessions."""
        for number, lists in enumerate(_families(club).values()):
            sessions = tuple(dict.fromkeys(session for own in lists for session in own))
            never_together = [own for own in dict.fromkeys(lists) if _on_days_of_their_own(model, own)]
            outings = []
            for date in club.dates:
                for site in club.sites:
                    at = _OnDayAtSite(date, site.id)
                    there = {session: model.is_where(session, at) for session in sessions}
                    literals = [literal for literal in there.values() if not isinstance(literal, int) or literal]
                    if literals:
                        outing = model.any_of(f"outing[{number}|{date}|{site.id}]", literals)
                        outings.append(outing)
                        for own in never_together:  # says no more, but the linear relaxation hears more
                            model.model.add(sum(there[session] for session in own) <= outing)
            least = max(len(own) for own in lists)
            over = model.beyond(f"outings[{number}]", outings, least)
            model.penalise(self.name, 1, over, (), "more outings than one child's sessions")

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Each family's days and sites counted. A family is named by its teams alone."""
        for family in dict.fromkeys(player.family for player in club.players if player.family):
            children = [player for player in club.players if player.family == family]
            outings: set[tuple[dt.date, str]] = set()
            busiest = 0
            for child in children:
                own = {ask.id for ask in club.sessions if child.team in ask.teams and child in club.members(ask.id)}
                outings |= {(one.date, club.pitch(one.pitch).site) for one in plan.sessions if one.session in own}
                busiest = max(busiest, len(own))
            over = len(outings) - busiest
            if over > 0:
                about = tuple(dict.fromkeys(child.team for child in children))
                text = f"brothers and sisters in {' and '.join(about)} "
                text += f"mean {len(outings)} outings, {len(outings) - over} would be the fewest"
                private = f"family {family}: {len(outings)} outings"
                yield Violation(self.name, about, text, over, "outings", Severity.NOTE, private)


def _on_days_of_their_own(model: BookingModel, sessions: Sequence[str]) -> bool:
    """Whether no two of some sessions can ever be on one day; False where there is but one."""
    pairs = list(combinations(sessions, 2))
    return bool(pairs) and all(model.children.never_on_one_day(one, other) for one, other in pairs)


class _OnDayAtSite:
    """Whether a slot is on a date at a site."""

    def __init__(self, date: dt.date, site: str) -> None:
        self._date, self._site = date, site

    def __call__(self, slot: Slot) -> bool:
        return slot.date == self._date and slot.site == self._site
