"""Published limits on a child's week to choose from.

The firm limits of a plan are the age rows of the club; these sets stand beside them, for the welfare officer. Age is
whole years on the Monday (the source's own example, a 12-year-old and 12 hours, speaks of whole years). A guideline
that is exceeded is a guideline exceeded and nothing more. Months off a year and free play are judged where the club
enters them; what nothing entered can show is said in `beyond`, never judged.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.contract import Source
from scheduler.welfare.heading import HEADING_SETS, US_SOCCER, HeadingSet
from scheduler.welfare.returns import PROTOCOLS
from scheduler.welfare.supervision import NSPCC, SUPERVISION_SETS, SupervisionSet

BY_AGE = "hours a week against age"


@dataclass(frozen=True)
class LoadSet:
    """One body's limits on a week. None: it gives no number for that.

    `unless_agreed`: one team unless the parents agreed in writing; `most_of_free_play`: organised minutes at most so
    many times those of free play.
    """

    id: str
    source: Source
    hours_by_age: bool = False
    rest_days_least: int | None = None
    rest_days_wanted: int | None = None
    club_days_most: int | None = None
    one_team: bool = False
    unless_agreed: bool = False
    months_off_least: int | None = None
    months_off_wanted: int | None = None
    most_of_free_play: int | None = None
    beyond: str = ""

    @property
    def words(self) -> str:
        """What it says of a week, and what a week cannot show, as one line."""
        least, most = self.rest_days_least, self.club_days_most
        wanted = f" to {self.rest_days_wanted}" if self.rest_days_wanted is not None else ""
        parts = ["hours a week at most the age in years"] if self.hours_by_age else []
        parts += [f"at least {least}{wanted} days a week off"] if least is not None else []
        parts += [f"at most {most} days a week of one sport"] if most is not None else []
        parts += ["one team at a time" + ", unless the parents agreed in writing" * self.unless_agreed] * self.one_team
        parts += [self.months_words] if self.months_words else []
        parts += [f"organised sport at most {self.most_of_free_play} times the free play"] * bool(
            self.most_of_free_play
        )
        return "; ".join([*parts, self.beyond] if self.beyond else parts)

    @property
    def months_words(self) -> str:
        """`at least 2 to 3 months a year off the sport`; empty where it gives no number."""
        if self.months_off_least is None:
            return ""
        wanted = f" to {self.months_off_wanted}" if self.months_off_wanted is not None else ""
        return f"at least {self.months_off_least}{wanted} months a year off the sport"


NATA = LoadSet(
    "NATA 2019",
    Source("National Athletic Trainers' Association, Youth Sports Specialization Recommendations", "October 2019"),
    hours_by_age=True,
    rest_days_least=2,
    one_team=True,
    months_off_least=4,  # at most 8 months a year in one sport
    beyond="time off at the end of each season: a week cannot show it",
)
AAP_2024 = LoadSet(
    "AAP 2024",
    Source("American Academy of Pediatrics, Pediatrics 153(2):e2023065129", "2024"),
    rest_days_least=1,
    rest_days_wanted=2,
    months_off_least=2,
    months_off_wanted=3,
)
LOAD_SETS: tuple[LoadSet, ...] = (
    NATA,
    AAP_2024,
    LoadSet(
        "AAP 2016",
        Source("American Academy of Pediatrics, Pediatrics 138(3):e20162148", "2016"),
        rest_days_least=1,
        rest_days_wanted=2,
        months_off_least=3,  # in months of their own if need be
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
        months_off_least=2,
        months_off_wanted=3,
    ),
    LoadSet(
        "IRFU",
        Source("IRFU club guidance, players under 18"),
        one_team=True,
        unless_agreed=True,
    ),
    LoadSet(
        "Jayanthi 2015",
        Source("Jayanthi and others, Am J Sports Med 43(4):794-801, a study of 1190 children", "2015"),
        most_of_free_play=2,
        beyond="a study, not a rule: it describes groups of children and says nothing about one child",
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
    """The club's choice; of each kind not named: NATA 2019 and AAP 2024, U.S. Soccer, NSPCC.

    Of several ratios, and of several ways back, the one named first holds.
    """
    wanted = [part.strip().casefold() for part in (club.rule_set or "").split(";")]
    loads = tuple(one for one in LOAD_SETS if one.id.casefold() in wanted)
    heading = tuple(one for one in HEADING_SETS if one.id.casefold() in wanted)
    supervision = [one for name in wanted for one in SUPERVISION_SETS if one.id.casefold() == name]
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
