"""Who wears what, who comes late or goes early, and who is stood down and where: the card's lines about children."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from scheduler.club.club import Club
from scheduler.club.when import Span, hhmm
from scheduler.plan.names import adults, side_words, zones_words
from scheduler.plan.plan import Block, Place, PlannedSession, Station
from scheduler.plan.presence import can_come, there
from scheduler.welfare.weather import HEAT

Stations = Sequence[tuple[Block, Station]]


def _places(stations: Stations) -> list[tuple[Block, int, Place]]:
    return [(block, rep.rep, place) for block, station in stations for rep in station.reps for place in rep.places]


def sides_worn(stations: Stations) -> dict[str, str]:
    """The side each child wears in the outfield most of the time; children who only keep goal are left out."""
    worn: dict[str, Counter[str]] = {}
    for _, _, place in _places(stations):
        if place.side and place.role != "keep":
            worn.setdefault(place.player, Counter())[place.side] += 1
    return {player: counts.most_common(1)[0][0] for player, counts in worn.items()}


def side_lines(stations: Stations, names: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """(bibs, names) for each side, and (`keeper's bib`, names): whoever only keeps goal, then who keeps it in turn."""
    worn = sides_worn(stations)
    keepers = {place.player for _, _, place in _places(stations) if place.role == "keep"}
    lines = [
        (side_words(side), ", ".join(name for player, name in names.items() if worn.get(player) == side))
        for side in sorted(set(worn.values()))
    ]
    only = ", ".join(name for player, name in names.items() if player in keepers and player not in worn)
    turns = ", ".join(name for player, name in names.items() if player in keepers and player in worn)
    who = "; ".join(filter(None, (only, f"in turn {turns}" if turns else "")))
    return (*lines, *([("keeper's bib", who)] if who else []))


def late_lines(club: Club, planned: PlannedSession, stations: Stations, names: Mapping[str, str],
               group: int) -> tuple[str, ...]:  # fmt: skip
    """`Mia comes at 18:20: in from block 2, rep 2 (18:20), own shirts`, and the same for who goes early."""
    worn, placed = sides_worn(stations), _places(stations)
    mine = {place.player for _, _, place in placed if place.group == group}
    starts = {(block.block, rep.rep): rep.start for block, station in stations for rep in station.reps}
    lines = []
    for player, name in names.items():
        spans = can_come(club, player, planned.date, planned.span)
        if player not in mine or not spans:
            continue
        own = [(block.block, rep) for block, rep, place in placed if place.player == player]
        if spans[0].start > planned.start:
            block, rep = own[0]
            wears = f", {side_words(worn[player])}" if player in worn else ""
            at = hhmm(starts[own[0]])
            arrives = hhmm(spans[0].start)
            lines.append(f"{name} comes at {arrives}: in from block {block}, rep {rep} ({at}){wears}.")
        if spans[-1].end < planned.end:
            block, rep = own[-1]
            lines.append(f"{name} leaves at {hhmm(spans[-1].end)}: last in block {block}, rep {rep}.")
    return tuple(lines)


def heat_stop(club: Club, planned: PlannedSession) -> int | None:
    """The minute of the day at which the last child stops where heat ends a session early; else None."""
    if all(down.why != HEAT for down in planned.stood_down):
        return None
    return max((span.end for player in planned.players for span in there(club, planned, player)), default=None)


def stood_down_lines(club: Club, planned: PlannedSession, stations: Stations, names: Mapping[str, str],
                     group: int) -> tuple[str, ...]:  # fmt: skip
    """Where a stood-down child is, from when to when and with whom; why only where it is the heat for everybody."""
    stop = heat_stop(club, planned)
    lines = [] if stop is None else [f"Everybody stops at {hhmm(stop)} because of the heat."]
    groups = {
        place.player: place.group for b in planned.blocks for s in b.stations for r in s.reps for place in r.places
    }
    for down in planned.stood_down:
        if groups.get(down.player, 1) != group or (stop is not None and down.start >= stop):
            continue
        name = names[down.player]
        whole = down.start <= planned.start and down.end >= planned.end
        when = " in this session" if whole else f", {hhmm(down.start)} to {hhmm(down.end)}"
        zones, who = _with_whom(planned, stations, down.span)
        listed = adults(club, who)
        keeps = f"with {listed[-1]}" if listed else "with an adult"
        sight = f", in sight of {listed[0]}" if len(listed) > 1 else ", in sight of a second adult"
        comes = "if the child comes, " if whole else ""
        until = "until collected" if whole else "until collected or back in"
        lines.append(f"{name} takes no part{when}: {comes}at the touchline by {zones_words(zones)} {keeps}{sight}, "
                     f"{until}.")  # fmt: skip
    return tuple(lines)


def _with_whom(planned: PlannedSession, stations: Stations, span: Span) -> tuple[tuple[int, ...], tuple[str, ...]]:
    """The zones and adults of the station a child stands beside, two adults wherever the session has them."""
    station = next((station for block, station in stations if block.span.overlaps(span)), None)
    if station is None:
        return planned.zones, planned.coaches
    others = tuple(coach for coach in planned.coaches if coach not in station.coaches)
    return station.zones or planned.zones, (*station.coaches, *others)[:2]
