"""A finished (or half-finished) week: the shape of `plan.json`. Knows no solver, file or screen.

Times are `HH:MM` in the file and minutes of the day here; players and coaches by id.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer

from scheduler.club.when import Span, hhmm, parse_hhmm

SCHEMA: Literal["evenweek-plan-1"] = "evenweek-plan-1"


def _clock(value: Any) -> Any:
    return parse_hhmm(value) if isinstance(value, str) else value


Clock = Annotated[int, BeforeValidator(_clock), PlainSerializer(hhmm, return_type=str, when_used="json")]


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Place(_Frozen):
    """What one player does in one rep."""

    player: str
    group: int = 1
    area: int | None = Field(default=None, description="from 1 in each station; None while resting or together")
    side: str | None = Field(default=None, description="bibs; of a keeper whose goal it is; None: together")
    role: Literal["attack", "defend", "keep", "play", "rest", "all"]


class Rep(_Frozen):
    """One timed spell, followed by a changeover."""

    rep: int
    start: Clock
    end: Clock
    places: tuple[Place, ...] = ()

    @property
    def span(self) -> Span:
        """Minutes of the day."""
        return Span(self.start, self.end)


class Station(_Frozen):
    """One practice in one part of the ground during one block."""

    station: int
    practice: str
    zones: tuple[int, ...]
    coaches: tuple[str, ...] = ()
    reps: tuple[Rep, ...] = ()


class Block(_Frozen):
    """A stretch of a session: one station, or several side by side."""

    block: int = Field(description="from 1 in the order of the session plan")
    start: Clock
    end: Clock
    stations: tuple[Station, ...]

    @property
    def span(self) -> Span:
        """Minutes of the day."""
        return Span(self.start, self.end)


class StoodDown(_Frozen):
    """A player left out of a session or part of it, with the reason in neutral words."""

    player: str
    why: str
    start: Clock = Field(alias="from")
    end: Clock = Field(alias="to")

    @property
    def span(self) -> Span:
        """Minutes of the day."""
        return Span(self.start, self.end)


class PlannedSession(_Frozen):
    """One booking. `players` are those who come for at least a part; `blocks` is empty before the rotation."""

    session: str
    teams: tuple[str, ...]
    date: dt.date
    start: Clock
    end: Clock
    pitch: str
    zones: tuple[int, ...]
    coaches: tuple[str, ...] = Field(description="all adults, the leader first")
    players: tuple[str, ...]
    stood_down: tuple[StoodDown, ...] = ()
    sides: tuple[str, ...] = Field(default=(), description="names of the two sides, by their bibs")
    blocks: tuple[Block, ...] = ()

    @property
    def span(self) -> Span:
        """Minutes of the day."""
        return Span(self.start, self.end)


class Proof(_Frozen):
    """A figure of the plan, its bound from counting alone, and whether less is shown impossible."""

    measure: str
    pool: str
    value: float
    bound: float
    proved: bool
    unit: str
    text: str = ""


class Unmet(_Frozen):
    """A wish that was paid for, and about whom or what."""

    wish: str
    about: tuple[str, ...]
    text: str
    by: float = 0.0


class Cancelled(_Frozen):
    """A session that could not be held, with the reason."""

    session: str
    why: str


class News(_Frozen):
    """Something told after the workbook was filled in: who stays away or comes after all, what is closed or missing.

    Kept with the plan, so that the next replan and every audit know it too.
    """

    kind: Literal["absent", "here", "closed", "unlit", "missing kit"]
    about: str = Field(description="a player, a coach, a pitch or a kit item, by id")
    date: dt.date
    start: Clock = Field(default=0, alias="from")
    end: Clock = Field(default=24 * 60, alias="to")
    zones: tuple[int, ...] = Field(default=(), description="closed: these zones; empty: the whole pitch")
    count: int = Field(default=0, description="missing kit: so many of the item")
    site: str = Field(default="", description="missing kit: where")


class WeekPlan(_Frozen):
    """The week of one club, sessions in order of day, start, pitch, zones."""

    schema_: Literal["evenweek-plan-1"] = Field(default=SCHEMA, alias="schema")
    club: str
    week: dt.date
    timezone: str
    revision: int = Field(default=1, description="1 for the first plan of a week, raised by every replan")
    sessions: tuple[PlannedSession, ...]
    cancelled: tuple[Cancelled, ...] = ()
    proofs: tuple[Proof, ...] = ()
    unmet: tuple[Unmet, ...] = ()
    not_checked: tuple[str, ...] = ()
    news: tuple[News, ...] = ()

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> WeekPlan:
        """A copy with some fields replaced; what was worked out from the old fields is forgotten."""
        copied = super().model_copy(update=update, deep=deep)
        copied.__dict__.pop("by_session", None)
        return copied

    @cached_property
    def by_session(self) -> dict[str, PlannedSession]:
        """Planned sessions by the id asked for; the first where an id stands twice."""
        found: dict[str, PlannedSession] = {}
        for planned in self.sessions:
            found.setdefault(planned.session, planned)
        return found

    def sessions_of(self, player: str) -> tuple[PlannedSession, ...]:
        """The sessions a player comes to, in order of time."""
        return tuple(
            sorted((s for s in self.sessions if player in s.players), key=lambda s: (s.date, s.start, s.session))
        )

    def to_json(self) -> str:
        """The bytes of `plan.json`: keys in the order of the schema, two blanks a level, one newline at the end."""
        return self.model_dump_json(by_alias=True, indent=2) + "\n"

    @classmethod
    def from_json(cls, text: str | bytes) -> WeekPlan:
        """Read `plan.json`; pydantic's ValidationError where it is not one."""
        return cls.model_validate_json(text)
