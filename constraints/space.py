"""Room to play: square metres for each player inside what the practice asks for."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.places import Pitch
from scheduler.club.programme import Kind, Practice
from scheduler.contract import Basis, Severity, Source, Violation
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.timeline import BlockTime, StationTime, groups_of, timeline, zones_of_stations
from scheduler.rotation.setting import keepers_in

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot

WISH = "room to play"


def most_at_once(club: Club, session: str, practice: Practice) -> int | None:
    """The most players who can be in the areas of a practice at once; None where its sizes set no end."""
    if practice.attackers is None:
        return None
    keepers = keepers_in(club, session, practice)
    if practice.kind is Kind.GAME:
        return practice.areas * 2 * (practice.attackers.most + keepers)
    if practice.kind is Kind.PART and practice.defenders is not None:
        return practice.areas * (practice.attackers.most + practice.defenders.most + keepers)
    return None


def _zone_area(pitch: Pitch) -> Fraction | None:
    """Square metres of one zone, exactly as written in the workbook."""
    if pitch.length is None or pitch.width is None:
        return None
    return Fraction(str(pitch.length)) * Fraction(str(pitch.width)) / pitch.zones


class Space:
    """`m2 a player`: least firm, most a wish."""

    name = "space"
    words = (
        "The zones of a station, shared by everybody who plays there (not by who rests), give each at least the "
        "practice's least square metres; more than its most is a wish not met."
    )
    source = Source(
        "area per player as in IFAB Law 1 and the small-sided standards of U.S. Soccer 2017: ground divided by players",
        "the bounds are the club's own; that the zones are shared evenly is our choice",
        Basis.OURS,
    )
    firm = True

    def off(self, club: Club) -> str | None:
        """Off where no practice gives bounds or no pitch its size."""
        if not any(practice.m2_least or practice.m2_most for practice in club.practices):
            return "no practice says m2 a player"
        if all(pitch.zone_area() is None for pitch in club.pitches):
            return "no pitch has a length and a width"
        return None

    # the booking

    def post(self, club: Club, model: BookingModel) -> None:
        """In a slot no more may come than its ground has room for; ground beyond the most costs a wish."""
        for ask in club.sessions:
            on = model.switch(self.name, ask.id, f"{ask.id} has room enough for everybody who plays")
            rooms: dict[int, list[Slot]] = {}
            wide: list[Slot] = []
            everybody = sum(squad.size for squad in model.children.squads_in(ask.id))
            known: dict[tuple[str, int], tuple[int, bool]] = {}
            for slot in model.slots(ask.id):
                key = (slot.pitch, len(slot.zones))
                if key not in known:
                    pitch, zones, blocks = club.pitch(slot.pitch), slot.zones, timeline(club, ask.id)
                    most = min((self._room(club, ask.id, block, pitch, zones) for block in blocks), default=everybody)
                    known[key] = (most, _too_wide(club, ask.id, pitch, zones))
                room, too_wide = known[key]
                if room < everybody:
                    rooms.setdefault(room, []).append(slot)
                if too_wide:
                    wide.append(slot)
            for room, slots in rooms.items():
                here = model.is_where(ask.id, set(slots).__contains__)
                model.at_most(on, [model.children.headcount(ask.id), (everybody - room) * here], everybody)
            if wide:
                there = model.is_where(ask.id, set(wide).__contains__)
                model.penalise(WISH, 1, there, (ask.id,), f"{ask.id} has more ground than its practices ask for")

    def _room(self, club: Club, session: str, block: BlockTime, pitch: Pitch, zones: tuple[int, ...]) -> int:
        """The most players who may come so that each station of a block has its least area a player."""
        groups = groups_of(club, session) if len(block.stations) > 1 else 1
        rooms = [10**6]
        for station, part in zip(block.stations, zones_of_stations(club, block, zones), strict=True):
            area, least = _zone_area(pitch), station.practice.m2_least
            if area is None or not least:
                continue
            fit = int(area * len(part) / Fraction(str(least)))
            most = most_at_once(club, session, station.practice)
            if most is None or most > fit:
                rooms.append(fit * groups)
        return min(rooms)

    # the audit

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Metres for each player, rep by rep where places are given, else for all who could play at once."""
        for planned in plan.sessions:
            pitch = club.pitch(planned.pitch)
            for block in timeline(club, planned.session):
                for station, zones in zip(block.stations, zones_of_stations(club, block, planned.zones), strict=True):
                    yield from self._at_station(club, planned, block, station, pitch, len(zones))
            if _spacious(club, planned, pitch):
                text = f"{planned.session} on {pitch.id} has more ground than its practices ask for"
                yield Violation(WISH, (planned.session,), text, 1, "sessions", Severity.NOTE)

    def _at_station(self, club: Club, planned: PlannedSession, block: BlockTime, station: StationTime, pitch: Pitch,
                    zones: int) -> Iterator[Violation]:  # fmt: skip
        least = station.practice.m2_least
        if not least or pitch.length is None or pitch.width is None:
            return
        playing = _playing(club, planned, block, station)
        ground = Fraction(str(pitch.length)) * Fraction(str(pitch.width)) * zones / pitch.zones
        if playing and ground / playing < Fraction(str(least)):
            each = float(ground / playing)
            text = f"{station.practice.id} in {planned.session} has {each:.1f} m2 a player for {playing}, "
            text += f"at least {least:g}"
            by = Fraction(str(least)) - ground / playing
            yield Violation(self.name, (planned.session, station.practice.id), text, by, "m2 a player")


def _playing(club: Club, planned: PlannedSession, block: BlockTime, station: StationTime) -> int:
    """The most who play at a station at once: by the places where there are any, else by the practice's sizes."""
    placed = [
        sum(1 for place in rep.places if place.role != "rest")
        for laid in planned.blocks
        if laid.block == block.block
        for at in laid.stations
        if at.station == station.station
        for rep in at.reps
    ]
    if any(placed):
        return max(placed)
    groups = groups_of(club, planned.session) if len(block.stations) > 1 else 1
    share = (len(planned.players) + groups - 1) // groups
    places = _places(club, planned, station.practice)
    return share if places is None else min(share, places)


def _places(club: Club, planned: PlannedSession, practice: Practice) -> int | None:
    """Places that can be filled at once, counted area by area and side by side; None where sizes set no end.

    Where Keepers is blank each goal has one, but for games of U7 and younger, which have no keepers.
    """
    two_sides = (practice.attackers, practice.attackers if practice.kind is Kind.GAME else practice.defenders)
    if practice.kind is Kind.TOGETHER or None in two_sides:
        return None
    game, small = practice.kind is Kind.GAME, any(club.team(team).age_group < 8 for team in planned.teams)
    in_goal = practice.keepers if practice.keepers is not None else 0 if game and small else 1
    total = 0
    for _area in range(practice.areas):
        total += sum(side.most for side in two_sides if side is not None)
        total += in_goal + in_goal if game else in_goal
    return total


def _spacious(club: Club, planned: PlannedSession, pitch: Pitch) -> bool:
    """Whether some station leaves more than its most square metres a player even when all its places are filled."""
    if pitch.length is None or pitch.width is None:
        return False
    strip = Fraction(str(pitch.length)) / pitch.zones * Fraction(str(pitch.width))
    each = [
        (sum(strip for _zone in zones) / places, Fraction(str(station.practice.m2_most)))
        for block in timeline(club, planned.session)
        for station, zones in zip(block.stations, zones_of_stations(club, block, planned.zones), strict=True)
        if (places := _places(club, planned, station.practice)) and station.practice.m2_most
    ]
    return any(got > most for got, most in each)


def _too_wide(club: Club, session: str, pitch: Pitch, zones: tuple[int, ...]) -> bool:
    """Whether even with every place taken a station has more than its most square metres a player."""
    area = _zone_area(pitch)
    for block in timeline(club, session) if area is not None else ():
        for station, part in zip(block.stations, zones_of_stations(club, block, zones), strict=True):
            most, wanted = most_at_once(club, session, station.practice), station.practice.m2_most
            if most and wanted and area is not None and area * len(part) > Fraction(str(wanted)) * most:
                return True
    return False
