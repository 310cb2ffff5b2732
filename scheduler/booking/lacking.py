"""How many adults a session needs whatever happens, and how many of its own could come at once. By counting alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from scheduler.booking.free import Free
from scheduler.club.when import Span

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel


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


def most_own(model: BookingModel, session: str, free: Free) -> int:
    """The most adults of a session's own teams who could be there in one of its slots."""
    own = [model.club.coach(coach) for coach in model.adults.own(session)]
    times = {(slot.date, slot.start, slot.end) for slot in model.slots(session)}
    return max((sum(free(one, date, Span(start, end)) for one in own) for date, start, end in times), default=0)
