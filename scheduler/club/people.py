"""Players, coaches, teams, the rows of the age table, and what is known of them outside the sessions."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from pydantic import BaseModel, ConfigDict, Field

from scheduler.club.when import Occurs, Span


class KeeperPolicy(StrEnum):
    """Who shares the minutes in goal."""

    REGULARS = "regulars"
    VOLUNTEERS = "volunteers"
    EVERYONE = "everyone"


class KeeperWish(StrEnum):
    """What a child (or a parent) said about keeping goal; NOT_ASKED where the cell is blank."""

    REGULAR = "regular"
    WILLING = "willing"
    NO = "no"
    NOT_ASKED = ""


class KeeperStays(StrEnum):
    """How long one child keeps goal at a stretch."""

    REP = "rep"
    BLOCK = "block"
    SESSION = "session"


class AfterMatch(StrEnum):
    """What an age row allows on the day after more than half a match."""

    REST = "rest"
    NO_CONTACT = "no contact"
    ANY = "any"


class Limits(BaseModel):
    """A child's own limits, confidential."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    no_contact: bool = False
    no_heading: bool = False
    max_minutes: int | None = Field(default=None, ge=1, description="minutes of presence in one session")


class Player(BaseModel):
    """A child. Only `id` and `called` may leave the confidential files."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    name: str
    called: str = Field(description="the name on cards; unique in the club's team")
    born: dt.date | None = Field(default=None, description="only a year or month given: its last day (youngest)")
    team: str
    also_plays_for: tuple[str, ...] = ()
    keeper: KeeperWish = KeeperWish.NOT_ASKED
    even_up: int = Field(default=0, ge=-1, le=1, description="-1 newer, 0 settled, 1 ahead; confidential")
    family: str = ""
    apart_from: tuple[str, ...] = Field(default=(), description="players or coaches by id; confidential")
    limits: Limits = Limits()
    months_off: int | None = Field(
        default=None, ge=0, le=12, description="months a year without football; confidential"
    )
    second_team_agreed: bool = Field(default=False, description="the parents' written yes to a second team")

    def age_on(self, date: dt.date) -> int | None:
        """Whole years on a date; a child born on 29 February turns on 1 March in other years."""
        if self.born is None:
            return None
        before = (date.month, date.day) < (self.born.month, self.born.day)
        return date.year - self.born.year - int(before)


class Coach(BaseModel):
    """An adult. That adults are 18 or more is taken on trust."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    name: str
    keeper_coach: bool = False
    first_aid_until: dt.date | None = None
    checked_until: dt.date | None = None
    available: tuple[tuple[frozenset[int], Span], ...] | None = Field(
        default=None, description="weekdays and hours; None: whenever a pitch is open"
    )
    family: str = ""
    helper_only: bool = Field(default=False, description="counts as an adult, leads no team")

    def available_for(self, date: dt.date, span: Span) -> bool:
        """Whether one availability entry holds the whole span (neighbouring entries are not joined)."""
        if self.available is None:
            return True
        return any(date.weekday() in days and hours.holds(span) for days, hours in self.available)


class Team(BaseModel):
    """A team and who leads it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    age_group: int = Field(ge=4, le=21, description="14 for U14: everyone is under 14 at the cut-off")
    coaches: tuple[str, ...] = Field(description="coach ids, the first leads")
    keepers: KeeperPolicy
    keeper_stays: KeeperStays = KeeperStays.BLOCK


class AgeRow(BaseModel):
    """Limits of one age phase. None means: the rule set gives no number, which is neither 0 nor unlimited by right."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    phase: str
    from_age: int = Field(ge=0, description="whole years on the Monday of the week")
    to_age: int = Field(le=99, description="inclusive")
    session_minutes: int | None = Field(default=None, ge=0)
    sessions_a_week: int | None = Field(default=None, ge=0)
    week_minutes: int | None = Field(default=None, ge=0, description="with matches and Elsewhere")
    rest_days: int | None = Field(default=None, ge=0, le=7)
    days_in_a_row: int | None = Field(default=None, ge=0, le=14)
    finish_by: int | None = Field(default=None, description="minute of the day")
    week_load: int | None = Field(default=None, ge=0, description="RPE x minutes")
    headers_a_week: int | None = Field(default=None, ge=0)
    ball: str | None = Field(default=None, description="the kit item that `ball` stands for")
    goal: str | None = Field(default=None, description="the kit item that `goal` stands for")
    players_per_adult: int | None = Field(default=None, ge=1)
    after_match: AfterMatch = AfterMatch.REST
    source: str = ""


class Match(BaseModel):
    """A fixture; a home match keeps its zones. Whoever plays has its minutes counted."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    team: str
    date: dt.date
    kick_off: int = Field(description="minute of the day")
    minutes: int = Field(ge=0)
    pitch: str | None = None
    zones: tuple[int, ...] = Field(default=(), description="empty with a pitch: the whole of it")
    rpe: int | None = None
    players: tuple[str, ...] = Field(default=(), description="empty: the whole team")
    zones_span: Span | None = Field(default=None, description="when the zones are kept; None: kick-off to the end")


class Absence(BaseModel):
    """Who is away and when; why stays in the club workbook."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    who: tuple[str, ...] = Field(description="player and coach ids; teams, families and `all` are resolved on reading")
    occurs: Occurs
    span: Span = Span(0, 24 * 60)
    why: str = Field(default="", repr=False)


class Elsewhere(BaseModel):
    """Sport a child does outside this club's sessions; free play is told apart by where it stands in the club."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    player: str
    date: dt.date
    minutes: int = Field(ge=0)
    rpe: int | None = None
    what: str = ""


class Carried(BaseModel):
    """Minutes of a role still due from earlier weeks; negative: had more than the share."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    player: str
    attack: int = 0
    defend: int = 0
    keep: int = 0
    rest: int = 0


class Return(BaseModel):
    """A child after a head injury; confidential. `cleared` is a qualified person's yes, never worked out here."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    player: str
    injured: dt.date = Field(description="day 0")
    symptoms_ended: dt.date | None = Field(default=None, description="None: not over yet")
    cleared: bool = False
