"""When a session should end for enough sleep: a derived figure, since no published latest finish was found.

Latest end = time to get up - least sleep - time to wind down - way home. Least sleep: American Academy of Sleep
Medicine 2016 (Paruthi et al., J Clin Sleep Med 12:785-786): 3 to 5 years 10 hours, 6 to 12 years 9, 13 to 18 years 8.
Every evening is taken alike, school day or not.
"""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.club.when import DAY_MINUTES
from scheduler.contract import Source

SLEEP_ID = "Sleep, derived"
SOURCE = Source("derived from American Academy of Sleep Medicine 2016, J Clin Sleep Med 12:785-786", "our arithmetic")
LEAST_SLEEP = ((3, 5, 10 * 60), (6, 12, 9 * 60), (13, 18, 8 * 60))


@dataclass(frozen=True)
class Evening:
    """What lies between a session and the morning, minutes (`wake` of the day)."""

    wake: int = 7 * 60
    way_home: int = 30
    wind_down: int = 60


def least_sleep(age: int) -> int | None:
    """Minutes of sleep at least at an age in whole years; None outside 3 to 18."""
    return next((minutes for first, last, minutes in LEAST_SLEEP if first <= age <= last), None)


def asleep_by(age: int, wake: int) -> int | None:
    """The latest minute of the day to be asleep; None where no least sleep is given."""
    sleep = least_sleep(age)
    return None if sleep is None else wake + DAY_MINUTES - sleep


def end_by(age: int, evening: Evening | None = None) -> int | None:
    """The latest end of a session for a child of this age; None where no least sleep is given."""
    evening = evening or Evening()
    asleep = asleep_by(age, evening.wake)
    return None if asleep is None else asleep - evening.wind_down - evening.way_home
