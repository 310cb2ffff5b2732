"""Seeded invented towns: clubs of many teams on few pitches, for proofs and measurements."""

from __future__ import annotations

import datetime as dt
from random import Random
from typing import Any

from scheduler.club.club import Club
from scheduler.club.people import Coach, KeeperPolicy, KeeperWish, Player, Team
from scheduler.club.places import Booked, KitItem, Opening, Pitch, Site
from scheduler.club.programme import SessionAsk
from scheduler.club.when import Occurs, Span
from tests.clubs import BOTH_ENDS, EVENING, MONDAY, NAMES, SMALL_GAME, WARM_UP, an_age_row

TEAM_NAMES = (
    "Herons", "Kites", "Larks", "Owls", "Wrens", "Swifts", "Terns", "Rooks", "Finches", "Plovers", "Gulls", "Martins",
    "Petrels", "Curlews", "Dippers", "Falcons", "Grebes", "Hoopoes", "Ibises", "Jays", "Knots", "Linnets", "Merlins",
    "Nightjars", "Ospreys", "Pipits", "Quails", "Robins", "Shrikes", "Teals",
)  # fmt: skip
WEEKDAYS = frozenset(range(5))


def _pitches(count: int) -> tuple[Pitch, ...]:
    """Three zones each, open from 17:30 to 20:30 on weekdays; two of three at the first site."""
    names = ("North", "South", "Mill", "East", "West", "Brook", "Hill", "Ford")[:count]
    return tuple(
        Pitch(id=name, site="Marsh Lane" if i % 3 < 2 else "Mill Road", zones=3, length=90, width=55, quality=5 - i % 3,
              openings=(Opening(days=WEEKDAYS, span=Span(17 * 60 + 30, 20 * 60 + 30)),))
        for i, name in enumerate(names)
    )  # fmt: skip


def _players(random: Random, teams: tuple[str, ...], squad: int, shared: int) -> tuple[Player, ...]:
    players = []
    for t, team in enumerate(teams):
        for i in range(squad):
            name = NAMES[(t * 7 + i) % len(NAMES)]
            older = teams[t + 1] if i < shared and t + 1 < len(teams) and random.random() < 0.5 else None
            players.append(
                Player(
                    id=f"{team} {name} {i}",
                    name=f"{name} {team}",
                    called=f"{name} {i}",
                    born=dt.date(2014, 1 + i % 12, 3),
                    team=team,
                    also_plays_for=(older,) if older else (),
                    keeper=KeeperWish.REGULAR if i < 2 else KeeperWish.NOT_ASKED,
                    family=f"family {random.randrange(len(teams) * 4)}" if random.random() < 0.15 else "",
                )
            )
    return tuple(players)


def a_town(teams: int = 12, seed: int = 1, pitches: int = 3, sessions: int = 2, squad: int = 14, shared: int = 2,
           hired: float = 0.3, **changes: Any) -> Club:  # fmt: skip
    """`teams` teams with `sessions` sessions of 75 minutes, on the whole pitch, two zones or one in turn, coaches who
    lead one team each, some of them two; `shared` children of each team may also play for the next; `hired`: the part
    of the pitch evenings that outside hirers have.
    """
    random = Random(seed)
    names = TEAM_NAMES[:teams]
    grounds = _pitches(pitches)
    asks = tuple(
        SessionAsk(id=f"{team} {n + 1}", teams=(team,), plan="Evening", minutes=75, zones=(None, 2, 1)[t % 3],
                   days=WEEKDAYS, wished_days=frozenset(random.sample(range(5), 2)))
        for t, team in enumerate(names)
        for n in range(sessions)
    )  # fmt: skip
    evenings = [(pitch.id, day) for pitch in grounds for day in range(5)]
    hirers = random.sample(evenings, round(hired * len(evenings)))
    coaches = tuple(f"coach {team} {i}" for team in names for i in (1, 2))
    base: dict[str, Any] = {
        "name": "Marsh Town",
        "week": MONDAY,
        "timezone": "Europe/Dublin",
        "sites": (
            Site(id="Marsh Lane", latitude=53.35, longitude=-6.26, minutes_between=15),
            Site(id="Mill Road", latitude=53.36, longitude=-6.25, minutes_between=15),
        ),
        "pitches": grounds,
        "booked": tuple(
            Booked(pitch=pitch, occurs=Occurs(days=frozenset({day})), span=Span(17 * 60, 21 * 60), by="a hirer")
            for pitch, day in sorted(hirers)
        ),
        "ages": (an_age_row(sessions_a_week=3, rest_days=2, days_in_a_row=3),),
        "teams": tuple(
            Team(id=team, age_group=13, keepers=KeeperPolicy.VOLUNTEERS,
                 coaches=(coaches[2 * t], coaches[(2 * t + 3) % len(coaches)] if t % 4 == 0 else coaches[2 * t + 1]))
            for t, team in enumerate(names)
        ),
        "sessions": asks,
        "players": _players(random, names, squad, shared),
        "coaches": tuple(
            Coach(id=coach, name=coach.capitalize(), first_aid_until=dt.date(2027, 12, 31) if i % 3 else None,
                  checked_until=dt.date(2027, 12, 31))
            for i, coach in enumerate(coaches)
        ),
        "kit": tuple(
            KitItem(item=item, site=site, count=count)
            for site in ("Marsh Lane", "Mill Road")
            for item, count in (("ball size 4", 60), ("goal small", 8), ("bib green", 20), ("bib orange", 20))
        ),
        "practices": (WARM_UP, BOTH_ENDS, SMALL_GAME),
        "plans": EVENING,
    }  # fmt: skip
    return Club(**{**base, **changes})
