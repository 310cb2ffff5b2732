"""Published heading guidance to choose from. A set that gives no number says so: never 0, never unlimited.

The firm limit of the plan is the age row's `Headers a week`; these stand beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scheduler.contract import Source
from scheduler.welfare.words import Word, against_most


@dataclass(frozen=True)
class Heading:
    """What a set says for one child in training. None: it gives no number. `per` is `week` or `session`."""

    minutes: int | None
    headers: int | None
    text: str
    per: str = "week"
    headers_from: int | None = None

    @property
    def gives_a_number(self) -> bool:
        """Whether there is anything to count against."""
        return self.minutes is not None or self.headers is not None


@dataclass(frozen=True)
class HeadingSet:
    """One body's guidance."""

    id: str
    source: Source
    says: Callable[[int, int], Heading]


def _none(text: str) -> Heading:
    return Heading(None, None, text)


def _us_soccer(age: int, age_group: int) -> Heading:
    if age_group <= 11 or age <= 10:
        return Heading(
            0, 0, "no heading in practice or games for U11 and younger, nor for a 10-year-old in an older team"
        )
    if age_group <= 13 or age <= 12:
        text = "at most 30 minutes and 15 to 20 headers a week in training; also for 11 and 12 in an older team"
        return Heading(30, 20, text, headers_from=15)
    return _none("no number for U14 and older")


def _uefa(age: int, age_group: int) -> Heading:
    return _none(
        "gives no number: right ball size, lowest pressure the laws allow, neck strength, watch for concussion, "
        "as little heading practice as possible"
    )


def _scottish(age: int, age_group: int) -> Heading:
    if age <= 11:
        return Heading(0, 0, "none in training for the 6s to 11s")
    if age == 12:
        text = "12s: at most 5 headers in a session, one such session a month, a light ball, unopposed"
        return Heading(None, 5, text, per="session")
    return _none("its numbers for 13 and older were not found, so none stand here")


def _canada(age: int, age_group: int) -> Heading:
    return _none(
        "heading restricted until 12: beach or soft ball at U8, light foam ball at U10, soft ball at U12; no number"
    )


def _flanders(age: int, age_group: int) -> Heading:
    if age_group <= 9:
        return Heading(0, 0, "no heading under 9, in matches or training")
    return _none("says nothing from U10 up")


def _knvb(age: int, age_group: int) -> Heading:
    if age_group <= 12:
        return Heading(None, 10, "under 12: 5 to 10 headers a training session at most", per="session", headers_from=5)
    return _none("gives no number from U13 up")


def _dfb(age: int, age_group: int) -> Heading:
    return _none("gives no number: balls thrown by hand for the young, no block of many repetitions, light balls")


US_SOCCER = HeadingSet("U.S. Soccer", Source("U.S. Soccer, Recognize to Recover", "2015 and 2016"), _us_soccer)
HEADING_SETS: tuple[HeadingSet, ...] = (
    US_SOCCER,
    HeadingSet("UEFA", Source("UEFA Heading Guidelines for Youth Players", "June 2020"), _uefa),
    HeadingSet("Scottish FA", Source("Scottish FA, heading guidance for children's football"), _scottish),
    HeadingSet("Canada Soccer", Source("Canada Soccer, heading policy", "restated 27 February 2020"), _canada),
    HeadingSet("Voetbal Vlaanderen", Source("Voetbal Vlaanderen, heading under 9", "from season 2024/25"), _flanders),
    HeadingSet("KNVB", Source("KNVB, heading advice for youth", "seen through a press digest only"), _knvb),
    HeadingSet("DFB", Source("DFB, heading recommendations for youth"), _dfb),
)


def heading_limit(age: int, team_age_group: int, heading_set: HeadingSet = US_SOCCER) -> Heading:
    """What a set says for a child of this age (whole years) who trains with this age group (14 for U14)."""
    return heading_set.says(age, team_age_group)


def stricter(one: Heading, other: Heading) -> Heading:
    """Of two answers of the same set (a child in two teams) the one that allows less."""
    if not other.gives_a_number:
        return one
    if not one.gives_a_number:
        return other
    return one if (one.headers or 0) <= (other.headers or 0) else other


def word_for(limit: Heading, minutes: Sequence[int], headers: Sequence[int]) -> Word:
    """The word for one child's sessions of a week, given as minutes and headers session by session.

    Close starts where the set's own range starts (15 of 15 to 20), else at the usual part of the cap.
    """
    if not limit.gives_a_number:
        return Word.NO_NUMBER
    count = max(headers, default=0) if limit.per == "session" else sum(headers)
    words = [against_most(count, limit.headers), against_most(sum(minutes), limit.minutes)]
    if Word.OVER in words:
        return Word.OVER
    near = limit.headers_from is not None and count >= limit.headers_from
    return Word.CLOSE if near or Word.CLOSE in words else Word.ROOM
