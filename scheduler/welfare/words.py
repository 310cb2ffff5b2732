"""The three words of the welfare file, and when each is used."""

from __future__ import annotations

from enum import StrEnum

CLOSE_FROM = 90  # per cent of a cap
CLOSE_MINUTES = 15  # before a time of day


class Word(StrEnum):
    """How a planned figure stands to its limit."""

    ROOM = "room"
    CLOSE = "close"
    OVER = "over"
    NO_NUMBER = "no number given"
    NOT_KNOWN = "not known"


MEANING = (
    f"room: inside the limit entered. close: at or above {CLOSE_FROM} % of it (one of one counts as room); for a least "
    f"number of days exactly at it; for a time of day less than {CLOSE_MINUTES} minutes before it. over: the limit "
    "entered is not held. no number given: the source or the age row has none, which is neither 0 nor unlimited."
)


def against_most(planned: int, cap: int | None) -> Word:
    """A figure that may not exceed a cap. Nothing planned is always room, also under a cap of 0; so is one of one."""
    if cap is None:
        return Word.NO_NUMBER
    if planned > cap:
        return Word.OVER
    near = planned > 0 and cap > 1 and 100 * planned >= CLOSE_FROM * cap
    return Word.CLOSE if near else Word.ROOM


def against_least(planned: int, least: int | None) -> Word:
    """A figure that may not fall short."""
    if least is None:
        return Word.NO_NUMBER
    if planned < least:
        return Word.OVER
    return Word.CLOSE if planned == least and least > 0 else Word.ROOM


def against_clock(minute: int | None, latest: int | None) -> Word:
    """A time of day that may not be later; `minute` None: nothing that day has a known end."""
    if latest is None:
        return Word.NO_NUMBER
    if minute is None:
        return Word.ROOM
    if minute > latest:
        return Word.OVER
    return Word.CLOSE if minute > latest - CLOSE_MINUTES else Word.ROOM
