"""How many adults a session needs whatever happens, and how many of its own could come at once. By counting alone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import TYPE_CHECKING

from scheduler.booking.free import Free

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot


def sure_ages(model: BookingModel, session: str) -> list[int]:
    """The ages of the children who come whenever the session is held."""
    return [model.club.limit_age(model.club.player(squad.first)) for squad in model.children.sure_of(session)]


def sure_least(model: BookingModel, session: str, least: int, ratio: Callable[[int], int | None]) -> int:
    """Adults a session needs at least: for those alone who come whatever happens, at the mildest ratio there may be.

    `least`: adults it needs whoever comes. `ratio`: players per adult at an age, as the youngest there sets it.
    """
    sure, club = sure_ages(model, session), model.club
    everybody = {club.limit_age(club.player(squad.first)) for squad in model.children.squads_in(session)}
    ratios = [ratio(age) for age in everybody if sure and age <= min(sure)]
    known = [one for one in ratios if one is not None]
    if not known or len(known) < len(ratios):
        return least
    return max(least, -(-model.children.least_headcount(session) // max(known)))


class Staffing:
    """How many adults the own teams of a session lack in a slot. `least`: adults that it needs at least."""

    def __init__(self, free: Free, least: Callable[[BookingModel, str], int]) -> None:
        self._free, self._least = free, least

    def lacks(self, model: BookingModel, session: str) -> dict[Slot, int]:
        """For each slot of a session by how many too few of its own adults are free; 0 or less where they are enough.

        Asked once it is known which children have a choice.
        """
        own = [model.club.coach(coach) for coach in model.adults.own(session)]
        least = self._least(model, session)
        at: dict[tuple[dt.date, int], int] = {}
        found = {}
        for slot in model.slots(session):
            when = (slot.date, slot.start)
            if when not in at:
                at[when] = least - sum(self._free(one, slot.date, slot.span) for one in own)
            found[slot] = at[when]
        return found
