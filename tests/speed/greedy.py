"""First come first served: the tightest sessions first, each in its best free place; what fails comes first next time.

It knows what a person with a sheet of paper would: the ground, one session a day for a team, whose adults are free and
where they must be next, how many it takes. Everything else it learns from the audit afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable

from scheduler.booking.slots import Slot, planned_at
from scheduler.booking.standdown import WEEK_LIMIT
from scheduler.club.club import Club
from scheduler.club.people import AgeRow
from scheduler.club.programme import SessionAsk
from scheduler.contract import Severity
from scheduler.plan.plan import PlannedSession, StoodDown, WeekPlan
from scheduler.plan.presence import can_come
from tests.speed.clock import Stopwatch
from tests.speed.monolith import Timed
from tests.speed.order import BOOKING_RULES, judged, vector

TRIES = 40
LEAST_ADULTS = 2


def first_come_first_served(club: Club, slots: dict[str, list[Slot]], seconds: float) -> tuple[Timed, int]:
    """Try after try until time or tries are up; the second half of the answer: sessions without a place in the best.

    `slots`: where each session could be held by itself.
    """
    watch, done = Stopwatch(), Timed()
    order = sorted((ask.id for ask in club.sessions), key=lambda s: (len(slots[s]), -club.session(s).minutes, s))
    best: tuple[int, tuple[float, ...]] | None = None
    left = len(order)
    for _ in range(TRIES):
        placed, left_over = _once(club, slots, order)
        plan = _week(club, placed)
        found = judged(club, plan)
        failed = len(left_over) + len(found.breaches)
        if best is None or (failed, vector(found.wishes)) < best:
            best, done.plan, left = (failed, vector(found.wishes)), plan, len(left_over)
            if not failed:
                done.path.append((watch(), vector(found.wishes)))
        if watch() > seconds:
            break
        ahead = {*left_over, *_unhappy(club, plan)}
        new = [s for s in order if s in ahead] + [s for s in order if s not in ahead]
        if new == order:
            break
        order = new
    return done, left


def _unhappy(club: Club, plan: WeekPlan) -> set[str]:
    """The sessions that a breach names, or, of a plan without any, those that pay for a wish."""
    found = [one for rule in BOOKING_RULES if rule.off(club) is None for one in rule.audit(club, plan)]
    broken = [one for one in found if one.severity is Severity.BREACH]
    about = {name for one in broken or found for name in one.about}
    teams = {club.player(name).team for name in about if club.has("player", name)}
    return {one.session for one in plan.sessions if one.session in about or teams & set(one.teams)}


def _once(club: Club, slots: dict[str, list[Slot]], order: list[str]) -> tuple[list[PlannedSession], list[str]]:
    placed: dict[str, PlannedSession] = {}
    left_over = []
    for session in order:
        ask = club.session(session)
        mine = [one for one in placed.values() if set(one.teams) & set(ask.teams)]
        rows = [_row(club, team) for team in ask.teams]
        latest = min((row.finish_by for row in rows if row is not None and row.finish_by), default=24 * 60)
        for slot in sorted(slots[session], key=lambda slot: _worth(club, session, slot, mine)):
            if slot.span.end > latest or any(one.date == slot.date for one in mine) or _clashes(slot, placed.values()):
                continue
            adults = _adults(club, session, slot, placed.values())
            if adults is not None:
                placed[session] = _held(club, ask, slot, adults)
                break
        else:
            left_over.append(session)
    return list(placed.values()), left_over


def _held(club: Club, ask: SessionAsk, slot: Slot, adults: tuple[str, ...]) -> PlannedSession:
    """With the children of its own teams; whoever plays for two teams trains with the own one, which no limit minds."""
    members = [p for p in club.members(ask.id) if can_come(club, p.id, slot.date, slot.span)]
    down = tuple(
        StoodDown(player=p.id, why=WEEK_LIMIT, start=slot.span.start, end=slot.span.end)
        for p in members
        if p.team not in ask.teams
    )
    held = planned_at(ask, slot, adults, tuple(p.id for p in members if p.team in ask.teams))
    return held.model_copy(update={"sides": ("bibs", "own shirts"), "stood_down": down})


def _worth(club: Club, session: str, slot: Slot, mine: list[PlannedSession]) -> tuple[object, ...]:
    wished = club.session(session).wished_days
    close = any(abs((one.date - slot.date).days) < 2 for one in mine)
    return (bool(wished) and slot.date.weekday() not in wished, close, slot.start, slot.date, slot.pitch, slot.zones)


def _clashes(slot: Slot, placed: Iterable[PlannedSession]) -> bool:
    return any(
        one.date == slot.date and one.pitch == slot.pitch and set(one.zones) & set(slot.zones)
        and one.span.overlaps(slot.span)
        for one in placed
    )  # fmt: skip


def _row(club: Club, team: str) -> AgeRow | None:
    """The age row of a team: under 14 are 13 at most."""
    age = club.team(team).age_group - 1
    return next((row for row in club.ages if row.from_age <= age <= row.to_age), None)


def _adults(club: Club, session: str, slot: Slot, placed: Iterable[PlannedSession]) -> tuple[str, ...] | None:
    """Whichever of a session's own adults are free and can be there in time; None where they are too few."""
    ask = club.session(session)
    own = dict.fromkeys(coach for team in ask.teams for coach in club.team(team).coaches)
    busy = [one for one in placed if one.date == slot.date]

    def can(coach: str) -> bool:
        if not club.coach(coach).available_for(slot.date, slot.span):
            return False
        for one in (one for one in busy if coach in one.coaches):
            way = 0 if club.pitch(one.pitch).site == slot.site else club.site(slot.site).minutes_between
            if one.start < slot.span.end + way and slot.span.start < one.end + way:
                return False
        return True

    free = tuple(coach for coach in own if can(coach))
    rows = [_row(club, team) for team in ask.teams]
    ratio = min((row.players_per_adult for row in rows if row is not None), default=len(club.players))
    needed = max(LEAST_ADULTS, ask.coaches_needed, -(-len(club.members(session)) // ratio))
    aid = any((there := club.coach(coach).first_aid_until) is not None and there >= slot.date for coach in free)
    return free if len(free) >= needed and aid else None


def _week(club: Club, sessions: list[PlannedSession]) -> WeekPlan:
    sessions = sorted(sessions, key=lambda one: (one.date, one.start, one.pitch, one.zones))
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=tuple(sessions))
