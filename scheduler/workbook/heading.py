"""More headers asked of those who keep goal in a week than their age rows allow, by counting alone."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.booking.squads import may_keep
from scheduler.club.club import Club
from scheduler.club.programme import Kind, SessionAsk
from scheduler.errors import Fault
from scheduler.plan.timeline import timeline
from scheduler.rotation.setting import keepers_in


def short_of_headers(club: Club) -> Iterator[Fault]:
    """For each team: everybody in goal in a rep heads as often as it says, and each child only so often a week."""
    if club.weather:  # heat may end a session before those reps
        return
    for team in club.teams:
        asks = [ask for ask in club.sessions if team.id in ask.teams]
        keepers = {one.id: one for ask in asks for one in club.members(ask.id) if may_keep(club, one)}
        rows = [club.age_row(one) for one in keepers.values()]
        caps = [row.headers_a_week for row in rows if row is not None and row.headers_a_week is not None]
        asked = sum(headers_in_goal(club, ask) for ask in asks)
        if len(caps) == len(rows) and asked > sum(caps):
            who = "one" if len(caps) == 1 else f"{len(caps)}"
            text = f"whoever keeps goal heads {asked} times in all in its practices this week, and the {who} who may be"
            text += f" asked have {sum(caps)} by their age rows; fewer headers or reps, or more who keep goal"
            yield Fault(f"Teams, {team.id}", text)


def headers_in_goal(club: Club, ask: SessionAsk) -> int:
    """Headers of all who keep goal in a session, whoever they are."""
    total = 0
    for block in timeline(club, ask.id):
        for station in block.stations:
            practice = station.practice
            if practice.kind is not Kind.TOGETHER:
                goals = keepers_in(club, ask.id, practice) * practice.areas * (2 if practice.kind is Kind.GAME else 1)
                total += goals * practice.headers_a_rep * len(station.reps)
    return total
