"""Published limits on a child's week to choose from, and a week judged against each: which set failed, not only that.

The firm limits of a plan are the age rows of the club; these sets stand beside them, for the welfare officer. Age is
whole years on the Monday (the source's own example, a 12-year-old and 12 hours, speaks of whole years). A guideline
that is exceeded is a guideline exceeded and nothing more. What a week cannot show (months off in a year) is said in
`beyond`, never judged.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.contract import Source
from scheduler.plan.plan import WeekPlan
from scheduler.welfare.childweek import ChildWeek, child_week
from scheduler.welfare.heading import HEADING_SETS, US_SOCCER, Heading, HeadingSet, stricter, word_for
from scheduler.welfare.returns import PROTOCOLS
from scheduler.welfare.supervision import NSPCC, SUPERVISION_SETS, SupervisionSet
from scheduler.welfare.words import Word, against_least, against_most

BY_AGE = "hours a week against age"


@dataclass(frozen=True)
class LoadSet:
    """One body's limits on a week. None: it gives no number for that."""

    id: str
    source: Source
    hours_by_age: bool = False
    rest_days_least: int | None = None
    rest_days_wanted: int | None = None
    club_days_most: int | None = None
    one_team: bool = False
    beyond: str = ""

    @property
    def words(self) -> str:
        """What it says of a week, and what a week cannot show, as one line."""
        least, most = self.rest_days_least, self.club_days_most
        wanted = f" to {self.rest_days_wanted}" if self.rest_days_wanted is not None else ""
        parts = ["hours a week at most the age in years"] if self.hours_by_age else []
        parts += [f"at least {least}{wanted} days a week off"] if least is not None else []
        parts += [f"at most {most} days a week of one sport"] if most is not None else []
        parts += ["one team at a time"] if self.one_team else []
        return "; ".join([*parts, self.beyond] if self.beyond else parts)


NATA = LoadSet(
    "NATA 2019",
    Source("National Athletic Trainers' Association, Youth Sports Specialization Recommendations", "October 2019"),
    hours_by_age=True,
    rest_days_least=2,
    one_team=True,
    beyond="at most 8 months a year in one sport and time off at the end of each season: a week cannot show it",
)
AAP_2024 = LoadSet(
    "AAP 2024",
    Source("American Academy of Pediatrics, Pediatrics 153(2):e2023065129", "2024"),
    rest_days_least=1,
    rest_days_wanted=2,
    beyond="2 to 3 months a year off a sport: a week cannot show it; no number of hours",
)
LOAD_SETS: tuple[LoadSet, ...] = (
    NATA,
    AAP_2024,
    LoadSet(
        "AAP 2016",
        Source("American Academy of Pediatrics, Pediatrics 138(3):e20162148", "2016"),
        rest_days_least=1,
        rest_days_wanted=2,
        beyond="at least 3 months a year off a sport, in months of their own if need be: a week cannot show it",
    ),
    LoadSet(
        "AAP older",
        Source("American Academy of Pediatrics, older wording", "5 days a week, 1 day off"),
        rest_days_least=1,
        club_days_most=5,
        beyond="days a week of one sport are counted as days of this club's sessions and matches",
    ),
    LoadSet(
        "AMSSM 2014",
        Source("American Medical Society for Sports Medicine, Clin J Sport Med 24:3-20", "2014"),
        one_team=True,
        beyond="2 to 3 months a year off a sport: a week cannot show it; no weekly number",
    ),
    LoadSet(
        "IRFU",
        Source("IRFU club guidance, players under 18"),
        one_team=True,
        beyond="a second team in a season only with written consent of the parents, which is not recorded here",
    ),
    LoadSet(
        "IOC 2015",
        Source("IOC consensus on youth athletic development, Br J Sports Med 49:843-851", "2015"),
        beyond="advises varied sport; no number of hours or days was found in it",
    ),
)


@dataclass(frozen=True)
class Chosen:
    """The sets a club compares itself with."""

    loads: tuple[LoadSet, ...]
    heading: tuple[HeadingSet, ...]
    supervision: SupervisionSet
    unknown: tuple[str, ...] = ()


def set_names() -> tuple[str, ...]:
    """Every name that the club's field `Rule set` takes, several separated by `;`."""
    names = [one.id for sets in (LOAD_SETS, HEADING_SETS, SUPERVISION_SETS, PROTOCOLS) for one in sets]
    return tuple(dict.fromkeys(names))


def unknown_names(text: str | None) -> tuple[str, ...]:
    """The parts of a `Rule set` field that name no set, each as a sentence with the nearest name."""
    known = {name.casefold(): name for name in set_names()}
    found = []
    for part in (text or "").split(";"):
        if part.strip() and part.strip().casefold() not in known:
            near = difflib.get_close_matches(part.strip().casefold(), known, 1, 0.5)
            right = f"did you mean {known[near[0]]}?" if near else f"one of {', '.join(known.values())}"
            found.append(f"{part.strip()} is no rule set known here; {right}")
    return tuple(found)


def chosen(club: Club) -> Chosen:
    """The club's choice; of each kind not named: NATA 2019 and AAP 2024, U.S. Soccer, NSPCC."""
    wanted = {part.strip().casefold() for part in (club.rule_set or "").split(";")}
    loads = tuple(one for one in LOAD_SETS if one.id.casefold() in wanted)
    heading = tuple(one for one in HEADING_SETS if one.id.casefold() in wanted)
    supervision = [one for one in SUPERVISION_SETS if one.id.casefold() in wanted]
    return Chosen(
        loads or (NATA, AAP_2024),
        heading or (US_SOCCER,),
        supervision[0] if supervision else NSPCC,
        unknown_names(club.rule_set),
    )


def hours_limit(age: int, rules: LoadSet = NATA) -> int | None:
    """Organised hours a week at most at this age; None where the set gives none."""
    return age if rules.hours_by_age else None


def rest_days(rules: LoadSet = NATA) -> int | None:
    """Days a week without organised sport at least; None where the set gives none."""
    return rules.rest_days_least


@dataclass(frozen=True)
class Judgement:
    """One limit of one set for one child's week. `planned` and `cap` in `unit`."""

    rule_set: str
    limit: str
    planned: int
    cap: int | None
    unit: str
    word: Word
    text: str
    source: Source

    @property
    def failed(self) -> bool:
        """Whether the guideline is exceeded."""
        return self.word is Word.OVER


def heading_of(club: Club, week: ChildWeek, rules: HeadingSet) -> Heading:
    """What a heading set says for a child's week: the stricter answer over the age groups trained with."""
    player = club.player(week.player)
    groups = {one.age_group for one in week.sessions if one.age_group is not None}
    groups = groups or {club.team(player.team).age_group}
    answers = [rules.says(club.limit_age(player), group) for group in sorted(groups)]
    least = answers[0]
    for answer in answers[1:]:
        least = stricter(least, answer)
    return least


def judge_loads(club: Club, week: ChildWeek, rules: LoadSet) -> list[Judgement]:
    """A child's week against one set; minutes are all organised sport entered: sessions, matches, elsewhere."""
    player = club.player(week.player)
    found: list[Judgement] = []

    def add(limit: str, planned: int, cap: int | None, unit: str, word: Word, text: str) -> None:
        found.append(Judgement(rules.id, limit, planned, cap, unit, word, text, rules.source))

    hours = hours_limit(club.limit_age(player), rules)
    if hours is not None:
        word = against_most(week.minutes, 60 * hours)
        add(BY_AGE, week.minutes, 60 * hours, "minutes", word, f"at most {hours} hours a week")
    else:
        add("hours a week", week.minutes, None, "minutes", Word.NO_NUMBER, "gives no number of hours")
    least = rest_days(rules)
    unit = "day" if least == 1 else "days"
    text = (
        "gives no number of rest days" if least is None else f"at least {least} {unit} a week without organised sport"
    )
    word = against_least(week.rest_days, least)
    if rules.rest_days_wanted is not None and word is not Word.OVER:
        text += f", better {rules.rest_days_wanted}"
        word = Word.CLOSE if week.rest_days < rules.rest_days_wanted else Word.ROOM
    add("rest days", week.rest_days, least, "days", word, text)
    if rules.club_days_most is not None:
        days = len({one.date for one in week.inside if one.what != "elsewhere"})
        cap = rules.club_days_most
        add("days of one sport", days, cap, "days", against_most(days, cap), f"at most {cap} days a week of one sport")
    if rules.one_team:
        teams = 1 + len(player.also_plays_for)
        add("teams in a season", teams, 1, "teams", against_most(teams, 1), "one team at a time in a season")
    return found


def judge_heading(club: Club, week: ChildWeek, rules: HeadingSet) -> Judgement:
    """A child's headers in training against one set."""
    says = heading_of(club, week, rules)
    minutes, headers = [one.heading_minutes for one in week.sessions], [one.headers for one in week.sessions]
    planned = max(headers, default=0) if says.per == "session" else sum(headers)
    word = word_for(says, minutes, headers)
    text = says.text + (f"; {sum(minutes)} minutes of heading practice planned" if says.minutes is not None else "")
    return Judgement(rules.id, f"headers a {says.per}", planned, says.headers, "headers", word, text, rules.source)


def judge_week(club: Club, plan: WeekPlan, player: str, sets: Chosen | None = None) -> list[Judgement]:
    """One child's week against every chosen set of limits and of heading, set by set."""
    week = child_week(club, plan, player)
    of = sets or chosen(club)
    judged = [line for rules in of.loads for line in judge_loads(club, week, rules)]
    return judged + [judge_heading(club, week, rules) for rules in of.heading]
