"""Tiny clubs in which every booking can be tried, for the rules about loads, room and numbers of children.

Each stands at an edge: a limit met exactly, missed by one, or excused by what was known before.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace

from constraints.age_phase_load import AgePhaseLoad
from constraints.enough_to_play import EnoughToPlay
from constraints.space import Space
from scheduler.booking.slots import Slot
from scheduler.club.club import Club
from scheduler.club.people import Elsewhere, KeeperPolicy, KeeperWish, Limits
from scheduler.club.places import Pitch, Weather
from scheduler.club.programme import Kind, PlanRow, Practice, Sizes
from scheduler.club.when import Occurs
from tests.booking_cases import FIVE, SUNDAY, TOGETHER, Case, away, beside, hours, on_days, tiny
from tests.bookings import Attendance, anybody, with_cuts
from tests.clubs import MONDAY, an_age_row
from tests.weeks import with_players

Attend = Callable[[Club, str], list[Attendance]]
EASY = Practice(id="Warm-up", kind=Kind.TOGETHER, rpe=1)
HALF_HOUR = (PlanRow(plan="Evening", block="1", practice="Warm-up", minutes=30),)


def a_game(least: int, most: int, keepers: int | None = 0, **changes: object) -> Practice:
    base: dict[str, object] = {"id": "Game", "kind": Kind.GAME, "attackers": Sizes(least, least, most),
                               "keepers": keepers, "rep": 10, "rpe": 5}  # fmt: skip
    return Practice(**{**base, **changes})  # type: ignore[arg-type]


def a_part(keepers: int | None = 0, areas: int = 1, **changes: object) -> Practice:
    base: dict[str, object] = {"id": "Part", "kind": Kind.PART, "areas": areas, "attackers": Sizes(1, 1, 1),
                               "defenders": Sizes(1, 1, 1), "keepers": keepers, "rep": 10, "rpe": 5}  # fmt: skip
    return Practice(**{**base, **changes})  # type: ignore[arg-type]


def blocks(*rows: tuple[str, Practice]) -> dict[str, object]:
    """A session plan of these (block, practice), a quarter of an hour each."""
    plans = tuple(PlanRow(plan="Evening", block=label, practice=one.id, minutes=15) for label, one in rows)
    return {"practices": tuple(dict.fromkeys(one for _, one in rows)), "plans": plans}


def under(club: Club, *ages: int) -> Club:
    """The club with its teams of these age groups."""
    teams = tuple(team.model_copy(update={"age_group": age}) for team, age in zip(club.teams, ages, strict=True))
    return club.model_copy(update={"teams": teams})


LOAD = (
    Case("sessions a week, one of them missed anyway", AgePhaseLoad(),
         tiny(players=1, sessions=3, ages=(an_age_row(sessions_a_week=2),),
              absences=away(("Herons Ivo",), Occurs(date=MONDAY))),
         attendance=anybody, slots=lambda slot: slot.start == FIVE and slot.date.weekday() in (0, 2, 4)),
    Case("week load to the last unit", AgePhaseLoad(),
         # RPE 1: a minute is one unit; 130 less 40 elsewhere leave 90 of 120, so 30 minutes must go and 29 are too few
         tiny(players=1, sessions=2, practices=(EASY,), ages=(an_age_row(week_load=130),),
              elsewhere=(Elsewhere(player="Herons Ivo", date=SUNDAY, minutes=20, rpe=2),)),
         attendance=with_cuts(0, 14, 15, 16, None), slots=lambda slot: slot.start == FIVE and slot.date.weekday() < 2),
    Case("rest days already used up elsewhere", AgePhaseLoad(),
         # sport on five days where three are to be free: training on one of the five takes no further day
         tiny(players=1, ages=(an_age_row(rest_days=3, days_in_a_row=7),), elsewhere=beside(0, 1, 2, 3, 4)),
         attendance=anybody, slots=lambda slot: slot.start == FIVE),
    Case("a run of days already too long", AgePhaseLoad(),
         # Sunday to Tuesday are three days in a row without us; training on them adds no day, on Wednesday it would
         tiny(players=1, sessions=2, ages=(an_age_row(rest_days=0, days_in_a_row=2),), elsewhere=beside(-1, 0, 1)),
         attendance=anybody, slots=lambda slot: slot.start == FIVE),
    Case("a run of days over the whole week before", AgePhaseLoad(),
         tiny(players=1, ages=(an_age_row(rest_days=0, days_in_a_row=7),), elsewhere=beside(*range(-7, 0))),
         attendance=anybody, slots=lambda slot: slot.start == FIVE),
    Case("no minutes elsewhere are no sport", AgePhaseLoad(),
         tiny(players=1, ages=(an_age_row(rest_days=6, days_in_a_row=1),), elsewhere=tuple(
             Elsewhere(player="Herons Ivo", date=SUNDAY, minutes=minutes) for minutes in (0,)) + beside(-1)),
         attendance=anybody, slots=lambda slot: slot.start == FIVE),
    Case("finish by, over by one minute", AgePhaseLoad(), tiny(players=1, ages=(an_age_row(finish_by=FIVE + 59),)),
         attendance=with_cuts(0, 1, None), slots=on_days(0)),
    Case("finish by, over by two minutes", AgePhaseLoad(), tiny(players=1, ages=(an_age_row(finish_by=FIVE + 58),)),
         attendance=with_cuts(0, 1, 2, None), slots=on_days(0)),
)  # fmt: skip


def room_for(most: int, practice: Practice, group: int = 13) -> Case:
    """So many can play at once. North has 100 m2 for each but one, South for all: more may come there and rest."""
    pitches = tuple(
        Pitch(id=name, site="Marsh Lane", zones=1, length=length, width=10, openings=hours(FIVE, FIVE + 60))
        for name, length in (("North", 10 * most - 10), ("South", 10 * most))
    )
    practice = practice.model_copy(update={"m2_least": 100.0})
    club = under(tiny(players=most + 1, pitches=pitches, **blocks(("1", practice))), group)
    return Case(f"{practice.id} of U{group}, {practice.areas} areas, keepers {practice.keepers}", Space(), club,
                attendance=anybody, slots=lambda slot: slot.date == MONDAY and slot.start == FIVE)  # fmt: skip


def strip(zones: int, **changes: object) -> dict[str, object]:
    """One pitch of so many zones of 800 m2 each."""
    pitch = Pitch(id="North", site="Marsh Lane", zones=zones, length=40 * zones, width=20,
                  openings=hours(FIVE, FIVE + 60))  # fmt: skip
    return {"pitches": (pitch,), **changes}


PASSING, TURNING, ALL = (Practice(id=name, kind=Kind.TOGETHER, rpe=4) for name in ("Passing", "Turning", "All"))
ROOMY_PASSING = PASSING.model_copy(update={"m2_least": 400.0})
ROOMY_ALL = ALL.model_copy(update={"m2_least": 500.0})
ONE_EVENING = {"attendance": anybody, "slots": lambda slot: slot.date == MONDAY and slot.start == FIVE}

ROOM = (
    room_for(4, a_game(1, 1, keepers=0, areas=2)),
    room_for(4, a_game(1, 1, keepers=None)),
    room_for(4, a_game(1, 2, keepers=None), group=7),
    room_for(4, a_game(1, 1, keepers=None), group=8),
    room_for(4, a_part(keepers=0, areas=2)),
    room_for(3, a_part(keepers=None)),
    room_for(3, a_part(keepers=None), group=7),
    # one of two stations has one of two zones, 800 m2, room for two; both groups are at it in turn, so four may come
    Case("stations side by side", Space(), tiny(players=5, **strip(2, **blocks(("1", ROOMY_PASSING), ("1", TURNING)))),
         **ONE_EVENING),
    # all together after stations: 1600 m2 have room for three
    Case("all together after stations", Space(),
         tiny(players=4, **strip(2, **blocks(("1", PASSING), ("1", TURNING), ("2", ROOMY_ALL)))), **ONE_EVENING),
)  # fmt: skip


def needs(name: str, players: int, *rows: tuple[str, Practice], group: int = 13, **changes: object) -> Case:
    """A session plan whose least number is one less than the children of the team."""
    club = under(tiny(players=players, **{**blocks(*rows), **changes}), group)
    return Case(name, EnoughToPlay(), club, **ONE_EVENING)  # type: ignore[arg-type]


def with_limits(case: Case, number: int, limits: Limits) -> Case:
    """The case with one child (by number) under limits of its own."""
    players = list(case.club.players)
    players[number] = players[number].model_copy(update={"limits": limits})
    return replace(case, club=case.club.model_copy(update={"players": tuple(players)}))


def only_the_first_session(club: Club) -> Club:
    return club.model_copy(update={"sessions": club.sessions[:1]})


GAME_OF_TWO = a_game(1, 2)
ON_TUESDAY = Occurs(days=frozenset({1}))


def early(slot: Slot) -> bool:
    return slot.start == FIVE and slot.date.weekday() < 2


ENOUGH = (
    needs("one child will do for a warm-up", 2, ("1", TOGETHER)),
    needs("areas of a part", 5, ("1", a_part(areas=2))),
    needs("areas of a game", 5, ("1", a_game(1, 2, areas=2))),
    needs("a keeper in a part", 4, ("1", a_part(keepers=None))),
    needs("a keeper in a part of U7", 4, ("1", a_part(keepers=None)), group=7),
    needs("no keepers in a game of U7", 3, ("1", a_game(1, 2, keepers=None)), group=7),
    needs("keepers in a game of U8", 5, ("1", a_game(1, 2, keepers=None)), group=8),
    needs("the fullest block first", 4, ("1", a_part(keepers=1)), ("2", GAME_OF_TWO)),
    needs("stations side by side", 5, ("1", GAME_OF_TWO), ("1", a_part())),
    # the child without headers is out of the whole hour: missed on Monday, not on Tuesday, when the child is away
    with_limits(replace(needs("whoever may not play could still come", 2, ("1", a_game(1, 2, headers_a_rep=1)),
                              plans=(PlanRow(plan="Evening", block="1", practice="Game", minutes=60),),
                              absences=away(("Herons Ivo",), ON_TUESDAY)), slots=early), 0, Limits(no_heading=True)),
    Case("guests do not help", EnoughToPlay(), only_the_first_session(with_players(
        tiny(teams=2, players=2, **blocks(("1", GAME_OF_TWO))), 2, also_plays_for=("Herons",))), **ONE_EVENING),
    Case("the youngest of two teams", EnoughToPlay(),
         under(only_the_first_session(tiny(teams=2, players=2, **blocks(("1", a_game(1, 2, keepers=None)))).model_copy(
             update={"sessions": tuple(ask.model_copy(update={"teams": ("Herons", "Kites")}) for ask in
                                       tiny(teams=2, players=2).sessions)})), 8, 7), **ONE_EVENING),
)  # fmt: skip


def goals(name: str, *rows: tuple[str, Practice], who: str = "", attend: Attend = anybody,
          slots: Callable[[Slot], bool] = early,
          **changes: object) -> Case:  # fmt: skip
    """Keepers for goals: what each child said, a letter each (r egular, w illing, n o, - not asked)."""
    club = tiny(players=len(who), **{**blocks(*rows), **changes})
    players = tuple(child.model_copy(update={"keeper": SAID[letter]})
                    for child, letter in zip(club.players, who, strict=True))  # fmt: skip
    return Case(name, EnoughToPlay(), club.model_copy(update={"players": players}), attendance=attend, slots=slots)


def everyone(case: Case) -> Case:
    """The case in a team where everyone takes a turn in goal."""
    teams = tuple(team.model_copy(update={"keepers": KeeperPolicy.EVERYONE}) for team in case.club.teams)
    return replace(case, club=case.club.model_copy(update={"teams": teams}))


SAID = {"r": KeeperWish.REGULAR, "w": KeeperWish.WILLING, "n": KeeperWish.NO, "-": KeeperWish.NOT_ASKED}
NO_ONE = a_part(keepers=1, attackers=Sizes(0, 1, 1), defenders=Sizes(0, 1, 1))  # one goal, nobody else is needed
NO_GAME = a_game(0, 2, keepers=1)
KEEPERS = (
    goals("a keeper away on one day", ("1", NO_ONE), who="r-", absences=away(("Herons Ivo",), ON_TUESDAY)),
    goals("the willing and the regular alike, no and not asked are none", ("1", NO_ONE), who="rwn-"),
    everyone(goals("everyone but who said no", ("1", NO_ONE), who="wn-")),
    goals("two goals of a game", ("1", NO_GAME), who="rw-"),
    goals("a goal in each area", ("1", a_part(keepers=1, areas=2, attackers=Sizes(0, 1, 1), defenders=Sizes(0, 1, 1))),
          who="rw-"),
    goals("goals at two stations at once", ("1", NO_ONE), ("1", NO_ONE.model_copy(update={"id": "Other end"})),
          who="rw-"),
    goals("goals in one block after the other", ("1", NO_ONE), ("2", NO_ONE), who="rw-"),
    # the second block begins at 17:15: whoever comes by then can keep, a minute later not
    *(goals(f"a keeper {late} minutes late", ("1", PASSING), ("2", NO_ONE), who="r-",
            absences=away(("Herons Ivo",), ON_TUESDAY, FIVE, FIVE + late)) for late in (15, 16)),
    # the second of two reps is over at 17:20, 40 minutes before the end
    goals("minutes cut off the end of a rep", ("1", NO_ONE), who="rw", attend=with_cuts(0, 40, 41, None),
          plans=(PlanRow(plan="Evening", block="1", practice="Part", minutes=25),),
          slots=lambda slot: slot.date == MONDAY and slot.start == FIVE),
    # red heat on Tuesday ends a session after an hour: when the rep begins at 17:55, or just when it is over
    *(goals(f"a goal after {minutes} minutes in red heat", ("1", PASSING), ("2", NO_ONE), who="r-",
            plans=(PlanRow(plan="Evening", block="1", practice="Passing", minutes=minutes),
                   PlanRow(plan="Evening", block="2", practice="Part", minutes=20)),
            weather=(Weather(site="Marsh Lane", date=MONDAY + dt.timedelta(days=1), wbgt_f=91.0),), minutes=75)
      for minutes in (50, 51)),
)  # fmt: skip

CASES = (*LOAD, *ROOM, *ENOUGH, *KEEPERS)
