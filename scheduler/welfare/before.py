"""The plan of the week before, read for the days around the Monday: rest between weeks and days in a row.

Its sessions become rows of sport beside this week's, as if they had been entered by hand, so that the plan, the audit
and the welfare file all know them. What was planned counts, whether it was held or not. Nothing of it falls inside the
week, so minutes, load and rest days of the week are not touched.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from scheduler.club.club import Club
from scheduler.club.people import Elsewhere
from scheduler.errors import Fault, InputFaults
from scheduler.plan.plan import WeekPlan
from scheduler.plan.presence import minutes_there

WEEK = dt.timedelta(days=7)
HELD, NOTHING = "session of the week before", "no session in the week before"


def checked(path: Path, earlier: WeekPlan, club: Club) -> WeekPlan:
    """The plan that was read from a path, of the week before; InputFaults where it is of another week or club."""
    wanted = club.week - WEEK
    if earlier.week != wanted:
        text = f"it is the plan of the week of {earlier.week}; after --after give that of the week of {wanted}"
        raise InputFaults((Fault(str(path), text),))
    players = {player for planned in earlier.sessions for player in planned.players}
    if players and not any(club.has("player", player) for player in players):
        text = f"nobody in it is a player of {club.name}; after --after give a plan of this club"
        raise InputFaults((Fault(str(path), text),))
    return earlier


def after_plan(club: Club, earlier: WeekPlan) -> Club:
    """The club with every child's sessions of the week before; a row of 0 minutes says that there was none."""
    rows: list[Elsewhere] = []
    for player in club.players:
        mine = [
            Elsewhere(player=player.id, date=planned.date, minutes=minutes, what=HELD)
            for planned in earlier.sessions
            if (minutes := minutes_there(club, planned, player.id)) and planned.date < club.week
        ]
        none = Elsewhere(player=player.id, date=club.week - dt.timedelta(days=1), minutes=0, what=NOTHING)
        rows += mine or [none]
    return club.model_copy(update={"elsewhere": (*club.elsewhere, *rows)})
