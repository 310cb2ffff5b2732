"""A sample plan by naive counting off: every session booked in order, roles dealt round in turn; fair only roughly."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from scheduler.club.club import Club
from scheduler.club.people import KeeperWish
from scheduler.club.programme import Kind, Practice
from scheduler.plan.plan import Place, PlannedSession, Rep, StoodDown, WeekPlan
from scheduler.plan.presence import can_come, in_rep, there
from scheduler.plan.skeleton import lay_blocks
from scheduler.plan.timeline import groups_of, station_of, timeline
from scheduler.rotation.setting import attacking_sides, keepers_in
from tests.weeks import held, week_of

SIDES = ("bibs green", "bibs orange")


def a_plan(club: Club, *, stood_down: dict[str, tuple[StoodDown, ...]] | None = None, day: int = 1,
           start: int = 18 * 60, **changes: Any) -> WeekPlan:  # fmt: skip
    """Sessions on following days at `start`, from weekday `day` on, each on the first zones of the first pitch."""
    starts = [((day + number) % 7, start) for number in range(len(club.sessions))]
    downs = tuple((session, down) for session, rows in (stood_down or {}).items() for down in rows)
    return counted_off(club, *starts, stood_down=downs).model_copy(update=changes)


def counted_off(club: Club, *starts: tuple[int, int], stood_down: tuple[tuple[str, StoodDown], ...] = ()) -> WeekPlan:
    """The week with one (weekday, start minute) a session asked for, in the club's order."""
    sessions = [
        _filled(club, _booked(club, number, day, start, tuple(down for name, down in stood_down if name == ask.id)))
        for number, (ask, (day, start)) in enumerate(zip(club.sessions, starts, strict=True))
    ]
    sessions.sort(key=lambda planned: (planned.date, planned.start, planned.pitch, planned.zones))
    return week_of(club, *sessions)


def _booked(club: Club, number: int, day: int, start: int, downs: tuple[StoodDown, ...]) -> PlannedSession:
    planned = held(club, day, start, number, stood_down=downs, sides=SIDES)
    come = tuple(player for player in planned.players if can_come(club, player, planned.date, planned.span))
    return lay_blocks(club, planned.model_copy(update={"players": come}))


def _filled(club: Club, planned: PlannedSession) -> PlannedSession:
    groups, layout, blocks = groups_of(club, planned.session), timeline(club, planned.session), []
    group = {player: number % groups + 1 for number, player in enumerate(planned.players)}
    side = {player: number // groups % 2 for number, player in enumerate(planned.players)}
    for block, time in zip(planned.blocks, layout, strict=True):
        stations = []
        for station in block.stations:
            practice = club.practice(station.practice)
            reps = []
            for rep in station.reps:
                here = [
                    player
                    for player in planned.players
                    if in_rep(there(club, planned, player), practice, rep.span)
                    and (len(block.stations) == 1 or station_of(time, group[player]) == station.station)
                ]
                places = _places(club, planned, practice, rep, here, group, side, block.block)
                order = {player: number for number, player in enumerate(here)}
                places.sort(key=lambda place: order[place.player])
                reps.append(rep.model_copy(update={"places": tuple(places)}))
            stations.append(station.model_copy(update={"reps": tuple(reps)}))
        blocks.append(block.model_copy(update={"stations": tuple(stations)}))
    return planned.model_copy(update={"blocks": tuple(blocks)})


def _places(club: Club, planned: PlannedSession, practice: Practice, rep: Rep, here: Sequence[str],
            group: dict[str, int], side: dict[str, int], block: int) -> list[Place]:  # fmt: skip
    if practice.kind is Kind.TOGETHER:
        return [Place(player=player, group=group[player], role="all") for player in here]
    names, part = planned.sides, practice.kind is Kind.PART
    shift = rep.rep + block
    willing = (KeeperWish.REGULAR, KeeperWish.WILLING)
    able = [player for player in here if club.player(player).keeper in willing]
    attacking = attacking_sides(practice.areas, rep.rep, 0) if part else ()
    goals = [
        (area, 1 - attacking[area - 1] if part else which)
        for area in range(1, practice.areas + 1)
        for which in ((0,) if part else (0, 1))
        if keepers_in(club, planned.session, practice)
    ]
    places: list[Place] = []
    for (area, which), player in zip(goals, able, strict=False):
        places.append(Place(player=player, group=group[player], area=area, side=names[which], role="keep"))
    kept = {place.player for place in places}
    for which in (0, 1):
        mine = [player for player in here if player not in kept and side[player] == which]
        mine = mine[shift % len(mine) :] + mine[: shift % len(mine)] if mine else []
        for area in range(1, practice.areas + 1):
            attacks = not part or attacking[area - 1] == which
            sizes = practice.attackers if attacks else practice.defenders
            wanted = min(sizes.wanted if sizes else len(mine), len(mine))
            role: Any = "play" if not part else "attack" if attacks else "defend"
            for player in mine[:wanted]:
                places.append(Place(player=player, group=group[player], area=area, side=names[which], role=role))
            mine = mine[wanted:]
        for player in mine:
            places.append(Place(player=player, group=group[player], side=names[which], role="rest"))
    return places


def in_which_all_stay(plan: WeekPlan, block: int) -> WeekPlan:
    """The plan with the places of the first rep in every rep of a block (from 1) of each session."""
    sessions = []
    for planned in plan.sessions:
        stations = tuple(
            station.model_copy(update={"reps": tuple(
                rep.model_copy(update={"places": station.reps[0].places}) for rep in station.reps)})
            for station in planned.blocks[block - 1].stations
        )  # fmt: skip
        changed = planned.blocks[block - 1].model_copy(update={"stations": stations})
        blocks = tuple(changed if one.block == block else one for one in planned.blocks)
        sessions.append(planned.model_copy(update={"blocks": blocks}))
    return plan.model_copy(update={"sessions": tuple(sessions)})
