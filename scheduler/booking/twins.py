"""Sessions asked for alike come in the order of the Sessions sheet: the first of two is held first.

Swapping two such sessions changes nothing that any rule looks at, so no better week is lost, half of the weeks need not
be searched for each such pair, and "Herons 1" is held before "Herons 2" as people expect.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.club.club import Club

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.plan.plan import WeekPlan


def twins_of(club: Club) -> tuple[tuple[str, str], ...]:
    """Each session with the next one on the sheet that differs from it in its name alone."""
    last: dict[object, str] = {}
    found = []
    for ask in club.sessions:
        alike = ask.model_copy(update={"id": ""})
        if alike in last:
            found.append((last[alike], ask.id))
        last[alike] = ask.id
    return tuple(found)


def in_order(club: Club, plan: WeekPlan) -> WeekPlan:
    """The plan with twins swapped where the later one on the sheet is held first."""
    after = dict(twins_of(club))
    names: dict[str, str] = {}
    for head in [one for one in after if one not in after.values()]:
        alike = [head]
        while alike[-1] in after:
            alike.append(after[alike[-1]])
        held = [plan.by_session[session] for session in alike if session in plan.by_session]
        held.sort(key=lambda one: (one.date, one.start))
        names.update(zip((one.session for one in held), alike, strict=False))
    sessions = [one.model_copy(update={"session": names.get(one.session, one.session)}) for one in plan.sessions]
    return plan.model_copy(update={"sessions": tuple(sessions)})


def order_twins(model: BookingModel) -> None:
    """Post that of each pair of twins the first is held first; for plans whose sessions are all free to move."""
    for one, other in twins_of(model.club):
        for (first, second), literal in model.day_pairs(one, other).items():
            if isinstance(literal, int):
                continue
            if first > second:
                model.model.add(literal == 0)
            elif first == second:
                row = model.model.add(model.minute(one) <= model.minute(other))
                row.only_enforce_if(literal)
