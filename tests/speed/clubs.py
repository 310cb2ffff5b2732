"""Invented clubs of any size with a timetable known to be possible: seeded, for measurements.

A timetable is laid first, by first fit, on as many pitches as it takes; hirers then fill the free ground until the
asked share of it is in use. So a lawful week always exists, whatever the share.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from itertools import product
from random import Random
from typing import NamedTuple

from scheduler.booking.standdown import WEEK_LIMIT
from scheduler.club.club import Club
from scheduler.club.people import Absence, AgeRow, Coach, KeeperPolicy, KeeperWish, Match, Player, Team
from scheduler.club.places import Booked, KitItem, Opening, Pitch, Site
from scheduler.club.programme import PlanRow, SessionAsk, Sizes
from scheduler.club.when import Occurs, Span
from scheduler.plan.plan import PlannedSession, StoodDown, WeekPlan
from tests.clubs import BOTH_ENDS, MONDAY, NAMES, SMALL_GAME, WARM_UP, a_club

OPEN, CLOSE, STEP = 17 * 60, 21 * 60, 15
EVENINGS = 5
PITCHES_A_SITE = 3
TRAVEL = 20  # minutes from site to site
DAY_PAIRS = ((0, 2), (1, 3), (0, 3), (1, 4), (2, 4), (0, 4))
BLOCKS = {60: (10, 24, 26), 75: (15, 30, 28), 90: (15, 35, 38)}
SIZES = (6, 12, 30, 60, 120)
USES = (0.75, 0.90)


class Laid(NamedTuple):
    """One session of the known timetable; `pitch` and `zone` (the first of `zones`) count from 0."""

    session: str
    team: int
    day: int
    start: int
    minutes: int
    pitch: int
    zone: int
    zones: int


@dataclass(frozen=True)
class Town:
    """A club and a timetable of it that is known to be possible; `use` is the share of open ground asked for."""

    club: Club
    laid: tuple[Laid, ...]
    use: float


def age_group(team: int) -> int:
    """U9 to U16 in turn."""
    return 9 + team % 8


def minutes_of(age: int) -> int:
    return 60 if age <= 10 else 75 if age <= 13 else 90  # a U13 is 12 in September


class _Ground:
    """Which cells of (pitch, day, zone, grid step) are taken."""

    def __init__(self, zones: int) -> None:
        self.zones, self.pitches = zones, 0
        self.taken: set[tuple[int, int, int, int]] = set()

    def cells(self, pitch: int, day: int, zone: int, zones: int, start: int, minutes: int
              ) -> set[tuple[int, int, int, int]]:  # fmt: skip
        steps = range((start - OPEN) // STEP, (start + minutes - OPEN) // STEP)
        return {(pitch, day, z, step) for z in range(zone, zone + zones) for step in steps}

    def place(self, day: int, zones: int, minutes: int, starts: list[int], busy: list[tuple[int, Span]]
              ) -> tuple[int, int, int] | None:  # fmt: skip
        """The first place that fits: (start, pitch, zone). A pitch is added where none does.

        `busy`: on which pitches and when the leader is that day. None: the leader would not even reach a new pitch.
        """
        old, new = range(self.pitches), range(self.pitches, self.pitches + 1)
        for pitches in (old, new):
            for start, pitch in product(starts, pitches):
                if any(not _reached(one, (pitch, Span(start, start + minutes))) for one in busy):
                    continue
                for zone in range(self.zones - zones + 1):
                    cells = self.cells(pitch, day, zone, zones, start, minutes)
                    if not cells & self.taken:
                        self.taken |= cells
                        self.pitches = max(self.pitches, pitch + 1)
                        return start, pitch, zone
        return None


def _reached(one: tuple[int, Span], other: tuple[int, Span]) -> bool:
    """Whether one adult can be at two sessions, each a pitch and its time."""
    (pitch, span), (pitch_too, span_too) = one, other
    way = 0 if pitch // PITCHES_A_SITE == pitch_too // PITCHES_A_SITE else TRAVEL
    return not span.overlaps(Span(max(0, span_too.start - way), span_too.end + way))


def _lay(teams: int, zones: int, random: Random) -> tuple[tuple[Laid, ...], _Ground]:
    """First fit, long sessions first; the leader shared by two teams is in one place at a time."""
    ground = _Ground(zones)
    wanted = []
    for team in range(teams):
        days = random.choice(DAY_PAIRS)
        wide = 2 if age_group(team) >= 15 else 1
        wanted += [(team, number, day, minutes_of(age_group(team)), wide) for number, day in enumerate(days)]
    wanted.sort(key=lambda one: (-one[4], -one[3], one[0], one[1]))
    laid: list[Laid] = []
    busy: dict[tuple[int, int], list[tuple[int, Span]]] = {}
    for team, number, day, minutes, wide in wanted:
        latest = 20 * 60 + 30 if age_group(team) <= 13 else CLOSE
        free = [other for other in range(EVENINGS) if not any(one.team == team and one.day == other for one in laid)]
        for other in (day, *free):
            mine = busy.setdefault((leader(team), other), [])
            found = ground.place(other, wide, minutes, list(range(OPEN, latest - minutes + 1, STEP)), mine)
            if found is not None:
                break
        else:
            raise ValueError(f"no place for team {team} of this seed")
        start, pitch, zone = found
        mine.append((pitch, Span(start, start + minutes)))
        laid.append(Laid(f"T{team:03d} {number + 1}", team, other, start, minutes, pitch, zone, wide))
    laid.sort(key=lambda one: (one.team, one.session))
    return tuple(laid), ground


def leader(team: int) -> int:
    """The team whose first coach leads this one: every sixth team shares the leader of the one before."""
    return team - 1 if team % 6 == 5 else team


def _hirers(ground: _Ground, asked: int, use: float, random: Random) -> tuple[tuple[Booked, ...], float]:
    """Hirers on free ground, long ones first, until what is asked is the wanted share of what is left."""
    hours = [
        (pitch, day, zone, start)
        for pitch in range(ground.pitches)
        for day in range(EVENINGS)
        for zone in range(ground.zones)
        for start in range(OPEN, CLOSE, STEP)
    ]
    random.shuffle(hours)
    free = ground.pitches * EVENINGS * ground.zones * ((CLOSE - OPEN) // STEP)
    rows = []
    for length in (90, 60, 30, STEP):
        for pitch, day, zone, start in hours:
            cells = ground.cells(pitch, day, zone, 1, start, length)
            if asked / free >= use or start + length > CLOSE or cells & ground.taken:
                continue
            ground.taken |= cells
            free -= len(cells)
            rows.append(
                Booked(pitch=f"Pitch {pitch + 1}", zones=(zone + 1,), occurs=Occurs(days=frozenset({day})),
                       span=Span(start, start + length), by="a hirer")
            )  # fmt: skip
    return tuple(rows), asked / free


def _age_rows() -> tuple[AgeRow, ...]:
    base = {"sessions_a_week": 3, "rest_days": 2, "days_in_a_row": 3, "ball": "ball size 4", "goal": "goal small"}
    young = AgeRow(
        phase="to 12",
        from_age=4,
        to_age=12,
        session_minutes=75,
        week_minutes=540,
        finish_by=20 * 60 + 30,
        players_per_adult=8,
        source="common practice, no source",
        **base,
    )
    older = AgeRow(
        phase="13 and over",
        from_age=13,
        to_age=18,
        session_minutes=90,
        week_minutes=780,
        finish_by=CLOSE,
        players_per_adult=10,
        source="common practice, no source",
        **base,
    )
    return (young, older)  # fmt: skip


def older_too(team: int, teams: int) -> str | None:
    """The team a year older that some children of every third team also play for, where there is one."""
    helps = team % 3 == 1 and team + 1 < teams and age_group(team + 1) == age_group(team) + 1
    return f"T{team + 1:03d}" if helps else None


def _players(team: int, teams: int, shared: int, random: Random) -> list[Player]:
    count, age = random.randint(12, 18), age_group(team)
    found = []
    for number in range(count):
        name = NAMES[(team * 7 + number) % len(NAMES)]
        keeper = KeeperWish.REGULAR if number < 2 else KeeperWish.WILLING if number < 4 else KeeperWish.NOT_ASKED
        born = dt.date(MONDAY.year - age + 1, 1 + random.randrange(8), 1 + random.randrange(28))
        family = f"family {team // 2}" if number == 5 and team % 4 in (0, 1) else ""
        older = older_too(team, teams) if 6 <= number < 6 + shared else None
        found.append(Player(id=f"T{team:03d} {number:02d}", name=f"{name} {team}", called=name, born=born,
                            team=f"T{team:03d}", keeper=keeper, family=family,
                            also_plays_for=() if older is None else (older,)))  # fmt: skip
    return found


def _coaches(team: int, count: int, days: set[int], random: Random) -> list[Coach]:
    """The adults of one team, there on the days of the known timetable and on some others."""
    found = []
    for number in range(count):
        there = frozenset(days | {random.randrange(EVENINGS)})
        found.append(Coach(id=f"coach {team:03d} {number}", name=f"Coach {team:03d} {number}",
                           first_aid_until=MONDAY + dt.timedelta(days=300 if number < 2 else -30),
                           checked_until=MONDAY + dt.timedelta(days=300),
                           available=((there, Span(OPEN - 30, CLOSE)),)))  # fmt: skip
    return found


def _adults(teams: int, players: list[list[Player]], laid: tuple[Laid, ...], random: Random
            ) -> tuple[list[Coach], list[tuple[str, ...]]]:  # fmt: skip
    days: dict[int, set[int]] = {}
    for one in laid:
        days.setdefault(leader(one.team), set()).add(one.day)
    coaches, of_team = [], []
    for team in range(teams):
        ratio = 8 if age_group(team) <= 14 else 10
        needed = max(2, -(-len(players[team]) // ratio))
        own = days.get(team, set()) | {one.day for one in laid if one.team == team}
        made = _coaches(team, needed + 1, own, random)
        coaches += made
        ids = [coach.id for coach in made]
        first = f"coach {leader(team):03d} 0"
        of_team.append(tuple(dict.fromkeys([first, *ids])))
    return coaches, of_team


def a_town(teams: int, use: float = 0.75, zones: int = 4, seed: int = 1, sites: bool = True, shared: int = 0) -> Town:
    """A club of so many teams, two sessions each, about this share of its open ground (in quarters or thirds) asked.

    `shared`: so many children of every third team also play for the next older one.
    """
    random = Random(seed * 1000 + teams)
    laid, ground = _lay(teams, zones, random)
    asked = sum(one.zones * one.minutes // STEP for one in laid)
    booked, used = _hirers(ground, asked, use, random)
    players = [_players(team, teams, shared, random) for team in range(teams)]
    coaches, of_team = _adults(teams, players, laid, random)
    names = [f"Site {number + 1}" for number in range(-(-ground.pitches // PITCHES_A_SITE) if sites else 1)]
    return Town(
        Club(
            name=f"Town of {teams}", week=MONDAY, timezone="Europe/Dublin",
            sites=tuple(Site(id=name, latitude=53.3, longitude=-6.2, minutes_between=TRAVEL) for name in names),
            pitches=tuple(
                Pitch(id=f"Pitch {number + 1}", site=names[number // PITCHES_A_SITE if sites else 0], zones=zones,
                      length=100, width=64, quality=4 if number % 2 else 5,
                      openings=(Opening(days=frozenset(range(EVENINGS)), span=Span(OPEN, CLOSE)),))
                for number in range(ground.pitches)
            ),
            booked=booked, ages=_age_rows(),
            teams=tuple(
                Team(id=f"T{team:03d}", age_group=age_group(team), coaches=of_team[team],
                     keepers=KeeperPolicy.VOLUNTEERS)
                for team in range(teams)
            ),
            matches=tuple(
                Match(team=f"T{team:03d}", date=MONDAY + dt.timedelta(days=5), kick_off=600, minutes=60, rpe=7)
                for team in range(0, teams, 2)
            ),
            sessions=tuple(_ask(one, random) for one in laid),
            players=tuple(player for squad in players for player in squad), coaches=tuple(coaches),
            kit=tuple(
                KitItem(item=item, site=name, count=count * PITCHES_A_SITE * zones)
                for name in names
                for item, count in (("ball size 4", 16), ("goal small", 2), ("bib", 9))
            ),
            practices=(WARM_UP, BOTH_ENDS, SMALL_GAME),
            plans=tuple(
                PlanRow(plan=f"{minutes} minutes", block=str(number), practice=practice.id, minutes=spell)
                for minutes, spells in BLOCKS.items()
                for number, (practice, spell) in enumerate(zip((WARM_UP, BOTH_ENDS, SMALL_GAME), spells, strict=True))
            ),
        ),
        laid, used,
    )  # fmt: skip


def _ask(one: Laid, random: Random) -> SessionAsk:
    draw = random.random()  # a quarter wish for a day that is known to be possible, a quarter for any, half for none
    days = (one.day, random.randrange(EVENINGS)) if draw < 0.25 else random.sample(range(EVENINGS), 2)
    wished = frozenset(days) if draw < 0.5 else frozenset()
    return SessionAsk(id=one.session, teams=(f"T{one.team:03d}",), plan=f"{one.minutes} minutes", minutes=one.minutes,
                      zones=one.zones, days=frozenset(range(EVENINGS)), wished_days=wished)  # fmt: skip


def known_week(town: Town) -> WeekPlan:
    """The known timetable as a booked week: every team with its own adults, its own children and no others."""
    club = town.club
    planned = []
    for one in town.laid:
        ask = club.session(one.session)
        slot_zones = tuple(range(one.zone + 1, one.zone + one.zones + 1))
        planned.append(
            PlannedSession(
                session=one.session, teams=ask.teams, date=MONDAY + dt.timedelta(days=one.day), start=one.start,
                end=one.start + one.minutes, pitch=f"Pitch {one.pitch + 1}", zones=slot_zones,
                coaches=club.team(ask.teams[0]).coaches, sides=("bibs", "own shirts"),
                players=tuple(p.id for p in club.members(one.session) if p.team in ask.teams),
                stood_down=tuple(StoodDown(player=p.id, why=WEEK_LIMIT, start=one.start, end=one.start + one.minutes)
                                 for p in club.members(one.session) if p.team not in ask.teams),
            )
        )  # fmt: skip
    planned.sort(key=lambda session: (session.date, session.start, session.pitch, session.zones))
    return WeekPlan(club=club.name, week=club.week, timezone=club.timezone, sessions=tuple(planned))


def a_team_week(players: int, seed: int = 1, away: float = 0.0) -> Club:
    """One team of so many, two sessions; `away`: the part of attendances that are missed, half of them only partly."""
    random = Random(seed)
    club = a_club(players=players, keepers=4, sessions=2)
    absences = []
    for player in club.players:
        for day in (1, 2):
            if random.random() < away:
                span = random.choice((Span(0, 24 * 60), Span(18 * 60 + 40, 24 * 60), Span(0, 18 * 60 + 35)))
                date = MONDAY + dt.timedelta(days=day)
                absences.append(Absence(who=(player.id,), occurs=Occurs(date=date), span=span))
    ends = BOTH_ENDS.model_copy(update={"attackers": Sizes(1, 3, 6), "defenders": Sizes(1, 2, 4)})
    game = SMALL_GAME.model_copy(update={"attackers": Sizes(2, 5, 8)})
    return club.model_copy(update={"absences": tuple(absences), "practices": (WARM_UP, ends, game)})


def a_pooled_evening(players: int) -> Club:
    """Several teams on one evening in groups of about 13 that move round as many stations."""
    stations = max(2, round(players / 13))
    practices = [
        BOTH_ENDS.model_copy(update={"id": f"Both ends {number + 1}", "attackers": Sizes(2, 4, 5), "zones_per_area": 1})
        for number in range(stations)
    ]
    teams = -(-players // 16)
    club = a_club(teams=teams, players=16, keepers=5)
    sessions = (
        SessionAsk(id="Pool", teams=tuple(team.id for team in club.teams), plan="Round", minutes=90, zones=None),
    )
    rows = tuple(
        PlanRow(plan="Round", block=str(block + 1), practice=practice.id, minutes=14)
        for block in range(stations)
        for practice in practices
    )
    return club.model_copy(
        update={"sessions": sessions, "practices": tuple(practices), "plans": rows, "players": club.players[:players]}
    )
