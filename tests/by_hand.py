"""A club whose week is planned by hand, without this program's own history: every team in a corner of its own.

Every team stands for a few things that can go wrong; the week as `Hand` begins with it breaks no rule. All names and
numbers are made up; the age rows are far from any real ones.
"""

from __future__ import annotations

from typing import Any

from scheduler.club.club import Club
from scheduler.club.programme import Kind
from scheduler.club.when import parse_hhmm
from scheduler.plan.plan import Place, PlannedSession, Rep, Station, StoodDown, WeekPlan
from scheduler.plan.presence import in_rep, there
from scheduler.plan.skeleton import lay_blocks
from scheduler.plan.timeline import station_of, timeline

MON, TUE, WED, THU, FRI, SAT, SUN = (f"2026-09-{day:02d}" for day in range(7, 14))
PLAIN = (
    "Egrets", "Fulmars", "Godwits", "Herons", "Ibises", "Jays", "Kites", "Larks", "Merlins", "Nightjars", "Owls",
    "Plovers", "Quails",
)  # fmt: skip
TEAMS = (
    *("Avocets", "Bitterns", "Crakes", "Dunlins"),
    *PLAIN,
    *("Rails", "Shrikes", "Terns", "Uprights", "Veerys", "Wrens"),
)
SINGLE = {  # players with something of their own: (team, birth date, more cells)
    "Short": ("Avocets", "2018-03-01", {}),
    "Late": ("Avocets", "2019-03-01", {}),
    "Busy": ("Avocets", "2015-03-01", {}),
    "Loaded": ("Avocets", "2011-03-01", {}),
    "Restless": ("Avocets", "2015-03-01", {}),
    "Daily": ("Avocets", "2015-03-01", {}),
    "Maxed": ("Avocets", "2015-03-01", {"limits": "max 45"}),
    "Hurt": ("Avocets", "2015-03-01", {}),
    "Played": ("Avocets", "2015-03-01", {}),
    "Often": ("Avocets", "2017-03-01", {"also_plays_for": "Quails"}),
    "Tender": ("Bitterns", "2013-03-01", {"limits": "no contact"}),
    "Header": ("Bitterns", "2013-03-01", {"limits": "no heading"}),
    "Eve": ("Bitterns", "2013-03-01", {}),
    "Concussed": ("Bitterns", "2013-03-01", {}),
    "Younger": ("Bitterns", "2016-03-01", {}),
    "Little": ("Bitterns", "2014-03-01", {}),
    "Twice": ("Bitterns", "2013-03-01", {"also_plays_for": "Crakes"}),
    "Cat": ("Dunlins", "2015-03-01", {"apart_from": "Dog"}),
    "Dog": ("Dunlins", "2015-03-01", {}),
    "Gone": ("Dunlins", "2015-03-01", {}),
    "Never": ("Uprights", "2013-03-01", {"keeper": "no"}),
}
SIZE = {"Avocets": 2, "Bitterns": 2, "Dunlins": 4, "Egrets": 9, "Rails": 6, "Shrikes": 6, "Uprights": 5, "Veerys": 5}
SITE = {"Herons": "Yard", "Ibises": "Hill", "Jays": "Moor", "Kites": "Dune"}
PLAN = {"Avocets": "Skills, 75", "Bitterns": "Rough", "Dunlins": "Circle", "Kites": "Skills, 75", "Rails": "Poles",
        "Shrikes": "Poles", "Terns": "Room", "Uprights": "Game", "Veerys": "Fives", "Wrens": "Fours"}  # fmt: skip
START: dict[str, tuple[str, str]] = {
    "Avocets": (WED, "18:00"), "Bitterns": (WED, "18:00"), "Crakes": (WED, "19:30"), "Dunlins": (MON, "18:00"),
    "Kites": (FRI, "18:00"), "Jays": (THU, "19:00"), "Larks": (FRI, "18:00"), "Merlins": (FRI, "19:00"),
    "Nightjars": (FRI, "18:00"), "Owls": (FRI, "19:00"), "Godwits": (TUE, "18:30"), "Shrikes": (TUE, "20:00"),
}  # fmt: skip


def rows() -> dict[str, Any]:
    """The club file."""
    pitches: list[dict[str, Any]] = [
        {"pitch": f"{team} field", "site": SITE.get(team, "Shore"), "zones": 1, "length_m": 60, "width_m": 40,
         "lit": "20:45" if team == "Plovers" else True, "from": "17:00", "to": "20:00" if team == "Owls" else "22:00"}
        for team in TEAMS if team != "Merlins"
    ]  # fmt: skip
    small = {**pitches[0], "pitch": "Small", "length_m": 20, "width_m": 20}
    return {
        "club": {"name": "Saltmarsh", "week": MON, "time_zone": "Europe/Dublin", "heat_category": 3},
        "sites": [{"site": site, "latitude": 53.35, "longitude": -6.26}
                  for site in ("Shore", "Yard", "Hill", "Moor", "Dune")],
        "pitches": [*pitches, small],
        "booked": [{"pitch": "Nightjars field", "date": FRI, "from": "17:00", "to": "18:00", "by": "choir"}],
        "ages": _ages(),
        "teams": [{"team": team, "age_group": "U13", "coaches": f"coach {team} 1; coach {team} 2"} for team in TEAMS],
        "matches": [{"team": "Avocets", "date": TUE, "kick_off": "18:00", "minutes": 20, "rpe": 5, "players": "Played"},
                    {"team": "Bitterns", "date": THU, "kick_off": "18:00", "minutes": 20, "rpe": 5, "players": "Eve"}],
        "sessions": [{"session": team, "teams": team, "plan": PLAN.get(team, "Skills, 60"),
                      **({"latest": "19:00"} if team == "Quails" else {})} for team in TEAMS],
        "players": _players(),
        "coaches": _coaches(),
        "kit": [{"item": "pole", "site": site, "count": 10} for site in ("Shore", "Yard", "Hill", "Moor", "Dune")],
        "practices": _practices(),
        "plans": _plans(),
        "absences": [{"who": "Gone", "date": MON}, {"who": "Away", "date": TUE}],
        "elsewhere": [{"player": player, "date": date, "minutes": minutes, "rpe": 5} for player, date, minutes in (
            ("Busy", WED, 250), ("Loaded", WED, 20), *(("Restless", date, 10) for date in (MON, TUE, FRI, SAT, SUN)),
            *(("Daily", date, 10) for date in (MON, TUE, THU)))],
        "returns": [{"player": "Hurt", "injured": "2026-09-05"},
                    {"player": "Concussed", "injured": "2026-08-01", "symptoms_ended": "2026-08-04", "cleared": "no"}],
        "weather": [{"date": THU, "site": "Hill", "wbgt": "92 F"}, {"date": THU, "site": "Dune", "wbgt": "90.5 F"},
                    {"date": THU, "site": "Moor", "thunder_last_heard": "18:20"}],
    }  # fmt: skip


def _ages() -> list[dict[str, Any]]:
    """A row a year of age; some children are alone in theirs."""
    base = {"session_minutes": 90, "sessions_a_week": 3, "week_minutes": 300, "rest_days": 2, "days_in_a_row": 3,
            "finish_by": "21:00", "headers_a_week": 20, "players_per_adult": 8, "source": "made up"}  # fmt: skip
    own: dict[int, dict[str, Any]] = {
        7: {"finish_by": "19:00"}, 8: {"session_minutes": 60}, 9: {"sessions_a_week": 1}, 10: {"headers_a_week": 0},
        12: {"headers_a_week": 4}, 15: {"week_load": 400},
    }  # fmt: skip
    return [{"phase": f"age {age}", "from_age": age, "to_age": age, **base, **own.get(age, {})} for age in range(6, 17)]


def _players() -> list[dict[str, Any]]:
    plain = [
        {"player": f"{team} {n}", "name": f"{team} {n} Child", "called": f"{team} {n}", "team": team,
         "born": "2013-03-01" if team in ("Bitterns", "Uprights", "Veerys", "Wrens") else "2015-03-01",
         "keeper": "willing"}
        for team in TEAMS for n in range(1, SIZE.get(team, 4) + 1)
    ]  # fmt: skip
    single = [
        {
            "player": name,
            "name": f"{name} Child",
            "called": name,
            "team": team,
            "born": born,
            "keeper": "willing",
            **more,
        }
        for name, (team, born, more) in SINGLE.items()
    ]
    return [*plain, *single]


def _coaches() -> list[dict[str, Any]]:
    good = {"first_aid_until": "2027-12-31", "checked_until": "2027-12-31"}
    own = [{"coach": f"coach {team} {n}", **good} for team in TEAMS for n in (1, 2)]
    for coach in own:
        if coach["coach"] == "coach Herons 2":
            coach["first_aid_until"] = "2026-09-07"
    more = [{"coach": name, **good} for name in ("Zed", "Away", "Lapsed", "Unaided")]
    more[2]["checked_until"], more[3]["first_aid_until"] = "2026-09-07", "2026-09-07"
    return [*own, *more]


def _practices() -> list[dict[str, Any]]:
    plain = {"kind": "together", "contact": "none", "rpe": 5}
    sized = {"kind": "part", "areas": 1, "keepers": 0, "rep": 20, "contact": "none", "rpe": 5}
    return [
        {"practice": "Skills", **plain}, {"practice": "Turns", **plain},
        {"practice": "Tackle", **plain, "contact": "hard"}, {"practice": "Heading", **plain, "headers_a_rep": 5},
        {"practice": "Poles", **plain, "kit_per_player": "pole 1"},
        {"practice": "Room", **plain, "m2_a_player_least": 150},
        {"practice": "Game", **sized, "kind": "game", "attackers": "2 (2 to 2)", "keepers": 1},
        {"practice": "Fives", **sized, "attackers": "2 (2 to 2)", "defenders": "2 (2 to 2)"},
        {"practice": "Fours", **sized, "attackers": "2 (1 to 3)", "defenders": "2 (1 to 3)"},
    ]  # fmt: skip


def _plans() -> list[dict[str, Any]]:
    found = [
        {"plan": f"Skills, {minutes}", "block": 1, "practice": "Skills", "minutes": minutes} for minutes in (60, 75)
    ]
    found += [{"plan": "Rough", "block": block, "practice": practice, "minutes": 20}
              for block, practice in enumerate(("Skills", "Tackle", "Heading"), 1)]  # fmt: skip
    found += [{"plan": "Circle", "block": 1, "practice": practice, "minutes": 60} for practice in ("Skills", "Turns")]
    found += [{"plan": name, "block": 1, "practice": name, "minutes": 60} for name in ("Poles", "Room")]
    for name in ("Game", "Fives", "Fours"):
        found += [{"plan": name, "block": 1, "practice": "Skills", "minutes": 40},
                  {"plan": name, "block": 2, "practice": name, "minutes": 20}]  # fmt: skip
    return found


OUT = ("18:00", "19:15")
DOWN: dict[str, tuple[str, str]] = {  # who is left out of the own session, from and to, so that a limit holds
    "Short": ("19:00", "19:15"), "Late": ("19:00", "19:15"), "Loaded": ("19:00", "19:15"), "Maxed": ("18:45", "19:15"),
    "Busy": OUT, "Restless": OUT, "Daily": OUT, "Hurt": OUT, "Played": OUT, "Tender": ("18:20", "18:40"),
    "Header": ("18:40", "19:00"), "Eve": ("18:20", "18:40"), "Concussed": ("18:20", "19:00"),
    "Younger": ("18:20", "19:00"), "Little": ("18:40", "19:00"),
}  # fmt: skip
SIDED = {  # roles of the only rep, by the number of the child in the team: side, role, area
    "Uprights": ("A keep 1", "A play 1", "A play 1", "B keep 1", "B play 1", "B play 1"),
    "Veerys": ("A attack 1", "A attack 1", "B defend 1", "B defend 1", "A rest -"),
    "Wrens": ("A attack 1", "A attack 1", "B defend 1", "B defend 1"),
}


class Hand:
    """A week being planned by hand: dictionaries that a person would fill in, and the plan they come to."""

    def __init__(self, club: Club) -> None:
        self.club = club
        self.start = {team: START.get(team, (TUE, "18:00")) for team in TEAMS}
        self.pitch = {team: f"{'Larks' if team == 'Merlins' else team} field" for team in TEAMS}
        self.coaches = {team: [f"coach {team} 1", f"coach {team} 2"] for team in TEAMS}
        self.coaches["Fulmars"].append("Zed")
        self.down: dict[str, list[tuple[str, str]]] = {player: [times] for player, times in DOWN.items()}
        self.guests: dict[str, list[str]] = {team: [] for team in TEAMS}
        self.group: dict[str, int] = {}
        self.roles = {team: list(roles) for team, roles in SIDED.items()}

    def plan(self) -> WeekPlan:
        """The plan as it stands."""
        sessions = sorted((self._session(team) for team in TEAMS), key=lambda one: (one.date, one.start, one.pitch))
        return WeekPlan(club=self.club.name, week=self.club.week, timezone=self.club.timezone, sessions=tuple(sessions))

    def _session(self, team: str) -> PlannedSession:
        date, start = self.start[team]
        begins, ask = parse_hhmm(start), self.club.session(team)
        own = [player.id for player in self.club.players if player.team == team and player.id != "Gone"]
        downs = [
            StoodDown(player=player, why="own limit", start=parse_hhmm(since), end=parse_hhmm(until))
            for player in own
            for since, until in self.down.get(player, ())
        ]
        whole = {down.player for down in downs if (down.start, down.end) == (begins, begins + ask.minutes)}
        booked = PlannedSession.model_validate(
            {
                "session": team, "teams": (team,), "date": date, "start": begins, "end": begins + ask.minutes,
                "pitch": self.pitch[team], "zones": (1,), "coaches": tuple(self.coaches[team]),
                "players": tuple(player for player in [*own, *self.guests[team]] if player not in whole),
                "stood_down": tuple(downs), "sides": ("A", "B"),
            }
        )  # fmt: skip
        return self._filled(lay_blocks(self.club, booked))

    def _filled(self, planned: PlannedSession) -> PlannedSession:
        blocks = []
        for block, time in zip(planned.blocks, timeline(self.club, planned.session), strict=True):
            stations = []
            for station in block.stations:
                here = [p for p in planned.players if station_of(time, self._group(planned, p)) == station.station]
                reps = tuple(self._rep(planned, station, rep, here) for rep in station.reps)
                stations.append(station.model_copy(update={"reps": reps}))
            blocks.append(block.model_copy(update={"stations": tuple(stations)}))
        return planned.model_copy(update={"blocks": tuple(blocks)})

    def _group(self, planned: PlannedSession, player: str) -> int:
        """Side by side the children are counted off into groups, unless somebody was put into another."""
        count = max(len(block.stations) for block in planned.blocks)
        return self.group.get(player, planned.players.index(player) % count + 1)

    def _rep(self, planned: PlannedSession, station: Station, rep: Rep, here: list[str]) -> Rep:
        practice = self.club.practice(station.practice)
        who = [p for p in here if in_rep(there(self.club, planned, p), practice, rep.span)]
        if practice.kind is Kind.TOGETHER:
            places = [Place(player=p, group=self._group(planned, p), role="all") for p in who]
        else:
            places = [_place(p, words) for p, words in zip(who, self.roles[planned.session], strict=True)]
        return rep.model_copy(update={"places": tuple(places)})


def _place(player: str, words: str) -> Place:
    side, role, area = words.split()
    return Place.model_validate(
        {"player": player, "side": side, "role": role, "area": None if area == "-" else int(area)}
    )
