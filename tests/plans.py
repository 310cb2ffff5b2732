"""A sample plan by naive counting off: every session booked in order, roles dealt round in turn; fair only roughly."""

from __future__ import annotations

import datetime as dt
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

SIDES = ("bibs green", "bibs orange")


def a_plan(club: Club, *, stood_down: dict[str, tuple[StoodDown, ...]] | None = None, day: int = 1,
           start: int = 18 * 60, **changes: Any) -> WeekPlan:  # fmt: skip
    """Sessions on following days at `start`, from weekday `day` on, each on the first zones of the first pitch."""
    sessions = [
        _filled(club, _booked(club, ask.id, club.dates[(day + number) % 7], start, (stood_down or {}).get(ask.id, ())))
        for number, ask in enumerate(club.sessions)
    ]
    sessions.sort(key=lambda planned: (planned.date, planned.start, planned.pitch, planned.zones))
    base: dict[str, Any] = {
        "club": club.name, "week": club.week, "timezone": club.timezone, "sessions": tuple(sessions),
    }  # fmt: skip
    return WeekPlan(**{**base, **changes})


def _booked(club: Club, session: str, date: dt.date, start: int, downs: tuple[StoodDown, ...]) -> PlannedSession:
    ask, pitch = club.session(session), club.pitches[0]
    planned = PlannedSession(
        session=session, teams=ask.teams, date=date, start=start, end=start + ask.minutes, pitch=pitch.id,
        zones=tuple(range(1, (ask.zones or pitch.zones) + 1)),
        coaches=tuple(dict.fromkeys(coach for team in ask.teams for coach in club.team(team).coaches)),
        players=(), stood_down=downs, sides=SIDES,
    )  # fmt: skip
    come = tuple(p.id for p in club.members(session) if can_come(club, p.id, date, planned.span))
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
