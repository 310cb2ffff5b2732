"""The least disturbing lawful plan after something changed.

In strict order: what has been played stays; as few sessions as possible move; as few places as possible change of
children who are still there, counted per rep; everybody within the fairness bounds as always; then the wishes.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

from scheduler.audit import audit, rules_off
from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.errors import PlanRejected
from scheduler.outcome import Booked, Clash, Conflict, Demand, Outcome, OutOfTime
from scheduler.plan.plan import Cancelled, WeekPlan
from scheduler.progress import Report, silent
from scheduler.replan.attendance import has_begun, with_attendance
from scheduler.replan.carry import carried, in_bibs_of
from scheduler.replan.differences import differences
from scheduler.replan.disturbance import booking_breaches, disturbances, over_and_broken
from scheduler.replan.mend import Mended, Stuck, mend
from scheduler.replan.records import with_records

TRIES = 4


def replan(
    club: Club,
    plan: WeekPlan,
    rules: Sequence[Rule],
    *,
    held: WeekPlan | None = None,
    now: dt.datetime | None = None,
    limit: float = 60.0,
    on_progress: Report = silent,
) -> Outcome:
    """The plan with as little changed as can be, its revision raised; the very same plan where nothing must change.

    `club` is the club as it is known now (`events.as_reported`), `plan` what is to be kept, with all news: the plan
    that people hold, or that one edited by hand, whose edits stay as far as they are lawful (then `held` is the one
    they hold). `now` is local wall clock.
    """
    attended = with_attendance(club, plan, now)
    booked = _booked(club, attended, rules, now, limit, on_progress)
    if not isinstance(booked, Booked):
        return booked
    proven, forbidden = booked.proven, []
    for _ in range(TRIES):
        laid = carried(club, plan, booked.plan)
        mended = mend(club, in_bibs_of(plan, laid), laid, rules, now=now, limit=limit, on_progress=on_progress)
        if isinstance(mended, Mended):
            return _finished(club, plan, held or plan, mended, rules, proven and mended.proven)
        if mended.out_of_time:
            return OutOfTime(limit, "rotation")
        stuck = _conflict(club, mended, rules)
        names = [one.session for one in mended.ring.sessions]
        short = [demand.subject for clash in stuck.clashes for demand in clash.demands if demand.subject in names]
        loose = [name for name in short or names if not has_begun(booked.plan.by_session[name], now)]
        if not loose:
            return stuck
        forbidden.append(booked.plan)
        again = _rebooked(club, booked.plan, loose, rules, now, limit, on_progress, forbidden)
        if not isinstance(again, Booked):
            return stuck if isinstance(again, Conflict) else again
        booked, proven = replace(again, plan=_with_reasons(club, stuck, booked.plan, again.plan)), False
    return stuck


def _booked(
    club: Club,
    attended: WeekPlan,
    rules: Sequence[Rule],
    now: dt.datetime | None,
    limit: float,
    on_progress: Report,
) -> Booked | Conflict | OutOfTime:
    """The bookings that still stand as they are, or with as few moved as possible."""
    breaches = booking_breaches(club, attended, rules)
    if not breaches:
        return Booked(attended, proven=True)
    over = over_and_broken(breaches, club, attended, now)
    if over:
        demands = tuple(Demand(found.rule, ", ".join(found.about), found.text) for found in over)
        return Conflict("booking", (Clash(demands, False, "These lie in sessions that are over:"),))
    hit = [found.session for found in disturbances(club, attended, rules)]
    return _rebooked(club, attended, hit, rules, now, limit, on_progress, [])


def _rebooked(
    club: Club,
    plan: WeekPlan,
    hit: Sequence[str],
    rules: Sequence[Rule],
    now: dt.datetime | None,
    limit: float,
    on_progress: Report,
    forbidden: Sequence[WeekPlan],
) -> Booked | Conflict | OutOfTime:
    from scheduler.replan.rebook import Rebooked, rebook

    why = {found.session: found.texts[0] for found in disturbances(club, plan, rules)}
    found = rebook(club, plan, hit, rules, now=now, limit=limit, forbidden=forbidden, on_progress=on_progress)
    if not isinstance(found, Rebooked):
        return found
    earlier = {row.session for row in plan.cancelled}
    rows = tuple(
        row if row.session in earlier else Cancelled(session=row.session, why=_cancelled_words(why.get(row.session)))
        for row in found.plan.cancelled
    )
    return Booked(found.plan.model_copy(update={"cancelled": rows}), proven=found.proven)


def _cancelled_words(why: str | None) -> str:
    return f"{why}; no other lawful place or time is left" if why else "no lawful place or time is left"


def _with_reasons(club: Club, stuck: Conflict, before: WeekPlan, after: WeekPlan) -> WeekPlan:
    """Sessions cancelled because they could not be played say so."""
    known = {row.session for row in before.cancelled}
    texts = [demand.text for clash in stuck.clashes for demand in clash.demands]
    rows = []
    for row in after.cancelled:
        mine = [text for text in texts if text.startswith(row.session)]
        new = row.session not in known and mine
        rows.append(row.model_copy(update={"why": _cancelled_words(mine[0])}) if new else row)
    return after.model_copy(update={"cancelled": tuple(rows)})


def _conflict(club: Club, stuck: Stuck, rules: Sequence[Rule]) -> Conflict:
    """Why a ring has no lawful rotation: what counting shows, else its sessions."""
    from scheduler.rotation.shortages import shortages

    demands = shortages(club, stuck.ring, rules)
    if demands:
        return Conflict("rotation", tuple(Clash((_about_session(d, stuck),), minimal=True) for d in demands))
    text = "no rotation of {} meets every firm rule with those who are there"
    rows = tuple(Demand("rotation", one.session, text.format(one.session)) for one in stuck.ring.sessions)
    return Conflict("rotation", (Clash(rows, minimal=False),))


def _about_session(demand: Demand, stuck: Stuck) -> Demand:
    """The demand with the session as its subject: `Herons 1, block 2, station 1, rep 3` is about Herons 1."""
    names = [one.session for one in stuck.ring.sessions]
    found = [name for name in names if demand.subject == name or demand.subject.startswith(f"{name}, ")]
    return replace(demand, subject=max(found, key=len)) if found else demand


def _finished(
    club: Club, before: WeekPlan, held: WeekPlan, mended: Mended, rules: Sequence[Rule], proven: bool
) -> Booked:
    """The plan with its records, audited; the plan that people hold where nothing changed for anybody."""
    not_checked = rules_off(club, rules)
    if not mended.changed and differences(club, held, mended.plan).nothing and held.cancelled == mended.plan.cancelled:
        plan = held.model_copy(update={"not_checked": not_checked, "news": before.news})
        judged = audit(club, plan, rules)
        if not judged.breaches:
            return Booked(plan, proven=True, findings=judged.findings)
    plan = with_records(club, mended.plan, mended.changed, rules)
    plan = plan.model_copy(update={"revision": held.revision + 1, "not_checked": not_checked})
    judged = audit(club, plan, rules)
    if judged.breaches:
        raise PlanRejected(tuple(f"{found.rule}: {found.text}" for found in judged.breaches))
    return Booked(plan, proven=proven, findings=judged.findings)
