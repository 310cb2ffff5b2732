"""Why the rotation of some booked sessions is impossible, and which of them are the trouble."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.outcome import Clash, Conflict, Demand
from scheduler.replan.mend import Stuck


def conflict_of(club: Club, stuck: Stuck, rules: Sequence[Rule]) -> Conflict:
    """Why a ring has no lawful rotation: what counting shows, each alone, else its sessions together."""
    from scheduler.rotation.shortages import shortages

    demands = shortages(club, stuck.ring, rules)
    if demands:
        return Conflict("rotation", tuple(Clash((_about_session(d, stuck),), minimal=True) for d in demands))
    text = "no rotation of {} meets every firm rule with those who are there"
    rows = tuple(Demand("rotation", one.session, text.format(one.session)) for one in stuck.ring.sessions)
    return Conflict("rotation", (Clash(rows, minimal=False),))


def short_sessions(club: Club, stuck: Stuck, rules: Sequence[Rule]) -> list[str]:
    """The sessions that counting shows to be impossible to play; all of the ring where it shows none."""
    subjects = [demand.subject for clash in conflict_of(club, stuck, rules).clashes for demand in clash.demands]
    return list(dict.fromkeys(subjects))


def cancelled_words(why: str | None) -> str:
    """Why a session is not held."""
    return f"{why}, and no other lawful time or place is left" if why else "no lawful time or place is left"


def _about_session(demand: Demand, stuck: Stuck) -> Demand:
    """The demand with the session as its subject: `Herons 1, block 2, station 1, rep 3` is about Herons 1."""
    names = [one.session for one in stuck.ring.sessions]
    found = [name for name in names if demand.subject == name or demand.subject.startswith(f"{name}, ")]
    return replace(demand, subject=max(found, key=len)) if found else demand
