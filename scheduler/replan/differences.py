"""What differs between two plans of one week, in words, and who must be told. Plain comparison, no solver.

A place is changed when group, area, side or role differs, for a child who is there in that rep in both plans. Reps are
met by session, block, station and number, so a session that only moves to another hour changes no place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from scheduler.club.club import Club
from scheduler.club.when import Span, day_words, hhmm
from scheduler.plan.names import join, zones_words
from scheduler.plan.plan import Place, PlannedSession, WeekPlan
from scheduler.plan.walk import Spot, spots_of
from scheduler.replan.comings import ComesChange, comings, stand_downs

RepKey = tuple[str, int, int]  # session, block, number of the rep: groups move between stations, children do not split


@dataclass(frozen=True)
class SessionChange:
    """A session that moved, is held no longer, or is held after all (then `after` or `before` is None)."""

    session: str
    kind: Literal["moved", "cancelled", "held after all"]
    before: PlannedSession | None
    after: PlannedSession | None
    text: str


@dataclass(frozen=True)
class AdultsChange:
    """Adults who are asked to a session newly, or no longer; `leader` is the new leader where that changed."""

    session: str
    come: tuple[str, ...]
    left: tuple[str, ...]
    leader: str | None
    text: str


@dataclass(frozen=True)
class PlaceChange:
    """One child's place in one rep, before and after."""

    session: str
    block: int
    station: int
    rep: int
    span: Span
    player: str
    before: Place
    after: Place
    text: str


@dataclass(frozen=True)
class Changes:
    """Everything that differs. `places` holds one entry a child and rep."""

    sessions: tuple[SessionChange, ...] = ()
    adults: tuple[AdultsChange, ...] = ()
    places: tuple[PlaceChange, ...] = ()
    comes: tuple[ComesChange, ...] = ()
    stood_down: tuple[ComesChange, ...] = ()

    @property
    def moved(self) -> int:
        """Sessions moved, cancelled or held after all."""
        return len(self.sessions)

    @property
    def nothing(self) -> bool:
        """Whether the plans are the same for everybody."""
        return not (self.sessions or self.adults or self.places or self.comes or self.stood_down)


def differences(club: Club, before: WeekPlan, after: WeekPlan) -> Changes:
    """What differs between two plans of one week; names and ids of the club as it is now."""
    return Changes(
        tuple(_sessions(club, before, after)),
        tuple(change for old, new in _both(before, after) for change in _adults(club, old, new)),
        tuple(change for old, new in _both(before, after) for change in changed_places(club, old, new)),
        tuple(change for old, new in _both(before, after) for change in comings(club, old, new)),
        tuple(change for old, new in _both(before, after) for change in stand_downs(club, old, new)),
    )


def _both(before: WeekPlan, after: WeekPlan) -> Iterator[tuple[PlannedSession, PlannedSession]]:
    for new in after.sessions:
        old = before.by_session.get(new.session)
        if old is not None:
            yield old, new


def where_words(club: Club, planned: PlannedSession) -> str:
    """`Tue 8 Sep 18:00-19:15 on North, zones 1 and 2`; the whole pitch is the pitch alone."""
    whole = club.has("pitch", planned.pitch) and len(planned.zones) == club.pitch(planned.pitch).zones
    zones = "" if whole else f", {zones_words(planned.zones)}"
    return f"{day_words(planned.date)} {planned.span} on {planned.pitch}{zones}"


def stands_as(old: PlannedSession, new: PlannedSession) -> bool:
    """Whether a session is at the same time in the same place in both plans."""
    return (old.date, old.start, old.end, old.pitch, old.zones) == (new.date, new.start, new.end, new.pitch, new.zones)


def _sessions(club: Club, before: WeekPlan, after: WeekPlan) -> Iterator[SessionChange]:
    for old in before.sessions:
        new = after.by_session.get(old.session)
        if new is None:
            why = next((row.why for row in after.cancelled if row.session == old.session), "")
            text = f"{old.session} on {where_words(club, old)} is not held" + (f": {why}" if why else "")
            yield SessionChange(old.session, "cancelled", old, None, text)
        elif not stands_as(old, new):
            text = f"{old.session} moves from {where_words(club, old)} to {where_words(club, new)}"
            yield SessionChange(old.session, "moved", old, new, text)
    for new in after.sessions:
        if new.session not in before.by_session:
            text = f"{new.session} is held after all: {where_words(club, new)}"
            yield SessionChange(new.session, "held after all", None, new, text)


def _adults(club: Club, old: PlannedSession, new: PlannedSession) -> Iterator[AdultsChange]:
    come = tuple(coach for coach in new.coaches if coach not in old.coaches)
    left = tuple(coach for coach in old.coaches if coach not in new.coaches)
    leads = new.coaches[0] if new.coaches and new.coaches[:1] != old.coaches[:1] else None
    if not (come or left or leads):
        return
    parts = []
    if come:
        parts.append(f"{_names(club, come)} {'come' if len(come) > 1 else 'comes'}")
    if left:
        parts.append(f"{_names(club, left)} {'are' if len(left) > 1 else 'is'} not asked any more")
    if leads:
        parts.append(f"{club.called(leads)} leads")
    text = f"{new.session} on {day_words(new.date)}: {', '.join(parts)}"
    yield AdultsChange(new.session, come, left, leads, text)


def places_of(planned: PlannedSession) -> dict[tuple[RepKey, str], tuple[Spot, Place]]:
    """Every place of a session by rep and player; the rep by session, block and number, whatever the station."""
    found: dict[tuple[RepKey, str], tuple[Spot, Place]] = {}
    for spot in spots_of(planned):
        for place in spot.rep.places:
            found.setdefault(((planned.session, spot.block.block, spot.rep.rep), place.player), (spot, place))
    return found


def same_place(one: Place, other: Place) -> bool:
    """Whether group, area, side and role are the same."""
    return (one.group, one.area, one.side, one.role) == (other.group, other.area, other.side, other.role)


def changed_places(club: Club, old: PlannedSession, new: PlannedSession) -> Iterator[PlaceChange]:
    """The places of one session that differ, in order of time."""
    earlier = places_of(old)
    for key, (spot, place) in places_of(new).items():
        found = earlier.get(key)
        if found is None or same_place(found[1], place):
            continue
        was = found[1]
        text = f"{hhmm(spot.rep.start)} {club.called(place.player)} {place_words(place)}; before: {place_words(was)}"
        at = (new.session, spot.block.block, spot.station.station, spot.rep.rep)
        yield PlaceChange(*at, spot.rep.span, place.player, was, place, text)


def place_words(place: Place) -> str:
    """`attacks in area 1 (green)`, `rests`, `keeps the green goal in area 2`."""
    group = f" with group {place.group}" if place.group > 1 else ""
    if place.role == "rest":
        return "rests" + (f" ({place.side})" if place.side else "") + group
    if place.role == "all":
        return "takes part" + group
    area = f" in area {place.area}" if place.area is not None else ""
    if place.role == "keep":
        return f"keeps the {place.side} goal{area}{group}"
    return f"{place.role}s{area} ({place.side}){group}"


def _names(club: Club, coaches: tuple[str, ...]) -> str:
    return join([club.called(coach) for coach in coaches])
