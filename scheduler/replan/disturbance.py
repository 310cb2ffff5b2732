"""What of a plan no longer fits the club: found by the audits themselves, so that changed sheets are found too."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.audit import audit
from scheduler.club.club import Club
from scheduler.contract import Rule, Violation, is_booking_rule
from scheduler.plan.plan import WeekPlan
from scheduler.replan.attendance import is_over
from scheduler.structure import NAME


@dataclass(frozen=True)
class Disturbance:
    """One session that cannot stay as it is booked, and why, in sentences."""

    session: str
    texts: tuple[str, ...]


def disturbances(club: Club, plan: WeekPlan, rules: Sequence[Rule]) -> tuple[Disturbance, ...]:
    """Every session of the plan whose booking breaks a rule of the club as it is now, in order of the plan.

    Absences of players alone are none: those are seen to by attendance and the rotation.
    """
    return of_breaches(club, plan, booking_breaches(club, plan, rules))


def of_breaches(club: Club, plan: WeekPlan, breaches: Sequence[Violation]) -> tuple[Disturbance, ...]:
    """The sessions that these breaches are about, with their sentences."""
    found: dict[str, list[str]] = {}
    for breach in breaches:
        for session in _sessions(club, plan, breach):
            if breach.text not in found.setdefault(session, []):
                found[session].append(breach.text)
    return tuple(
        Disturbance(planned.session, tuple(found[planned.session]))
        for planned in plan.sessions
        if planned.session in found
    )


def booking_breaches(club: Club, plan: WeekPlan, rules: Sequence[Rule]) -> tuple[Violation, ...]:
    """What is wrong with the plan as a booking alone, places left aside."""
    bare = plan.model_copy(update={"sessions": tuple(one.model_copy(update={"blocks": ()}) for one in plan.sessions)})
    mine = [rule for rule in rules if is_booking_rule(rule)]
    return audit(club, bare, mine, with_roles=False).breaches


def over_and_broken(
    breaches: Sequence[Violation], club: Club, plan: WeekPlan, now: dt.datetime | None
) -> tuple[Violation, ...]:
    """The breaches that lie in sessions already over, which nothing can mend."""
    return tuple(
        breach
        for breach in breaches
        if (hit := _sessions(club, plan, breach)) and all(is_over(plan.by_session[session], now) for session in hit)
    )


def _sessions(club: Club, plan: WeekPlan, breach: Violation) -> list[str]:
    """The planned sessions a breach is about; of a breach that names none, those of the person or place it names."""
    named = [about for about in breach.about if about in plan.by_session]
    if named or breach.rule == NAME:
        return named
    hit = []
    for planned in plan.sessions:
        site = club.pitch(planned.pitch).site if club.has("pitch", planned.pitch) else ""
        people = (*planned.coaches, *planned.players, planned.pitch, site, *planned.teams)
        if any(about in people for about in breach.about):
            hit.append(planned.session)
    return hit
