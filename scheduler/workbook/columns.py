"""What a column of the club workbook is: heading, kind of value, whether it must be filled, its note and example."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property


class Kind(StrEnum):
    """The kind of value a cell holds."""

    TEXT = "text"
    LIST = "list"
    WHOLE = "whole number"
    NUMBER = "number"
    DATE = "date"
    DATES = "dates"
    DATE_OR_DAYS = "date or days"
    BORN = "birth date"
    TIME = "time"
    DAYS = "days"
    YES_NO = "yes or no"
    CHOICE = "choice"
    SIZES = "sizes"
    KIT = "kit"
    LIMITS = "limits"
    HOURS = "hours"
    ZONES = "zone numbers"
    ZONE_COUNT = "number of zones"
    LIT = "lit"
    AGE_GROUP = "age group"
    WARMTH = "temperature"


class Need(StrEnum):
    """Whether a cell must be filled. TOGETHER: may stay blank in every row, but not in some rows only."""

    MUST = "must"
    TOGETHER = "all or none"
    MAY = "may"


_NARROW = (Kind.WHOLE, Kind.NUMBER, Kind.TIME, Kind.YES_NO, Kind.ZONES, Kind.ZONE_COUNT, Kind.LIT, Kind.AGE_GROUP)


@dataclass(frozen=True)
class Column:
    """One column. `note` is shown on the heading; `refers` names the sheets whose ids may stand here."""

    heading: str
    kind: Kind
    need: Need
    note: str
    example: object = None
    choices: tuple[str, ...] = ()
    least: float | None = None
    most: float | None = None
    refers: tuple[str, ...] = ()
    private: bool = False
    also: tuple[str, ...] = ()
    wide: int = 0

    @property
    def width(self) -> int:
        """Width of the column in characters."""
        return self.wide or (10 if self.kind in _NARROW else 14)

    @cached_property
    def key(self) -> str:
        """The heading in lower snake case, as in the JSON form."""
        return snake(self.heading)

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """The key and those of other spellings of the heading."""
        return (self.key, *(snake(other) for other in self.also))


@dataclass(frozen=True)
class Sheet:
    """One sheet. `upright`: fields stand below each other (Field, Value) instead of side by side."""

    name: str
    note: str
    columns: tuple[Column, ...]
    required: bool = False
    upright: bool = False

    @cached_property
    def key(self) -> str:
        """The name in lower case, as in the JSON form."""
        return snake(self.name)

    @cached_property
    def by_key(self) -> dict[str, Column]:
        """The columns by key, other spellings included."""
        return {key: column for column in self.columns for key in column.keys}

    def column(self, heading: str) -> Column:
        """The column of this heading; KeyError where there is none."""
        return self.by_key[snake(heading)]


def snake(heading: str) -> str:
    """A heading in lower snake case: `Length m` is `length_m`, `Kick-off` is `kick_off`."""
    plain = unicodedata.normalize("NFKC", heading).casefold()
    return re.sub(r"[^0-9a-z]+", "_", plain).strip("_")
