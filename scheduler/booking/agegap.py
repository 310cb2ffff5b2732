"""Who is too far in age from the others of a session for its blocks with contact, by the years of its members alone.

In one area all are within two years of each other. A child who plays up among much older ones, or an older one who
helps out among the small, may have nobody like that there, or fewer than an area needs: then the child is stood down
from the block, so that the others can play.
"""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.club.club import Club
from scheduler.club.programme import Contact, Kind, Practice
from scheduler.plan.plan import PlannedSession, StoodDown
from scheduler.plan.timeline import BlockTime, timeline
from scheduler.remembered import Remembered

AGE_GAP = "age gap"
MOST_YEARS = 2  # as the rule on age gaps has it


def too_far_in_age(club: Club, planned: PlannedSession, player: str) -> Iterator[StoodDown]:
    """A child out of every block with contact in which no area can be filled with children near enough in age."""
    own = club.age(club.player(player))
    if own is None or club.is_blank("Players.Born"):
        return
    known = _known.of(club, make=dict)
    if (planned.session, own) not in known:
        known[planned.session, own] = tuple(_too_rough(club, planned.session, own))
    for block in known[planned.session, own]:
        start, end = planned.start + block.span.start, planned.start + block.span.end
        yield StoodDown(player=player, why=AGE_GAP, start=start, end=end)


_known = Remembered[dict[tuple[str, int], tuple[BlockTime, ...]]](keep=2)


def _too_rough(club: Club, session: str, own: int) -> Iterator[BlockTime]:
    """The blocks of a session with contact in which too few are near this age."""
    rough = [block for block in timeline(club, session) if _has_contact(block)]
    if not rough:
        return
    ages = [
        age
        for member in club.members(session)
        if not member.limits.no_contact and (age := club.age(member)) is not None
    ]
    near = max(
        sum(youngest <= age <= youngest + MOST_YEARS for age in ages) for youngest in range(own - MOST_YEARS, own + 1)
    )
    for block in rough:
        if near < _needed(block, len(ages)):
            yield block


def _has_contact(block: BlockTime) -> bool:
    return any(station.practice.contact is not Contact.NONE for station in block.stations)


def _needed(block: BlockTime, members: int) -> int:
    """The fewest near enough in age with whom a child can be somewhere in a block; of one single area most of all."""
    if len(block.stations) == 1 and _areas(block.stations[0].practice) == 1:
        return max((members + 1) // 2, _least(block.stations[0].practice))
    return max(_least(one.practice) for one in block.stations if one.practice.contact is not Contact.NONE)


def _areas(practice: Practice) -> int:
    return 1 if practice.kind is Kind.TOGETHER else practice.areas


def _least(practice: Practice) -> int:
    """The fewest in the field of one area."""
    attackers = practice.attackers.least if practice.attackers is not None else 1
    if practice.kind is Kind.GAME:
        return 2 * attackers
    defenders = practice.defenders.least if practice.defenders is not None else 1
    return attackers + defenders if practice.kind is Kind.PART else 1
