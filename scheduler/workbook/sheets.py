"""The one table of sheets and columns: reader, blank workbook, JSON Schema and messages all follow it."""

from __future__ import annotations

import datetime as dt
from typing import Any

from scheduler.workbook.columns import Column, Kind, Need, Sheet

_K = Kind
_YES_NO = ("yes", "no")


def _must(heading: str, kind: Kind, note: str, example: object = None, **more: Any) -> Column:
    return Column(heading, kind, Need.MUST, note, example, **more)


def _may(heading: str, kind: Kind, note: str, example: object = None, **more: Any) -> Column:
    return Column(heading, kind, Need.MAY, note, example, **more)


def _together(heading: str, kind: Kind, note: str, example: object = None, **more: Any) -> Column:
    return Column(heading, kind, Need.TOGETHER, note, example, **more)


CLUB = Sheet("Club", "One line a field.", (
    _must("Name", _K.TEXT, "The club's name, as printed.", "Marsh Lane Youth", wide=24),
    _must("Week", _K.DATE, "The Monday of the week to plan.", dt.date(2026, 9, 7)),
    _may("Time zone", _K.TEXT, "Area/City as in the IANA list, such as Europe/Dublin. Needed for daylight.",
         "Europe/Dublin", wide=18),
    _may("Step", _K.WHOLE, "Sessions start on this grid, minutes. Blank: 15.", 15, least=1, most=120),
    _may("Gap", _K.WHOLE, "Minutes kept free between sessions on one zone. Blank: 0.", 0, least=0, most=240),
    _may("Set-up", _K.WHOLE, "Minutes the zones are needed before a session. Blank: 0.", 0, least=0, most=120),
    _may("Pack-up", _K.WHOLE, "Minutes the zones are needed after a session. Blank: 0.", 0, least=0, most=120),
    _may("RPE scale", _K.CHOICE, "Scale of perceived exertion: 0-10 or 6-20. Blank: 0-10.", "0-10",
         choices=("0-10", "6-20")),
    _may("Rule set", _K.TEXT, "Published sets shown beside the Ages sheet. Blank: NATA 2019, AAP 2024, U.S. Soccer, "
         "NSPCC, UK grassroots; several separated by ;", "NATA 2019; NSPCC", wide=24),
    _may("Heat category", _K.WHOLE, "Summers: 1 cool, 2 warm, 3 hot, by which the WBGT bands differ. Blank: 3 (1 and 2 "
         "are stricter, and from memory).", 3, least=1, most=3),
    _may("Wake", _K.TIME, "When children get up, for enough sleep after a session. Blank: 07:00.", dt.time(7, 0)),
    _may("Way home", _K.WHOLE, "Minutes from the end of a session to being home. Blank: 30.", 30, least=0, most=240),
    _may("Wind-down", _K.WHOLE, "Minutes from being home to being asleep. Blank: 60.", 60, least=0, most=240),
), required=True, upright=True)  # fmt: skip

SITES = Sheet("Sites", "Places with one or more pitches. Blank: one site, named by the Pitches sheet.", (
    _must("Site", _K.TEXT, "A name of your own.", "Marsh Lane", wide=18),
    _may("Latitude", _K.NUMBER, "Degrees, south negative. Needed where a pitch is not lit.", 53.35, least=-90, most=90),
    _may("Longitude", _K.NUMBER, "Degrees, west negative. Needed where a pitch is not lit.", -6.26,
         least=-180, most=180),
    _may("Minutes between", _K.WHOLE, "Travel minutes from here to any other site.", 15, least=0, most=600),
    _may("Help address", _K.TEXT, "What to tell an ambulance: address and gate.", "Marsh Lane, north gate", wide=24),
    _may("Defibrillator", _K.TEXT, "Where the defibrillator hangs.", "Clubhouse porch", wide=18),
))  # fmt: skip

PITCHES = Sheet("Pitches", "Marked fields. Several rows of one pitch give different hours on different days.", (
    _must("Pitch", _K.TEXT, "A name of your own.", "North", wide=16),
    _may("Site", _K.TEXT, "One of the Sites. Blank: the only site, or one named after the club.", "Marsh Lane",
         refers=("Sites",), wide=18),
    _may("Zones", _K.WHOLE, "Equal strips along the length, 1 to 6. Blank: 3.", 3, least=1, most=6),
    _together("Length m", _K.NUMBER, "Metres. Needed for room per player.", 90, least=5, most=200),
    _together("Width m", _K.NUMBER, "Metres. Needed for room per player.", 55, least=5, most=150),
    _may("Surface", _K.TEXT, "Grass, artificial, hall ...", "grass"),
    _must("Lit", _K.LIT, "yes, no, or the time the lights go out (21:00). Not lit: sessions end by civil dusk.", "yes"),
    _must("From", _K.TIME, "Opens at.", dt.time(17, 0)),
    _must("To", _K.TIME, "Closes at; 24:00 is midnight.", dt.time(21, 0)),
    _may("Days", _K.DAYS, "Days this row holds for: Mon; Wed-Fri. Blank: every day.", "Mon-Fri"),
    _may("Quality", _K.WHOLE, "1 poor to 5 excellent; good pitches are shared out.", 4, least=1, most=5,
         also=("Quality 1-5",)),
    _may("Lies on", _K.TEXT, "A pitch marked over this one: using one blocks the other.", refers=("Pitches",)),
    _may("Goals at", _K.TEXT, "Where goals stand: both ends, zone 1 ...", "both ends"),
), required=True)  # fmt: skip

BOOKED = Sheet("Booked", "Whatever keeps the club off a pitch: hirers, maintenance, closures.", (
    _must("Pitch", _K.TEXT, "One of the Pitches.", "North", refers=("Pitches",), wide=16),
    _may("Zones", _K.ZONES, "Zone numbers: 1; 2. Blank: the whole pitch.", "1; 2"),
    _may("Date", _K.DATE_OR_DAYS, "The date, or the first date of a row that repeats.", dt.date(2026, 9, 9),
         also=("Date or Days", "Date or days (every week)")),
    _may("Days", _K.DAYS, "Days of every week: Mon; Wed-Fri.", "Wed"),
    _must("From", _K.TIME, "From.", dt.time(19, 0)),
    _must("To", _K.TIME, "Until.", dt.time(21, 0)),
    _may("By", _K.TEXT, "Who or what.", "hockey club", wide=18),
    _may("Until", _K.DATE, "Last date it holds.", dt.date(2026, 12, 16)),
    _may("Every", _K.WHOLE, "2: every other week, counted from Date. Blank: every week.", 1, least=1, most=52),
))  # fmt: skip

AGES = Sheet("Ages", "Limits by age: planning defaults, not medical advice; your association's rules come first.", (
    _must("Phase", _K.TEXT, "A name for the row.", "11 to 12"),
    _must("From age", _K.WHOLE, "Whole years on the Monday.", 11, least=0, most=99),
    _must("To age", _K.WHOLE, "Whole years on the Monday, this year included.", 12, least=0, most=99),
    _may("Session minutes", _K.WHOLE, "Longest session. Blank: no number given.", 90, least=0, most=600),
    _may("Sessions a week", _K.WHOLE, "Most sessions a week.", 3, least=0, most=21),
    _may("Week minutes", _K.WHOLE, "Most minutes a week, matches and Elsewhere included.", 660, least=0, most=6000),
    _may("Rest days", _K.WHOLE, "Least days a week without training or a match.", 2, least=0, most=7),
    _may("Days in a row", _K.WHOLE, "Most days in a row with training or a match.", 3, least=0, most=14),
    _may("Finish by", _K.TIME, "A session ends by then.", dt.time(20, 30)),
    _may("Week load", _K.WHOLE, "Most RPE x minutes a week.", least=0, most=100000),
    _may("Headers a week", _K.WHOLE, "Most headers planned in training.", 20, least=0, most=500),
    _may("Ball", _K.TEXT, "The Kit item that `ball` stands for at this age.", "ball size 4", refers=("Kit",)),
    _may("Goal", _K.TEXT, "The Kit item that `goal` stands for at this age.", "goal 5 x 2 m", refers=("Kit",)),
    _must("Players per adult", _K.WHOLE, "Children to one adult; never fewer than two adults.", 8, least=1, most=30),
    _may("After a match", _K.CHOICE, "The day after a match: rest, no contact, any. Blank: rest.", "rest",
         choices=("rest", "no contact", "any")),
    _must("Source", _K.TEXT, "Who says so, or `common practice, no source`.", "NSPCC ratios; common practice",
          wide=76),
))  # fmt: skip

TEAMS = Sheet("Teams", "Teams and who leads them.", (
    _must("Team", _K.TEXT, "A name of your own.", "Herons", wide=16),
    _must("Age group", _K.AGE_GROUP, "U14: everybody is under 14 at the cut-off.", "U12"),
    _must("Coaches", _K.LIST, "From the Coaches sheet, the leader first: Ana; Ben.", "Ana; Ben",
          refers=("Coaches",), wide=22),
    _may("Keepers", _K.CHOICE, "Who shares the goal: regulars, volunteers, everyone. Blank: everyone to U10, else "
         "volunteers.", "volunteers", choices=("regulars", "volunteers", "everyone")),
    _may("Keeper stays", _K.CHOICE, "How long one child keeps goal at a stretch: rep, block, session. Blank: block.",
         "block", choices=("rep", "block", "session")),
), required=True)  # fmt: skip

MATCHES = Sheet("Matches", "Fixtures; a home match keeps its zones.", (
    _must("Team", _K.TEXT, "One of the Teams.", "Herons", refers=("Teams",), wide=16),
    _must("Date", _K.DATE, "The day of the match.", dt.date(2026, 9, 12)),
    _must("Kick-off", _K.TIME, "Start.", dt.time(10, 0)),
    _must("Minutes", _K.WHOLE, "Minutes played.", 60, least=0, most=240),
    _may("Pitch", _K.TEXT, "Home matches: one of the Pitches.", "North", refers=("Pitches",)),
    _may("Zones", _K.ZONES, "Zones it keeps: 1; 2. Blank: the whole pitch.", "whole"),
    _may("RPE", _K.WHOLE, "Expected exertion on the club's scale.", 7, least=0, most=20),
    _may("Players", _K.LIST, "Who plays, from the Players sheet. Blank: the whole team.", refers=("Players",)),
    _may("Zones from", _K.TIME, "The zones are kept from then on. Blank: kick-off.", dt.time(9, 30)),
    _may("Zones to", _K.TIME, "The zones are kept until then. Blank: kick-off and minutes.", dt.time(11, 15)),
))  # fmt: skip

SESSIONS = Sheet("Sessions", "What each team wants in the week. Blank: each team twice a week, one zone, by age.", (
    _must("Session", _K.TEXT, "A name of your own.", "Herons Tuesday", wide=20),
    _must("Teams", _K.LIST, "One or more of the Teams: Herons; Kites.", "Herons", refers=("Teams",), wide=18),
    _may("Plan", _K.TEXT, "One of the Plans. Blank: by age.", "U11 and U12, 75 minutes", refers=("Plans",), wide=24),
    _may("Minutes", _K.WHOLE, "Length. Blank: as long as the plan.", 75, least=10, most=300),
    _may("Zones", _K.ZONE_COUNT, "Number of neighbouring zones, or whole. Blank: 1.", 1, least=1, most=6),
    _may("Days", _K.DAYS, "Allowed days: Mon; Wed-Fri. Blank: any.", "Mon-Thu"),
    _may("Wished days", _K.DAYS, "Days you would like.", "Tue"),
    _may("Earliest", _K.TIME, "Starts not before.", dt.time(17, 30)),
    _may("Latest", _K.TIME, "Ends not after.", dt.time(20, 0)),
    _may("Coaches needed", _K.WHOLE, "Adults in all. Blank: 2; the rules may ask for more.", 2, least=0, most=30),
    _may("Sites", _K.LIST, "Only at these Sites. Blank: any.", refers=("Sites",)),
    _may("Pitches", _K.LIST, "Only on these Pitches. Blank: any.", refers=("Pitches",)),
    _may("Held at", _K.TEXT, "Fixed by hand: Wed 18:00 North 1; 2, or any part of it.", wide=20),
    _may("Weeks", _K.DATES, "Weeks it is held: dates separated by ;. Blank: every week.", wide=20),
    _may("With", _K.LIST, "Guests of this session, from the Players sheet.", refers=("Players",)),
    _may("Without", _K.LIST, "Players of the teams left out of this session.", refers=("Players",)),
    _may("Needs", _K.CHOICE, "keeper coach: one of the adults is a keeper coach.", choices=("keeper coach",)),
    _may("Bibs stay", _K.CHOICE, "Sides kept for the whole session, or for a block only. Blank: session.", "session",
         choices=("session", "block")),
))  # fmt: skip

PLAYERS = Sheet("Players", "Children. Confidential: this file is for the head of coaching and the welfare officer.", (
    _may("Player", _K.TEXT, "Your own id. Blank: the name.", "P01"),
    _must("Name", _K.TEXT, "First name and family name.", "Ivo Kane", wide=22),
    _together("Born", _K.BORN, "Birth date, or only the year or 2014-05 (then read as youngest). Confidential.",
              dt.date(2014, 5, 17), private=True),
    _must("Team", _K.TEXT, "One of the Teams.", "Herons", refers=("Teams",), wide=16),
    _may("Also plays for", _K.LIST, "Further Teams.", refers=("Teams",)),
    _may("Keeper", _K.CHOICE, "regular, willing or no. Blank: not asked. Confidential.", "willing",
         choices=("regular", "willing", "no"), private=True),
    _may("Even-up", _K.CHOICE, "newer, settled or ahead: evens out the sides. Confidential.", "settled",
         choices=("newer", "settled", "ahead"), private=True),
    _may("Family", _K.TEXT, "The same word for brothers and sisters. Confidential.", "Kane", private=True),
    _may("Apart from", _K.LIST, "Players or coaches never put together with this child. Confidential.",
         refers=("Players", "Coaches"), private=True),
    _may("Limits", _K.LIMITS, "no contact; no heading; max 30 (minutes a session). Confidential.", "no heading; max 60",
         private=True, wide=22),
    _together("Months off", _K.WHOLE, "Months a year without football, for the published sets. Confidential.", 3,
              least=0, most=12, private=True),
    _may("Second team agreed", _K.YES_NO, "yes: the parents agreed to it in writing. Blank: no. Confidential.", "no",
         choices=_YES_NO, private=True),
    _may("Called", _K.TEXT, "Name on cards. Blank: the first name, with letters added where two are alike.", "Ivo"),
), required=True)  # fmt: skip

COACHES = Sheet("Coaches", "Adults of 18 or more; that they are is taken on trust. A younger helper is a player.", (
    _must("Coach", _K.TEXT, "Your own id.", "Ana", wide=16),
    _may("Name", _K.TEXT, "Name as printed. Blank: as in Coach.", "Ana Silva", wide=22),
    _may("Keeper coach", _K.YES_NO, "yes or no. Blank: no.", "no", choices=_YES_NO),
    _may("First aid until", _K.DATE, "Last day the first-aid certificate holds.", dt.date(2027, 12, 31)),
    _may("Checked until", _K.DATE, "Last day the background check holds. Once filled for anybody, an adult without "
         "it does not count as an adult.", dt.date(2027, 12, 31)),
    _may("Available", _K.HOURS, "Mon 17:00-20:30; Wed-Thu 18:00-21:00. Blank: whenever a pitch is open.",
         "Mon-Thu 17:00-21:00", wide=30),
    _may("Family", _K.TEXT, "The same word as the children of the family. Confidential.", "Kane", private=True),
    _may("Helper only", _K.YES_NO, "yes: counts as an adult, leads no team. Blank: no.", "no", choices=_YES_NO),
), required=True)  # fmt: skip

KIT = Sheet("Kit", "What lies where. Blank: kit is not checked.", (
    _must("Item", _K.TEXT, "A name of your own, as used in Practices.", "ball size 4", wide=18),
    _may("Site", _K.TEXT, "One of the Sites. Blank: the only site.", "Marsh Lane", refers=("Sites",), wide=18),
    _must("Count", _K.WHOLE, "How many.", 30, least=0, most=10000),
))  # fmt: skip

PRACTICES = Sheet("Practices", "Ways of playing.", (
    _must("Practice", _K.TEXT, "A name of your own.", "Four v two, both ends", wide=44),
    _must("Kind", _K.CHOICE, "together: everyone the same; game: two sides; part: attackers v defenders.", "part",
          choices=("together", "game", "part")),
    _may("Areas", _K.WHOLE, "Parts of the ground played in at once. Blank: 1.", 2, least=1, most=6),
    _may("Attackers", _K.SIZES, "An area (part), or outfield players a side (game): 4 (3 to 5), or 4.", "4 (3 to 5)"),
    _may("Defenders", _K.SIZES, "An area (part only): 2 (2 to 3).", "2 (2 to 3)"),
    _may("Keepers", _K.WHOLE, "An area (part) or a side (game): 0 or 1. Blank: 1; games to U7: 0.", 1, least=0, most=1),
    _may("Rep", _K.WHOLE, "Minutes of one rep.", 4, least=1, most=90),
    _may("Changeover", _K.WHOLE, "Minutes between reps. Blank: 0.", 1, least=0, most=30),
    _may("Zones per area", _K.WHOLE, "Whole zones to one area.", 1, least=1, most=6),
    _may("Kit per area", _K.KIT, "The last word is the count: ball 5; goal 1.", "ball 5; goal 1", wide=22),
    _may("Kit per player", _K.KIT, "The last word is the count: bib 1 (bibs of one side only).", "bib 1"),
    _may("Contact", _K.CHOICE, "none, some or hard (yes is some). Blank: none.", "some",
         choices=("none", "some", "hard", "yes")),
    _may("Headers a rep", _K.WHOLE, "Headers a child is likely to have in one rep. Blank: 0.", 0, least=0, most=100),
    _together("RPE", _K.WHOLE, "Expected exertion on the club's scale.", 6, least=0, most=20),
    _may("m2 a player least", _K.NUMBER, "Square metres for each child in an area, at least.", 30, least=1, most=2000),
    _may("m2 a player most", _K.NUMBER, "Square metres for each child in an area, at most (a wish).", 120,
         least=1, most=2000),
))  # fmt: skip

PLANS = Sheet("Plans", "Session plans, a row a practice. The same Plan and Block twice: stations side by side.", (
    _must("Plan", _K.TEXT, "A name of your own.", "Tuesday", wide=44),
    _must("Block", _K.TEXT, "1, 2, 3 ...; groups move round where the same stations follow each other.", 1),
    _must("Practice", _K.TEXT, "One of the Practices.", "Four v two, both ends", refers=("Practices",), wide=44),
    _must("Minutes", _K.WHOLE, "Length of the block.", 30, least=1, most=240),
    _may("Reps", _K.WHOLE, "Number of reps. Blank: as many as fit.", 6, least=1, most=100),
    _may("Coaches", _K.CHOICE, "Side by side: adults stay at a station or move with a group. Blank: stay.", "stay",
         choices=("stay", "move")),
))  # fmt: skip

ABSENCES = Sheet("Absences", "Who is away. Late or early leaving: From and To.", (
    _must("Who", _K.LIST, "Players, coaches, a team, a family, or all.", "P01", refers=("Players", "Coaches", "Teams"),
          wide=18),
    _may("Date", _K.DATE_OR_DAYS, "The date, or the first date of a row that repeats.", dt.date(2026, 9, 8),
         also=("Date or Days", "Date or days (every week)")),
    _may("Days", _K.DAYS, "Days of every week.", "Tue"),
    _may("From", _K.TIME, "Away from. Blank: the whole day.", dt.time(17, 0)),
    _may("To", _K.TIME, "Away until.", dt.time(18, 15)),
    _may("Why", _K.TEXT, "Never leaves this file. Confidential.", "dentist", private=True),
    _may("Until", _K.DATE, "Last date it holds.", dt.date(2026, 12, 16)),
    _may("Every", _K.WHOLE, "2: every other week, counted from Date. Blank: every week.", 1, least=1, most=52),
))  # fmt: skip

ELSEWHERE = Sheet("Elsewhere", "Sport outside this club's sessions. Confidential.", (
    _must("Player", _K.TEXT, "One of the Players.", "P01", refers=("Players",), private=True),
    _must("Date", _K.DATE, "The day.", dt.date(2026, 9, 10), private=True),
    _must("Minutes", _K.WHOLE, "Minutes of sport.", 60, least=0, most=1440, private=True),
    _together("RPE", _K.WHOLE, "Exertion on the club's scale.", 5, least=0, most=20, private=True),
    _may("What", _K.TEXT, "School, another club, another sport, a match.", "school swimming", private=True, wide=24),
    _may("Organised", _K.YES_NO, "no: free play, which counts under no limit. Blank: yes.", "yes", choices=_YES_NO,
         private=True),
))  # fmt: skip

CARRIED = Sheet("Carried", "Minutes still due from earlier weeks; negative: had more than the share. Confidential.", (
    _must("Player", _K.TEXT, "One of the Players.", "P01", refers=("Players",), private=True),
    *(
        _may(f"{role} due", _K.WHOLE, f"Minutes of {role.lower()} still due.", minutes, least=-100000, most=100000,
             private=True)
        for role, minutes in (("Attack", 4), ("Defend", -4), ("Keep", 0), ("Rest", 0))
    ),
))  # fmt: skip

RETURNS = Sheet("Returns", "Children coming back after a head injury: dates are not before, never a clearance.", (
    _must("Player", _K.TEXT, "One of the Players. Confidential.", "P01", refers=("Players",), private=True),
    _must("Injured", _K.DATE, "Day of the injury. Confidential.", dt.date(2026, 8, 30), private=True),
    _may("Symptoms ended", _K.DATE, "First day without symptoms at rest. Blank: not over. Confidential.",
         dt.date(2026, 9, 3), private=True),
    _may("Cleared", _K.YES_NO, "yes once a qualified person has said so. Blank: no. Confidential.", "no",
         choices=_YES_NO, private=True),
))  # fmt: skip

WEATHER = Sheet("Weather", "Measured or forecast on a date.", (
    _must("Date", _K.DATE, "The day.", dt.date(2026, 9, 8)),
    _may("Site", _K.TEXT, "One of the Sites. Blank: the only site.", "Marsh Lane", refers=("Sites",), wide=18),
    _may("WBGT", _K.WARMTH, "Wet bulb globe temperature with its unit: 31 C or 88 F (not air temperature).", "88 F"),
    _may("Wind chill", _K.WARMTH, "Wind chill with its unit: -2 C or 28 F.", "28 F"),
    _may("Thunder last heard", _K.TIME, "Time of the last thunder or lightning.", dt.time(18, 20), wide=18),
))  # fmt: skip

SHEETS = (
    CLUB, SITES, PITCHES, BOOKED, AGES, TEAMS, MATCHES, SESSIONS, PLAYERS, COACHES, KIT, PRACTICES, PLANS,
    ABSENCES, ELSEWHERE, CARRIED, RETURNS, WEATHER,
)  # fmt: skip
BY_NAME = {sheet.name: sheet for sheet in SHEETS}
EXAMPLE_MARK = "Example:"
UNREAD_SHEETS = ("Start here",)
UNREAD_HEADINGS = ("notes", "field", "value")
