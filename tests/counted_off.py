"""A plan by counting off: sessions booked by hand, places given round robin; lawful or not."""

from __future__ import annotations

import datetime as dt
from typing import Any

from scheduler.club.club import Club
from scheduler.club.programme import Kind, Practice
from scheduler.plan.plan import Place, PlannedSession, StoodDown, WeekPlan
from scheduler.plan.presence import can_come, in_rep, there
from scheduler.plan.skeleton import lay_blocks
from scheduler.plan.timeline import groups_of, station_of, timeline


def counted_off(club: Club, *starts: tuple[int, int], stood_down: tuple[tuple[str, StoodDown], ...] = ()) -> WeekPlan:
    """The week with one (day offset, start minute) a session asked for, in the club's order."""
    planned = [
        _session(club, ask.id, club.week + dt.timedelta(days=day), start, stood_down)
        for ask, (day, start) in zip(club.sessions, starts, strict=True)
    ]
    planned.sort(key=lambda one: (one.date, one.start, one.pitch, one.zones))
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=tuple(planned))


def _session(club: Club, name: str, date: dt.date, start: int, downs: tuple[tuple[str, StoodDown], ...]) -> Any:
    ask = club.session(name)
    pitch = club.pitches[0]
    booked = PlannedSession(
        session=name,
        teams=ask.teams,
        date=date,
        start=start,
        end=start + ask.minutes,
        pitch=pitch.id,
        zones=tuple(range(1, (ask.zones or pitch.zones) + 1)),
        coaches=tuple(coach for team in ask.teams for coach in club.team(team).coaches),
        players=(),
        stood_down=tuple(down for session, down in downs if session == name),
        sides=("green", "orange"),
    )
    come = [p.id for p in club.members(name) if can_come(club, p.id, date, booked.span)]
    booked = booked.model_copy(update={"players": tuple(come)})
    return _filled(club, lay_blocks(club, booked))


def _filled(club: Club, planned: PlannedSession) -> PlannedSession:
    count, layout = groups_of(club, planned.session), timeline(club, planned.session)
    group = {player: number % count + 1 for number, player in enumerate(planned.players)}
    turn = 0
    blocks = []
    for block, time in zip(planned.blocks, layout, strict=True):
        stations = []
        for station in block.stations:
            practice, reps = club.practice(station.practice), []
            for rep in station.reps:
                here = [
                    p
                    for p in planned.players
                    if station_of(time, group[p]) == station.station
                    and in_rep(there(club, planned, p), practice, rep.span)
                ]
                places = [
                    _place(practice, player, group[player], (number + turn) % max(1, len(here)), planned.sides)
                    for number, player in enumerate(here)
                ]
                turn += 1
                reps.append(rep.model_copy(update={"places": tuple(places)}))
            stations.append(station.model_copy(update={"reps": tuple(reps)}))
        blocks.append(block.model_copy(update={"stations": tuple(stations)}))
    return planned.model_copy(update={"blocks": tuple(blocks)})


def _place(practice: Practice, player: str, group: int, number: int, sides: tuple[str, ...]) -> Place:
    if practice.kind is Kind.TOGETHER:
        return Place(player=player, group=group, role="all")
    roles = ["keep", "attack", "defend", "attack"] if practice.kind is Kind.PART else ["keep", "play", "play", "play"]
    area = number % 2 % practice.areas + 1
    if number >= 12:
        return Place(player=player, group=group, role="rest", side=sides[number % 2])
    role: Any = roles[number // 2 % 4]
    return Place(player=player, group=group, area=area, side=sides[number % 2], role=role)
