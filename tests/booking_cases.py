"""Tiny clubs in which every booking can be tried, for the rules about places, adults, kit and one child's days."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from constraints.age_phase_load import AgePhaseLoad
from constraints.asked_times import AskedTimes
from constraints.coach_cover import CoachCover
from constraints.daylight import Daylight
from constraints.enough_to_play import EnoughToPlay
from constraints.kit import Kit
from constraints.match_recovery import MatchRecovery
from constraints.one_place_at_once import OnePlaceAtOnce
from constraints.pitch_bookings import PitchBookings
from constraints.space import Space
from scheduler.booking.slots import Slot
from scheduler.club.club import Club
from scheduler.club.people import Absence, AfterMatch, Coach, Elsewhere, Match
from scheduler.club.places import Booked, KitItem, Opening, Pitch, Site
from scheduler.club.programme import Contact, HeldAt, Kind, KitNeed, PlanRow, Practice, SessionAsk, Sizes
from scheduler.club.when import Occurs, Span
from scheduler.contract import BookingRule
from tests.bookings import Attendance, any_coaches, anybody, everybody, own_coaches, with_cuts
from tests.clubs import MONDAY, a_club, an_age_row, some_players

TUESDAY, SUNDAY = MONDAY + dt.timedelta(days=1), MONDAY + dt.timedelta(days=6)
FIVE = 17 * 60
TOGETHER = Practice(id="Warm-up", kind=Kind.TOGETHER, rpe=4, kit_per_player=(KitNeed("ball", 1),))
HARD = Practice(id="Tackling", kind=Kind.TOGETHER, rpe=8, contact=Contact.HARD)
PLAN = (PlanRow(plan="Evening", block="1", practice=TOGETHER.id, minutes=60),)


def hours(first: int, last: int, **changes: object) -> tuple[Opening, ...]:
    return (Opening(span=Span(first, last), **changes),)  # type: ignore[arg-type]


def tiny(teams: int = 1, players: int = 1, sessions: int = 1, minutes: int = 60, zones: int | None = None,
         asks: tuple[SessionAsk, ...] | None = None, **changes: object) -> Club:  # fmt: skip
    """One pitch of one zone open from 17:00 to 18:00, starts on the hour, sessions of an hour without roles."""
    base: dict[str, object] = {
        "step": 60,
        "pitches": (Pitch(id="North", site="Marsh Lane", zones=1, openings=hours(FIVE, FIVE + 60)),),
        "practices": (TOGETHER, HARD),
        "plans": PLAN,
    }
    club = a_club(teams=teams, players=players, sessions=sessions, **{**base, **changes})
    if asks is None:
        asks = tuple(ask.model_copy(update={"minutes": minutes, "zones": zones}) for ask in club.sessions)
    return club.model_copy(update={"sessions": asks})


def on_days(*days: int) -> Callable[[Slot], bool]:
    """Only slots on these weekdays are tried."""
    return lambda slot: slot.date.weekday() in days


@dataclass(frozen=True)
class Case:
    """A tiny club that can tell a rule from no rule, and the choices to enumerate."""

    name: str
    rule: BookingRule
    club: Club
    adults: Callable[[Club, str], list[tuple[str, ...]]] = own_coaches
    attendance: Callable[[Club, str], list[Attendance]] = everybody
    slots: Callable[[Slot], bool] = lambda slot: True


def two_pitches(**changes: object) -> tuple[Pitch, ...]:
    return (
        Pitch(id="North", site="Marsh Lane", zones=2, openings=hours(FIVE, FIVE + 120)),
        Pitch(id="Cross", site="Marsh Lane", zones=1, lies_on="North", openings=hours(FIVE, FIVE + 120)),
    )


def a_double(club: Club, number: int = 0) -> Club:
    """The child of this number also plays for the second team."""
    players = list(club.players)
    players[number] = players[number].model_copy(update={"also_plays_for": (club.teams[1].id,)})
    return club.model_copy(update={"players": tuple(players)})


def coaches(*rows: Coach) -> tuple[Coach, ...]:
    return rows


def a_coach(key: str, **changes: object) -> Coach:
    base: dict[str, object] = {"id": key, "name": key, "first_aid_until": dt.date(2027, 1, 1),
                               "checked_until": dt.date(2027, 1, 1)}  # fmt: skip
    return Coach(**{**base, **changes})  # type: ignore[arg-type]


def with_first_aider(club: Club, session: str) -> list[tuple[str, ...]]:
    """The team's own, who are no first aiders in Kites, or those and the one first aider of the club."""
    own = own_coaches(club, session)[0]
    return [own] if "coach Herons 1" in own else [own, ("coach Herons 1", *own)]


def beside(*days: int) -> tuple[Elsewhere, ...]:
    """Half an hour of sport elsewhere on days counted from the Monday."""
    return tuple(Elsewhere(player="Herons Ivo", date=MONDAY + dt.timedelta(days=n), minutes=30) for n in days)


def lying(*rows: tuple[str, str, int]) -> tuple[KitItem, ...]:
    return tuple(KitItem(item=item, site=site, count=count) for item, site, count in rows)


def away(who: tuple[str, ...], occurs: Occurs, first: int = 0, last: int = 24 * 60) -> tuple[Absence, ...]:
    return (Absence(who=who, occurs=occurs, span=Span(first, last)),)


def with_plans(club: Club, *practices: Practice) -> Club:
    """The club's sessions with a plan of their own each, an hour of one practice."""
    rows = tuple(PlanRow(plan=one.id, block="1", practice=one.id, minutes=60) for one in practices)
    asks = tuple(ask.model_copy(update={"plan": one.id}) for ask, one in zip(club.sessions, practices, strict=True))
    return club.model_copy(update={"plans": rows, "sessions": asks})


DUBLIN = Site(id="Marsh Lane", latitude=53.35, longitude=-6.26)
LATE = Span(FIVE + 60, FIVE + 120)
BORN_8, BORN_13 = dt.date(2018, 5, 1), dt.date(2013, 5, 1)
TWO_SITES = (Site(id="Marsh Lane", minutes_between=20), Site(id="Mill Road"))
TWO_GROUNDS = (
    Pitch(id="North", site="Marsh Lane", zones=1, openings=hours(FIVE, FIVE + 120)),
    Pitch(id="Mill", site="Mill Road", zones=1, openings=hours(FIVE, FIVE + 120)),
)
SPARSE = {"first_aid_until": None}
BIBS = Practice(id="Warm-up", kind=Kind.TOGETHER, rpe=4, kit_per_player=(KitNeed("bib", 1),))
GREEN = Practice(id="Green", kind=Kind.TOGETHER, rpe=4, kit_per_player=(KitNeed("bib green", 1),))
BALLS = Practice(id="Passing", kind=Kind.TOGETHER, rpe=4, kit_per_player=(KitNeed("ball", 1),))
MARKERS = Practice(id="Grids", kind=Kind.TOGETHER, rpe=4, areas=2, kit_per_area=(KitNeed("marker", 2),))
SIDE_BY_SIDE = tuple(PlanRow(plan="Evening", block="1", practice=p.id, minutes=60) for p in (BALLS, MARKERS))
WIDE = Practice(id="Warm-up", kind=Kind.TOGETHER, rpe=4, m2_least=300.0)
MIXED = tuple(p for born, n in ((BORN_8, 1), (BORN_13, 3)) for p in some_players("Herons", n, 0, n, born))
GAME = Practice(id="Warm-up", kind=Kind.GAME, attackers=Sizes(1, 2, 3), keepers=0, rep=10, rpe=5)
MATCH = Match(team="Herons", date=MONDAY + dt.timedelta(days=2), kick_off=600, minutes=40)

CASES = (
    Case("zones", PitchBookings(), tiny(teams=2, zones=1, pitches=two_pitches()), slots=on_days(0, 1)),
    Case("gap, set-up and pack-up", PitchBookings(),
         tiny(teams=2, gap=25, set_up=10, pack_up=10, step=15, minutes=30,
              pitches=(Pitch(id="North", site="Marsh Lane", zones=1, openings=hours(FIVE, FIVE + 130)),)),
         # 17:15 to 17:45 and 18:30 to 19:00 just fit: 10 + 30 + 10, the gap of 25, 10 + 30 + 10, from 17:05 to 19:10
         slots=on_days(0)),
    Case("others on the ground", PitchBookings(),
         tiny(zones=1, pitches=two_pitches(),
              matches=(Match(team="Herons", date=MONDAY, kick_off=FIVE + 60, minutes=30, pitch="Cross"),
                       Match(team="Herons", date=TUESDAY, kick_off=FIVE + 60, minutes=30, pitch="North", zones=(1,),
                             zones_span=Span(FIVE, FIVE + 30))),
              booked=(Booked(pitch="North", zones=(2,), occurs=Occurs(days=frozenset({1})), span=LATE),))),
    Case("set-up and pack-up beside others", PitchBookings(),
         # 17:15 to 17:45 needs 17:05 to 17:55, the ground is the club's from 17:05 to 17:55 and no minute longer
         tiny(set_up=10, pack_up=10, step=5, minutes=30, booked=(
             Booked(pitch="North", occurs=Occurs(days=frozenset({0})), span=Span(FIVE, FIVE + 5)),
             Booked(pitch="North", occurs=Occurs(days=frozenset({0})), span=Span(FIVE + 55, FIVE + 60)))),
         slots=on_days(0)),
    Case("others on the ground to the minute", PitchBookings(),
         # 10 minutes before and after 30: between 17:05 and 17:55 there is room for just one start, at 17:15
         tiny(set_up=10, pack_up=10, step=1, minutes=30, pitches=(
             Pitch(id="North", site="Marsh Lane", zones=1, openings=hours(FIVE - 30, FIVE + 90)),), booked=(
             Booked(pitch="North", occurs=Occurs(days=frozenset({0})), span=Span(FIVE - 30, FIVE + 5)),
             Booked(pitch="North", occurs=Occurs(days=frozenset({0})), span=Span(FIVE + 55, FIVE + 90)))),
         slots=on_days(0)),
    Case("pack-up alone between two sessions", PitchBookings(),
         # 30 minutes and 10 to pack up: the second may start 40 minutes after the first, not 35
         tiny(teams=2, pack_up=10, step=5, minutes=30,
              pitches=(Pitch(id="North", site="Marsh Lane", zones=1, openings=hours(FIVE, FIVE + 80)),)),
         slots=on_days(0)),
    Case("opening hours to the minute", PitchBookings(),
         # from 17:10 to 17:40, ten minutes before and after: open from 17:00 to 17:50 is just enough
         tiny(set_up=10, pack_up=10, step=1, minutes=30, pitches=(
             Pitch(id="North", site="Marsh Lane", zones=1, openings=hours(FIVE, FIVE + 50)),)),
         slots=on_days(0)),
    Case("asked", AskedTimes(),
         tiny(asks=(SessionAsk(id="Herons 1", teams=("Herons",), plan="Evening", minutes=60, zones=1,
                                   days=frozenset({0, 1}), earliest=FIVE, latest=FIVE + 120, pitches=("North",)),
                        SessionAsk(id="Herons 2", teams=("Herons",), plan="Evening", minutes=60, zones=1,
                                   held_at=HeldAt(1, None, "North", (2,)))),
              pitches=two_pitches()),
         slots=on_days(0, 1, 2)),
    Case("asked for a site and a time", AskedTimes(),
         tiny(asks=(SessionAsk(id="Herons 1", teams=("Herons",), plan="Evening", minutes=60, sites=("Mill Road",)),
                    SessionAsk(id="Herons 2", teams=("Herons",), plan="Evening", minutes=60,
                               held_at=HeldAt(None, FIVE + 60, None, ()))),
              pitches=TWO_GROUNDS, sites=TWO_SITES),
         slots=on_days(0)),
    Case("dark", Daylight(),
         # civil dusk in Dublin on that Monday comes at 20:36, and every minute around it is tried
         tiny(step=1, minutes=30, sites=(DUBLIN, Site(id="Nowhere")), pitches=(
             Pitch(id="North", site="Marsh Lane", openings=hours(19 * 60, 21 * 60, lit=False)),
             Pitch(id="Lamps", site="Marsh Lane", openings=hours(19 * 60, 21 * 60, lights_out=20 * 60 + 39)),
             Pitch(id="Early lamps", site="Marsh Lane", openings=hours(19 * 60, 21 * 60, lights_out=20 * 60 + 33)),
             Pitch(id="Unknown", site="Nowhere", openings=hours(19 * 60, 21 * 60, lit=False)),
         )),
         slots=lambda slot: slot.date == MONDAY and 20 * 60 + 31 <= slot.end <= 20 * 60 + 41),
    Case("dark in one row and lit in another", Daylight(),
         # the lit row is open from 20:00 to 21:00: with set-up and pack-up only 20:10 to 20:50 lies in it
         tiny(step=5, minutes=40, set_up=10, pack_up=10, pitches=(
             Pitch(id="North", site="Marsh Lane", openings=(*hours(19 * 60, 23 * 60, lit=False),
                                                            *hours(20 * 60, 21 * 60))),)),
         slots=lambda slot: slot.date == MONDAY),
    Case("who and how many", CoachCover(),
         tiny(teams=1, coaches=coaches(
             a_coach("coach Herons 1", checked_until=TUESDAY),
             a_coach("coach Herons 2", available=((frozenset({0, 1}), Span(FIVE, FIVE + 60)),), helper_only=True),
             a_coach("helper")),
             absences=away(("helper",), Occurs(date=MONDAY), 0, FIVE)),
         adults=any_coaches),
    Case("players per adult", CoachCover(),
         tiny(players=4, coaches=coaches(*(a_coach(key) for key in ("coach Herons 1", "coach Herons 2", "c", "d"))),
              blank=frozenset({"Coaches.First aid until"}),
              ages=(an_age_row(to_age=8, players_per_adult=1), an_age_row(from_age=9, players_per_adult=2))
              ).model_copy(update={"players": MIXED}),
         adults=any_coaches, attendance=anybody, slots=lambda slot: slot.date == MONDAY and slot.start == FIVE),
    Case("older ones need more", CoachCover(),
         tiny(players=4, coaches=coaches(*(a_coach(key) for key in ("coach Herons 1", "coach Herons 2", "c", "d"))),
              blank=frozenset({"Coaches.First aid until"}),
              ages=(an_age_row(to_age=9, players_per_adult=2), an_age_row(from_age=10, players_per_adult=1))
              ).model_copy(update={"players": MIXED}),
         adults=any_coaches, attendance=anybody, slots=lambda slot: slot.date == MONDAY and slot.start == FIVE),
    Case("as many adults as Coaches needed", CoachCover(),
         tiny(asks=(SessionAsk(id="Herons 1", teams=("Herons",), plan="Evening", minutes=60, coaches_needed=3),),
              coaches=coaches(*(a_coach(key) for key in ("coach Herons 1", "coach Herons 2", "c", "d")))),
         adults=any_coaches, slots=lambda slot: slot.date == MONDAY and slot.start == FIVE),
    Case("an adult at each of three stations", CoachCover(),
         tiny(practices=(BALLS, MARKERS, HARD),
              plans=(*SIDE_BY_SIDE, PlanRow(plan="Evening", block="1", practice=HARD.id, minutes=60)),
              coaches=coaches(*(a_coach(key) for key in ("coach Herons 1", "coach Herons 2", "c", "d")))),
         adults=any_coaches, slots=lambda slot: slot.date == MONDAY and slot.start == FIVE),
    Case("keeper coach", CoachCover(),
         tiny(asks=(SessionAsk(id="Herons 1", teams=("Herons",), plan="Evening", minutes=60, needs_keeper_coach=True),),
              coaches=coaches(a_coach("coach Herons 1"), a_coach("coach Herons 2"), a_coach("c", keeper_coach=True))),
         adults=any_coaches, slots=on_days(0)),
    Case("one place and first aid", CoachCover(),
         tiny(teams=2, step=30, sites=TWO_SITES, pitches=TWO_GROUNDS,
              coaches=coaches(a_coach("coach Herons 1"), a_coach("coach Herons 2", **SPARSE),
                              a_coach("coach Kites 1", **SPARSE), a_coach("coach Kites 2", **SPARSE))),
         adults=with_first_aider,
         slots=on_days(0)),
    Case("balls", Kit(),
         tiny(teams=2, players=2, step=30, pitches=TWO_GROUNDS, sites=TWO_SITES,
              kit=lying(("ball size 4", "Marsh Lane", 3), ("ball size 4", "Mill Road", 1))),
         attendance=anybody, slots=on_days(0)),
    Case("bibs of any name", Kit(),
         tiny(teams=2, players=3, step=30, practices=(BIBS,),
              plans=(PlanRow(plan="Evening", block="1", practice="Warm-up", minutes=45),),
              kit=lying(("bib green", "Marsh Lane", 2), ("bib", "Marsh Lane", 1))),
         attendance=anybody, slots=on_days(0)),
    Case("bibs of one name beside bibs of any", Kit(),
         # two green and two others for two sides of at most two: at one time only without a child of either team
         with_plans(tiny(teams=2, players=3, step=30, practices=(BIBS, GREEN), pitches=TWO_GROUNDS,
                         sites=(Site(id="Marsh Lane"), Site(id="Mill Road")),
                         kit=lying(("bib green", "Marsh Lane", 2), ("bib", "Marsh Lane", 1), ("bib", "Mill Road", 9),
                                   ("bib green", "Mill Road", 1))),
                    BIBS, GREEN),
         attendance=anybody, slots=lambda slot: slot.date == MONDAY and slot.start in (FIVE, FIVE + 60)),
    Case("stations, areas, ages, and a day on which something is missing", Kit(),
         # U13 are 12 at most: balls of size 4, of which the larger group of three needs two; two areas of two markers
         tiny(players=3, practices=(BALLS, MARKERS), plans=SIDE_BY_SIDE,
              ages=(an_age_row(from_age=13, ball="ball size 5"), an_age_row(to_age=12)),
              kit=(*lying(("ball size 4", "Marsh Lane", 1)),
                   KitItem(item="marker", site="Marsh Lane", count=4, missing=((TUESDAY, 1),)))),
         attendance=anybody, slots=lambda slot: slot.start == FIVE and slot.date.weekday() < 2),
    Case("no way between sites is asked for", OnePlaceAtOnce(),
         a_double(tiny(teams=2, players=1, step=30, pitches=TWO_GROUNDS, sites=TWO_SITES)),
         attendance=anybody, slots=lambda slot: slot.date == MONDAY and FIVE <= slot.start <= FIVE + 60),
    Case("one place at once", OnePlaceAtOnce(), a_double(tiny(teams=2, players=1, step=30)),
         attendance=anybody, slots=on_days(0, 1)),
    Case("away", OnePlaceAtOnce(),
         a_double(tiny(teams=2, players=1, step=30,
                       absences=away(("Herons Ivo",), Occurs(days=frozenset({0})), FIVE, FIVE + 60))),
         attendance=anybody, slots=on_days(0)),
    Case("once a day", AgePhaseLoad(), a_double(tiny(teams=2, players=1, sessions=1)), attendance=anybody,
         slots=on_days(0, 1, 2)),
    Case("sessions a week", AgePhaseLoad(), tiny(players=2, sessions=3, ages=(an_age_row(sessions_a_week=2),)),
         attendance=anybody, slots=lambda slot: slot.start == FIVE and slot.date.weekday() in (0, 2, 4)),
    Case("week minutes", AgePhaseLoad(),
         tiny(players=1, sessions=2, ages=(an_age_row(week_minutes=130),),
              elsewhere=(Elsewhere(player="Herons Ivo", date=SUNDAY, minutes=40),)),
         attendance=with_cuts(0, 29, 30, 31, None), slots=lambda slot: slot.start == FIVE),
    Case("week load", AgePhaseLoad(),
         tiny(players=1, sessions=2, ages=(an_age_row(week_load=601),),
              plans=(PlanRow(plan="Evening", block="1", practice=TOGETHER.id, minutes=30),
                     PlanRow(plan="Evening", block="2", practice=HARD.id, minutes=30)),
              elsewhere=(Elsewhere(player="Herons Ivo", date=SUNDAY, minutes=20, rpe=2),)),
         # a session is 30 x 4 + 30 x 8 = 360; 561 are left, so 159 must go: 20 minutes of 8 are 160, 19 are 152
         attendance=with_cuts(0, 19, 20, 35, None), slots=lambda slot: slot.start == FIVE and slot.date.weekday() < 3),
    Case("rest days", AgePhaseLoad(),
         tiny(players=1, sessions=2, ages=(an_age_row(rest_days=3, days_in_a_row=7),),
              elsewhere=beside(0, 2, 4)),
         attendance=anybody, slots=lambda slot: slot.start == FIVE),
    Case("days in a row", AgePhaseLoad(),
         tiny(players=1, sessions=2, ages=(an_age_row(rest_days=0, days_in_a_row=2),),
              elsewhere=beside(-1, 3, 7)),
         attendance=anybody, slots=lambda slot: slot.start == FIVE),
    Case("finish by", AgePhaseLoad(),
         tiny(players=2, step=10, minutes=60, ages=(an_age_row(finish_by=FIVE + 50),),
              absences=away(("Herons Noor",), Occurs(date=MONDAY), FIVE + 50)),
         attendance=with_cuts(0, 10, None), slots=on_days(0, 1)),
    Case("around matches", MatchRecovery(),
         tiny(players=1, sessions=2, matches=(MATCH, MATCH.model_copy(update={"date": MONDAY - dt.timedelta(days=1)}),
                                              MATCH.model_copy(update={"date": SUNDAY, "minutes": 0}))),
         attendance=anybody, slots=lambda slot: slot.start == FIVE),
    Case("only some rest after a match", MatchRecovery(),
         tiny(ages=(an_age_row(to_age=8, after_match=AfterMatch.ANY), an_age_row(from_age=9)), matches=(MATCH,)
              ).model_copy(update={"players": MIXED[:2]}),
         attendance=anybody, slots=lambda slot: slot.start == FIVE),
    Case("no contact after a match", MatchRecovery(),
         tiny(players=2, ages=(an_age_row(after_match=AfterMatch.NO_CONTACT),), matches=(MATCH,)), attendance=anybody),
    Case("enough to play", EnoughToPlay(),
         tiny(players=4, practices=(GAME,),
              absences=away(("Herons Ivo", "Herons Noor", "Herons Tara"), Occurs(date=TUESDAY))),
         attendance=anybody, slots=lambda slot: slot.start == FIVE and slot.date.weekday() < 3),
    Case("metres a player", Space(),
         tiny(players=4, zones=1, practices=(WIDE,), pitches=(
             Pitch(id="North", site="Marsh Lane", zones=3, length=60, width=40, openings=hours(FIVE, FIVE + 60)),
             Pitch(id="South", site="Marsh Lane", zones=2, length=60, width=40, openings=hours(FIVE, FIVE + 60)))),
         # a zone of North is 800 m2, two players' worth; a zone of South 1200, just four
         attendance=anybody, slots=lambda slot: slot.start == FIVE and slot.date.weekday() < 2),
)  # fmt: skip
