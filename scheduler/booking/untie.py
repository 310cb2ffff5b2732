"""A first week in which children lose no more than they must: knot by knot their teams and others book anew."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence

from scheduler.booking.knots import ADULTS, CHILDREN, MINUTES, Knot, Knots
from scheduler.booking.nearby import LEAST_TEAMS, OVERHEAD, Nearby
from scheduler.booking.twins import in_order
from scheduler.booking.unmet import unmet_of
from scheduler.club.club import Club
from scheduler.club.part import part_of
from scheduler.contract import Rule
from scheduler.plan.plan import WeekPlan
from scheduler.progress import Report

A_SOLVE = 0.5  # reproducible seconds for teams that book anew
TRIES = 12  # for each knot, in turn


def untied(
    nearby: Nearby, club: Club, rules: Sequence[Rule], plan: WeekPlan, knots: Knots, limit: float, tell: Report
) -> tuple[WeekPlan, float, bool]:
    """The plan with less lost where that was found, the reproducible seconds spent, and whether Ctrl-C came."""
    lawful, spent, wishes = plan, 0.0, [rule for rule in rules if not rule.firm]
    heavy = Counter[str]()  # sessions that were asked to make room, by how often
    try:
        for tries in range(TRIES):
            for knot in (*knots.known, *knots.plain):
                if spent >= limit or paid(club, wishes, plan, knot) <= (knot.minutes, knot.children, knot.adults):
                    continue
                tell("children in more than one team")
                moving = _moving(nearby, knots, knot, plan, heavy)
                heavy.update(moving)
                teams = nearby.teams_about(plan, knot.sessions, moving, LEAST_TEAMS + tries)
                others = set[str]() if moving else beside(club, plan, knot.sessions)  # whose kit may be lacking
                found, took = nearby.rebooked(plan, teams, rules=knots.rules, limit=A_SOLVE, beside=others)
                spent += took + knots.bill() + OVERHEAD * len(knot.sessions)
                if found is not None and (moving or nearby.is_lawful(found)):
                    plan = in_order(club, found)
    except KeyboardInterrupt:
        return lawful, spent, True
    return (plan if plan is lawful or nearby.is_lawful(plan) else lawful), spent, False


def _moving(nearby: Nearby, knots: Knots, knot: Knot, plan: WeekPlan, heavy: Mapping[str, int]) -> set[str]:
    """Who is in the way of the least that a knot can pay: as few as there can be, and rather others than the heavy."""
    there = {session: nearby.in_the_way(plan, session) for session in knot.sessions}
    prices = {
        session: {slot: sum(1 + heavy[other] for other in others - set(knot.sessions)) for slot, others in of.items()}
        for session, of in there.items()
    }
    slots = knots.cheapest(knot, prices)
    moving = {other for session, slot in slots.items() for other in there[session][slot]}
    return moving - set(knot.sessions)


def beside(club: Club, plan: WeekPlan, sessions: Collection[str]) -> set[str]:
    """The others at a site while some sessions are there."""
    mine = [one for one in plan.sessions if one.session in sessions]
    there = [(one.date, club.pitch(one.pitch).site, one.span) for one in mine]
    return {
        one.session
        for one in plan.sessions
        for date, site, span in there
        if (one.date, club.pitch(one.pitch).site) == (date, site) and one.span.overlaps(span)
    }.difference(sessions)


def paid(club: Club, wishes: Sequence[Rule], plan: WeekPlan, knot: Knot) -> tuple[float, float, float]:
    """Minutes and children stood down in a knot, and its adults of other teams or leaders who are missing."""
    mine = plan.model_copy(update={"sessions": tuple(one for one in plan.sessions if one.session in knot.sessions)})
    small = part_of(club, knot.sessions, {coach for one in mine.sessions for coach in one.coaches})
    found = dict.fromkeys((MINUTES, CHILDREN, ADULTS), 0.0)
    for row in (row for row in unmet_of(small, mine, wishes) if row.wish in found):
        here = knot.staffed if row.wish == ADULTS else knot.players
        who = [name for name in row.about if small.has("player", name)] or row.about[:1]
        found[row.wish] += row.by * sum(name in here for name in who) / len(who)
    return found[MINUTES], found[CHILDREN], found[ADULTS]
