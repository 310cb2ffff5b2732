"""Whole plans and the booking model: a plan read from a solved model, and a plan said in the model's variables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scheduler.booking.bibs import sides_at
from scheduler.booking.slots import Slot, planned_at, slot_of
from scheduler.booking.squads import Squad
from scheduler.booking.standdown import MATCH_THAT_DAY, REST, SESSION_THAT_DAY, WEEK_LIMIT, played_matches, stand_downs
from scheduler.club.club import Club
from scheduler.plan.plan import Cancelled, PlannedSession, StoodDown, WeekPlan
from scheduler.plan.presence import can_come, minutes_there, there

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar, LinearExpr

    from scheduler.booking.model import BookingModel
    from scheduler.booking.ways import Way
    from scheduler.solving import Solved

    Linear = LinearExpr | int


def read(model: BookingModel, solver: Solved) -> WeekPlan:
    """The plan of a solved model; children who are alike take the ways in the club's order."""
    club = model.club
    slots = _slots(model, solver)
    ways = _ways(model, solver)
    planned = [_planned(model, solver, session, slot, ways) for session, slot in slots.items()]
    planned = _with_stand_downs(model, solver, planned, ways)
    planned.sort(key=lambda one: (one.date, one.start, one.pitch, one.zones))
    cancelled = tuple(
        Cancelled(session=ask.id, why="nothing lawful was left") for ask in club.sessions if ask.id not in slots
    )
    return WeekPlan(
        club=club.name, week=club.week, timezone=club.timezone, sessions=tuple(planned), cancelled=cancelled
    )


def _slots(model: BookingModel, solver: Solved) -> dict[str, Slot]:
    found: dict[str, Slot] = {}
    for ask in model.club.sessions:
        for slot in model.slots(ask.id):
            literal = model.at(ask.id, slot)
            if literal is not None and solver.value(literal):
                found[ask.id] = slot
                break
    return model.ground.dealt(found, solver.value)


def _ways(model: BookingModel, solver: Solved) -> dict[str, Way]:
    found: dict[str, Way] = {}
    for squad in model.squads():
        order = [way for way in model.children.ways(squad) for _ in range(int(solver.value(way.count)))]
        found.update(zip(squad.players, order, strict=True))
    return found


def _planned(model: BookingModel, solver: Solved, session: str, slot: Slot, ways: dict[str, Way]) -> PlannedSession:
    club = model.club
    adults = [coach for coach, literal in model.adults.possible(session).items() if solver.value(literal)]
    lead = next((i for i, coach in enumerate(adults) if not club.coach(coach).helper_only), 0)
    adults = [*adults[lead : lead + 1], *adults[:lead], *adults[lead + 1 :]]
    players = tuple(
        player.id
        for player in club.members(session)
        if session in ways[player.id].sessions and can_come(club, player.id, slot.date, slot.span)
    )
    planned = planned_at(club.session(session), slot, tuple(adults), players)
    return planned.model_copy(update={"sides": sides_at(club, slot.site)})


def _with_stand_downs(
    model: BookingModel, solver: Solved, planned: list[PlannedSession], ways: dict[str, Way]
) -> list[PlannedSession]:
    """The sessions with everybody who is stood down, and without those who are there for no minute."""
    club = model.club
    finished: list[PlannedSession] = []
    for one, downs in zip(planned, stand_downs(club, planned), strict=True):
        rows = list(downs)
        now = one.model_copy(update={"stood_down": tuple(rows)})
        for player in one.players:
            cut = int(solver.value(model.children.cut(ways[player], one.session)))
            rows += _cut_off(club, now, player, cut)
        now = one.model_copy(update={"stood_down": tuple(rows)})
        players = tuple(player for player in one.players if minutes_there(club, now, player))
        rows += [
            StoodDown(player=player.id, why=_why(club, player.id, one, planned), start=one.start, end=one.end)
            for player in club.members(one.session)
            if player.id not in one.players and can_come(club, player.id, one.date, one.span)
        ]
        finished.append(one.model_copy(update={"players": players, "stood_down": tuple(rows)}))
    return finished


def _cut_off(club: Club, planned: PlannedSession, player: str, cut: int) -> list[StoodDown]:
    """The last `cut` minutes of a child's presence as one stand-down to the end of the session."""
    left = cut
    for span in reversed(there(club, planned, player)):
        if 0 < left <= span.minutes:
            return [StoodDown(player=player, why=WEEK_LIMIT, start=span.end - left, end=planned.end)]
        left -= span.minutes
    return []


def _why(club: Club, player: str, planned: PlannedSession, week: list[PlannedSession]) -> str:
    """Why the booking left a child out, in neutral words."""
    same_day = [one for one in week if one.date == planned.date and one.session != planned.session]
    if any(player in one.players for one in same_day):
        return SESSION_THAT_DAY
    if played_matches(club, player, planned.date):
        return MATCH_THAT_DAY
    if any((planned.date - match.date).days == 1 and match.minutes for match in club.matches
           if played_matches(club, player, match.date)):  # fmt: skip
        return REST
    return WEEK_LIMIT


def values(model: BookingModel, plan: WeekPlan) -> list[tuple[IntVar, int]] | None:
    """Every decision of the model with its value in a plan; None where the model cannot say the plan at all."""
    club = model.club
    found: list[tuple[IntVar, int]] = []
    for ask in club.sessions:
        planned = plan.by_session.get(ask.id)
        slot = None if planned is None else model.ground.stand_in(ask.id, slot_of(club, planned))
        cancelled = model.cancelled(ask.id)
        if slot is None and cancelled is None:
            return None
        if slot is not None and model.at(ask.id, slot) is None:
            return None
        for possible in model.slots(ask.id):
            literal = model.at(ask.id, possible)
            if literal is not None:
                found.append((literal, int(possible == slot)))
        if cancelled is not None:
            found.append((cancelled, int(slot is None)))
        adults = model.adults.possible(ask.id)
        if planned is not None and not set(planned.coaches) <= set(adults):
            return None
        found += [(z, int(planned is not None and coach in planned.coaches)) for coach, z in adults.items()]
    found += model.ground.values(plan)
    for squad in model.squads():
        taken = _attendance(model, plan, squad)
        if taken is None:
            return None
        found += taken
    return found


def _attendance(model: BookingModel, plan: WeekPlan, squad: Squad) -> list[tuple[IntVar, int]] | None:
    """The counts of a squad's ways, and the minutes cut, in a plan; None where the model leaves them no such choice."""
    ways = model.children.ways(squad)
    number: dict[tuple[str, ...], list[str]] = {}
    for player in squad.players:
        number.setdefault(_comes_to(model, plan, squad, player), []).append(player)
    found: list[tuple[IntVar, int]] = []
    for way in ways:
        players = number.pop(way.sessions, [])
        if isinstance(way.count, int):
            if way.count != len(players):
                return None
            continue
        found.append((way.count, len(players)))
        if not isinstance(way.used, int) and squad.size > 1:
            found.append((way.used, int(bool(players))))
        for session in way.sessions:
            cut = model.children.cut(way, session)
            if not isinstance(cut, int):
                minutes = [_minutes_cut(model, plan, squad, session, player) for player in players]
                found.append((cut, max(minutes, default=0)))
    return None if number else found


def _comes_to(model: BookingModel, plan: WeekPlan, squad: Squad, player: str) -> tuple[str, ...]:
    """The sessions a child attends in a plan; one whose slot allows the child no minute counts as attended."""
    found = []
    for session in squad.sessions:
        planned = plan.by_session.get(session)
        if planned is None:
            found.append(session)
            continue
        stay = model.children.stay(squad, session, slot_of(model.club, planned))
        if player in planned.players or stay.minutes == 0:
            found.append(session)
    return tuple(found)


def _minutes_cut(model: BookingModel, plan: WeekPlan, squad: Squad, session: str, player: str) -> int:
    planned = plan.by_session.get(session)
    if planned is None or player not in planned.players:
        return 0
    stay = model.children.stay(squad, session, slot_of(model.club, planned))
    return max(0, stay.minutes - minutes_there(model.club, planned, player))


def same_times(model: BookingModel, plan: WeekPlan) -> list[Linear]:
    """Terms that are all 1 exactly where every session begins on the same day at the same time."""
    moments = {one.session: (one.date, one.start) for one in plan.sessions}
    return [
        model.is_where(session, lambda slot, moment=moment: (slot.date, slot.start) == moment)  # type: ignore[misc]
        for session, moment in moments.items()
    ]


def same_people(model: BookingModel, plan: WeekPlan) -> list[Linear] | None:
    """Terms that are all 1 exactly where the same players are there for the same minutes; None: never the case."""
    terms: list[Linear] = []
    for session, planned in plan.by_session.items():
        slot = slot_of(model.club, planned)
        if model.at(session, slot) is None:
            return None
        squads = model.children.squads_in(session)
        stays = {squad: model.children.stay(squad, session, slot) for squad in squads}
        alike = {
            one
            for one in model.slots(session)
            if all(model.children.stay(squad, session, one) == stay for squad, stay in stays.items())
        }
        terms.append(model.is_where(session, alike.__contains__))
    for squad in model.squads():
        chosen = _attendance(model, plan, squad)
        if chosen is None:
            return None
        for variable, value in chosen:
            same = model.model.new_bool_var(f"same[{squad.first}|{len(terms)}]")
            model.model.add(variable == value).only_enforce_if(same)
            model.model.add(variable != value).only_enforce_if(~same)
            terms.append(same)
    return terms
