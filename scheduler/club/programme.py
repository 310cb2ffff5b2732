"""Practices, session plans and the sessions a week asks for."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import NamedTuple

from pydantic import BaseModel, ConfigDict, Field

from scheduler.club.when import Span


class Kind(StrEnum):
    """A way of playing."""

    TOGETHER = "together"
    GAME = "game"
    PART = "part"


class Contact(StrEnum):
    """How much body contact a practice has."""

    NONE = "none"
    SOME = "some"
    HARD = "hard"


class Sizes(NamedTuple):
    """How many players hold a role in one area: least, wanted, most."""

    least: int
    wanted: int
    most: int

    def __str__(self) -> str:
        """As `4 (3 to 5)`, or `4` where only four will do."""
        return f"{self.wanted}" if self.least == self.most else f"{self.wanted} ({self.least} to {self.most})"


class KitNeed(NamedTuple):
    """So many of one item; `ball` and `goal` stand for the item of the age row."""

    item: str
    quantity: int


class Practice(BaseModel):
    """One practice of the library."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    kind: Kind
    areas: int = Field(default=1, ge=1)
    attackers: Sizes | None = Field(default=None, description="part: per area; game: outfield players of each side")
    defenders: Sizes | None = Field(default=None, description="part only: per area")
    keepers: int | None = Field(default=None, ge=0, le=1, description="part: per area; game: per side; None: by age")
    rep: int | None = Field(default=None, ge=1, description="minutes; None only for `together`")
    changeover: int = Field(default=0, ge=0, description="minutes between two reps")
    zones_per_area: int | None = Field(default=None, ge=1)
    kit_per_area: tuple[KitNeed, ...] = ()
    kit_per_player: tuple[KitNeed, ...] = ()
    contact: Contact = Contact.NONE
    headers_a_rep: int = Field(default=0, ge=0)
    rpe: int | None = Field(default=None, description="on the club's RPE scale")
    m2_least: float | None = Field(default=None, description="square metres a player, firm")
    m2_most: float | None = Field(default=None, description="square metres a player, a wish")


class PlanRow(BaseModel):
    """One row of a session plan; rows of the same plan and block are stations side by side."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    plan: str
    block: str = Field(description="the block's number or name; blocks follow in the order of their first rows")
    practice: str
    minutes: int = Field(ge=1)
    reps: int | None = Field(default=None, ge=1)
    coaches_stay: bool = Field(default=True, description="False: coaches move with a group")


class HeldAt(NamedTuple):
    """A session (or part of its place and time) fixed by hand."""

    day: int | None
    start: int | None
    pitch: str | None
    zones: tuple[int, ...]


class SessionAsk(BaseModel):
    """One session the club wants this week."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    teams: tuple[str, ...]
    plan: str
    minutes: int = Field(ge=1, description="length of the booking; starts and ends of people")
    zones: int | None = Field(default=1, ge=1, description="number of neighbouring zones; None: the whole pitch")
    days: frozenset[int] = Field(default=frozenset(range(7)), description="allowed weekdays")
    wished_days: frozenset[int] = Field(default=frozenset(), description="empty: no wish")
    earliest: int = Field(default=0, description="starts not before, minute of the day")
    latest: int = Field(default=24 * 60, description="ends not after, minute of the day")
    coaches_needed: int = Field(default=2, ge=0, description="all adults; the rules may ask for more")
    sites: tuple[str, ...] = Field(default=(), description="empty: any site")
    pitches: tuple[str, ...] = Field(default=(), description="empty: any pitch")
    held_at: HeldAt | None = None
    with_players: tuple[str, ...] = Field(default=(), description="guests of this session, by id")
    without_players: tuple[str, ...] = Field(default=(), description="members left out of this session, by id")
    needs_keeper_coach: bool = False
    bibs_stay: str = Field(default="session", pattern="^(session|block)$")
    weeks: frozenset[dt.date] = Field(default=frozenset(), description="Mondays it is held; empty: every week")


class Presence(NamedTuple):
    """When one player is there, minutes of the day; several spans where somebody leaves and comes back."""

    player: str
    spans: tuple[Span, ...]
