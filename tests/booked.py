"""Weeks booked by hand for the rotation: sessions at given times, blocks still empty; and random pools by number."""

from __future__ import annotations

import datetime as dt
from random import Random

from scheduler.club.club import Club
from scheduler.club.people import Absence, Carried, KeeperPolicy, KeeperStays, Limits
from scheduler.club.programme import Kind, PlanRow, Practice, Sizes
from scheduler.club.when import Occurs, Span
from scheduler.plan.plan import StoodDown, WeekPlan
from scheduler.plan.presence import can_come
from tests.clubs import WARM_UP, a_club
from tests.weeks import held, week_of

SIX = 18 * 60
DAYS = (0, 2, 4)


def booked_week(club: Club, *starts: tuple[int, int], downs: tuple[tuple[str, StoodDown], ...] = ()) -> WeekPlan:
    """Each session asked for at its (day offset, start minute) on the whole of the first pitch."""
    sessions = []
    for number, (day, start) in enumerate(starts):
        planned = held(club, day, start, number, zones=tuple(range(1, club.pitches[0].zones + 1)),
                       sides=("green", "orange"))  # fmt: skip
        come = tuple(player for player in planned.players if can_come(club, player, planned.date, planned.span))
        mine = tuple(down for session, down in downs if session == planned.session)
        sessions.append(planned.model_copy(update={"players": come, "stood_down": mine}))
    sessions.sort(key=lambda one: (one.date, one.start, one.pitch, one.zones))
    return week_of(club, *sessions)


def late(club: Club, player: int, day: int, minute: int) -> Absence:
    """A player of the club (by number) comes only at a minute of a day."""
    date = club.week + dt.timedelta(days=day)
    return Absence(who=(club.players[player].id,), occurs=Occurs(date=date), span=Span(0, minute))


def random_pool(number: int, areas: tuple[int, ...] = (1, 2, 2, 3)) -> tuple[Club, WeekPlan]:
    """A week of one team by number: 11 to 18 players, one to three sessions, some absent, late, early or limited."""
    random = Random(number)
    players, keepers, sessions = random.randint(11, 18), random.randint(2, 4), random.randint(1, 3)
    part, rows = _part(random, random.choice(areas)), [_row("1", WARM_UP, 15), _row("2", None, 30)]
    sides = Sizes(3, 5, random.choice((5, 6, 8)))
    game = Practice(id="Game", kind=Kind.GAME, attackers=sides, keepers=1, rep=8, changeover=2)
    if random.random() < 0.5:
        rows.append(_row("3", None, 20))
    if random.random() < 0.6:
        rows.append(_row("4", game, 20))
    minutes = sum(row.minutes for row in rows)
    club = a_club(players=players, keepers=keepers, sessions=sessions)
    squad = list(club.players)
    if random.random() < 0.3:
        limited = random.randrange(players)
        squad[limited] = squad[limited].model_copy(update={"limits": Limits(max_minutes=40)})
    absences = []
    for day in DAYS[:sessions]:
        for who in random.sample(squad, random.randint(0, 3)):
            span = random.choice((Span(0, 24 * 60), Span(0, SIX + 10), Span(0, SIX + 30), Span(SIX + 45, 24 * 60)))
            date = club.week + dt.timedelta(days=day)
            absences.append(Absence(who=(who.id,), occurs=Occurs(date=date), span=span))
    team = club.teams[0].model_copy(
        update={"keepers": random.choice(list(KeeperPolicy)), "keeper_stays": random.choice(list(KeeperStays))}
    )
    carried = [Carried(player=who.id, attack=due, defend=-due) for who in squad if random.random() < 0.1
               for due in (random.randint(-2, 2),)]  # fmt: skip
    club = club.model_copy(
        update={
            "practices": (WARM_UP, part, game),
            "plans": tuple(rows),
            "players": tuple(squad),
            "absences": tuple(absences),
            "teams": (team,),
            "carried": tuple(carried),
            "sessions": tuple(ask.model_copy(update={"minutes": minutes}) for ask in club.sessions),
        }
    )
    downs = tuple(
        (ask.id, StoodDown(player=who.id, why="own limit", start=SIX + 40, end=SIX + minutes))
        for ask in club.sessions
        for who in squad
        if who.limits.max_minutes
    )
    return club, booked_week(club, *((day, SIX) for day in DAYS[:sessions]), downs=downs)


def _part(random: Random, areas: int) -> Practice:
    attackers, defenders = {
        1: (((4, 5, 6), (3, 4, 6), (3, 5, 6)), ((2, 3, 5), (3, 4, 5), (2, 2, 4))),
        2: (((2, 3, 4), (3, 4, 5), (2, 3, 5), (3, 3, 4)), ((1, 2, 3), (2, 2, 3), (2, 3, 4), (1, 2, 2))),
        3: (((1, 2, 3), (2, 2, 3)), ((1, 1, 2),)),
    }[areas]
    return Practice(
        id="Part",
        kind=Kind.PART,
        areas=areas,
        attackers=Sizes(*random.choice(attackers)),
        defenders=Sizes(*random.choice(defenders)),
        keepers=1 if areas < 3 else 0,
        rep=random.choice((3, 4, 5)),
        changeover=1,
    )


def _row(block: str, practice: Practice | None, minutes: int) -> PlanRow:
    return PlanRow(plan="Evening", block=block, practice=practice.id if practice else "Part", minutes=minutes)
