"""Small invented clubs with plain defaults, for tests."""

from __future__ import annotations

import datetime as dt
from typing import Any

from scheduler.club.club import Club
from scheduler.club.people import AgeRow, Coach, KeeperPolicy, KeeperWish, Player, Team
from scheduler.club.places import KitItem, Opening, Pitch, Site
from scheduler.club.programme import Contact, Kind, KitNeed, PlanRow, Practice, SessionAsk, Sizes
from scheduler.club.when import Span

MONDAY = dt.date(2026, 9, 7)
NAMES = (
    "Ivo",
    "Noor",
    "Tara",
    "Sami",
    "Mia",
    "Kofi",
    "Lena",
    "Juan",
    "Aiko",
    "Omar",
    "Ines",
    "Pavel",
    "Zola",
    "Erik",
    "Priya",
    "Tomas",
    "Yara",
    "Dinh",
    "Freya",
    "Hugo",
    "Amina",
    "Luca",
    "Sorin",
    "Maeve",
    "Kenji",
    "Rosa",
    "Idris",
    "Petra",
    "Nils",
    "Thabo",
    "Elif",
    "Marek",
    "Suri",
    "Bela",
    "Anouk",
    "Diego",
    "Hana",
    "Jonas",
    "Leila",
    "Viktor",
)

WARM_UP = Practice(id="Warm-up with balls", kind=Kind.TOGETHER, rpe=3, kit_per_player=(KitNeed("ball", 1),))
BOTH_ENDS = Practice(
    id="Four v two at both ends",
    kind=Kind.PART,
    areas=2,
    attackers=Sizes(3, 4, 5),
    defenders=Sizes(2, 2, 3),
    keepers=1,
    rep=4,
    changeover=1,
    zones_per_area=1,
    kit_per_area=(KitNeed("ball", 5), KitNeed("goal", 1)),
    kit_per_player=(KitNeed("bib", 1),),
    rpe=6,
)
SMALL_GAME = Practice(
    id="Small game",
    kind=Kind.GAME,
    attackers=Sizes(4, 5, 6),
    keepers=1,
    rep=8,
    changeover=2,
    kit_per_area=(KitNeed("ball", 2), KitNeed("goal", 2)),
    kit_per_player=(KitNeed("bib", 1),),
    contact=Contact.SOME,
    rpe=7,
)

EVENING = (
    PlanRow(plan="Evening", block="1", practice=WARM_UP.id, minutes=15),
    PlanRow(plan="Evening", block="2", practice=BOTH_ENDS.id, minutes=30, reps=6),
    PlanRow(plan="Evening", block="3", practice=SMALL_GAME.id, minutes=28),
)


def an_age_row(**changes: Any) -> AgeRow:
    base: dict[str, Any] = {
        "phase": "all", "from_age": 4, "to_age": 18, "session_minutes": 90, "sessions_a_week": 3,
        "week_minutes": 600, "rest_days": 2, "days_in_a_row": 3, "finish_by": 21 * 60, "headers_a_week": 20,
        "players_per_adult": 8, "ball": "ball size 4", "goal": "goal small", "source": "test row",
    }  # fmt: skip
    return AgeRow(**{**base, **changes})


def some_players(team: str, count: int, keepers: int = 2, first: int = 0, born: dt.date = dt.date(2014, 5, 1),
                 keeper: KeeperWish = KeeperWish.REGULAR) -> tuple[Player, ...]:  # fmt: skip
    """`count` players of one team; the first `keepers` keep goal, the others are not asked."""
    return tuple(
        Player(
            id=f"{team} {NAMES[(first + i) % len(NAMES)]}",
            name=f"{NAMES[(first + i) % len(NAMES)]} {team}",
            called=NAMES[(first + i) % len(NAMES)],
            born=born,
            team=team,
            keeper=keeper if i < keepers else KeeperWish.NOT_ASKED,
        )
        for i in range(count)
    )


def a_club(teams: int = 1, players: int = 14, keepers: int = 2, sessions: int = 1, zones: int = 3,
           **changes: Any) -> Club:  # fmt: skip
    """One pitch, `teams` teams of `players`, each asking for `sessions` sessions of 75 minutes on the whole pitch.

    The plan: 15 minutes together, six reps of four at both ends (30 minutes), a game of 28 minutes.
    """
    names = ("Herons", "Kites", "Larks", "Owls", "Wrens", "Swifts", "Terns", "Rooks")[:teams]
    base: dict[str, Any] = {
        "name": "Marsh Lane",
        "week": MONDAY,
        "timezone": "Europe/Dublin",
        "sites": (Site(id="Marsh Lane", latitude=53.35, longitude=-6.26),),
        "pitches": (
            Pitch(id="North", site="Marsh Lane", zones=zones, length=60, width=40, quality=4,
                  openings=(Opening(span=Span(17 * 60, 21 * 60)),)),
        ),
        "ages": (an_age_row(),),
        "teams": tuple(
            Team(id=t, age_group=13, coaches=(f"coach {t} 1", f"coach {t} 2"), keepers=KeeperPolicy.VOLUNTEERS)
            for t in names
        ),
        "sessions": tuple(
            SessionAsk(id=f"{t} {i + 1}", teams=(t,), plan="Evening", minutes=75, zones=None)
            for t in names
            for i in range(sessions)
        ),
        "players": tuple(p for i, t in enumerate(names) for p in some_players(t, players, keepers, i * players)),
        "coaches": tuple(
            Coach(id=f"coach {t} {i}", name=f"Coach {t} {i}", first_aid_until=dt.date(2027, 12, 31),
                  checked_until=dt.date(2027, 12, 31))
            for t in names
            for i in (1, 2)
        ),
        "kit": (
            KitItem(item="ball size 4", site="Marsh Lane", count=40),
            KitItem(item="goal small", site="Marsh Lane", count=6),
            KitItem(item="bib", site="Marsh Lane", count=20),
        ),
        "practices": (WARM_UP, BOTH_ENDS, SMALL_GAME),
        "plans": EVENING,
    }  # fmt: skip
    return Club(**{**base, **changes})
