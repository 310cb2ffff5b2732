"""Weeks in which too few children are left to play, by counting: minutes used up, or two sessions at one time."""

from __future__ import annotations

from itertools import combinations

from scheduler.club.club import Club
from scheduler.club.people import Player
from scheduler.club.programme import Kind
from scheduler.outcome import Clash, Demand
from scheduler.plan.timeline import timeline
from scheduler.reasons.reach import Reach
from scheduler.workbook.check import least_players


def too_long(club: Club) -> list[Clash]:
    """Sessions whose plan goes on when so many have used up their minutes that too few are left to play."""
    found = []
    for ask in club.sessions:
        caps = [_minutes_allowed(club, player) for player in club.members(ask.id)]
        for block in timeline(club, ask.id):
            least = sum(least_players(club, ask, station.practice) for station in block.stations)
            ends = [
                rep.end
                for station in block.stations
                for rep in station.reps
                if station.practice.kind is not Kind.TOGETHER
            ]
            staying = [cap for cap in caps if cap is None or cap >= max(ends, default=0)]
            if ends and len(caps) >= least > len(staying):
                most = max((cap for cap in caps if cap is not None), default=0)
                text = (
                    f"block {block.label} of {ask.id} goes on to minute {max(ends)} and needs {least} players; within "
                )
                text += f"their session minutes {len(staying) or 'none'} may stay so long (the most is {most} minutes)"
                demand = Demand("age-phase load", ask.id, f"{text}; shorten the session or its plan")
                found.append(Clash((demand,), minimal=True))
                break
    return found


def shared_children(club: Club, reach: tuple[Reach, ...]) -> list[Clash]:
    """Pairs of sessions that are always held at one time and together need more players than both have."""
    found = []
    for one, other in combinations(reach, 2):
        everybody = {player.id for session in (one, other) for player in club.members(session.ask.id)}
        needs = [least_of(club, session.ask.id) for session in (one, other)]
        fewest = min(len(club.members(session.ask.id)) for session in (one, other))
        if sum(needs) <= len(everybody) or fewest < max(needs) or not _at_one_time(one, other):
            continue
        shared = len(club.members(one.ask.id)) + len(club.members(other.ask.id)) - len(everybody)
        names = f"{one.ask.id} and {other.ask.id}"
        text = f"{names} are always at one time and need {needs[0]} and {needs[1]} players; they have {len(everybody)} "
        text += f"between them, {shared} of whom belong to both"
        demands = tuple(
            Demand("one place at once", session.ask.id, f"{session.ask.id} needs at least {need} players at that time")
            for session, need in zip((one, other), needs, strict=True)
        )
        found.append(Clash(demands, minimal=True, text=text))
    return found


def least_of(club: Club, session: str) -> int:
    """The fewest players that every block of a session can be played with."""
    ask = club.session(session)
    blocks = timeline(club, session)
    return max((sum(least_players(club, ask, s.practice) for s in b.stations) for b in blocks), default=0)


def _at_one_time(one: Reach, other: Reach) -> bool:
    """Whether the two sessions share a minute wherever they are held."""
    spans = [dict.fromkeys((date, span) for _, date, span in reach.spots) for reach in (one, other)]
    return all(day == date and first.overlaps(second) for day, first in spans[0] for date, second in spans[1])


def _minutes_allowed(club: Club, player: Player) -> int | None:
    """The most minutes of one session a child may be there; None where no number is given."""
    row = club.age_row(player)
    caps = [cap for cap in (player.limits.max_minutes, row.session_minutes if row else None) if cap is not None]
    return min(caps, default=None)
