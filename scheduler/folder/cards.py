"""Rotation cards as content: everything a card says, in the order it says it, for paper and phone alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.club.programme import Kind
from scheduler.club.when import Span, day_words, hhmm
from scheduler.folder.cautions import help_words, not_checked
from scheduler.folder.kit import kit_words
from scheduler.folder.people import heat_stop, late_lines, side_lines, stood_down_lines
from scheduler.folder.slots import SlotRow, rest_names, slot_rows
from scheduler.folder.whistle import whistle_words
from scheduler.plan.names import adults, join, place_words, plain, plan_number, session_names, side_words, zones_words
from scheduler.plan.plan import Block, Place, PlannedSession, Rep, Station, WeekPlan
from scheduler.plan.timeline import groups_of, station_of, timeline
from scheduler.remembered import Remembered
from scheduler.replan.differences import places_of, same_place
from scheduler.welfare.weather import weather_rule


@dataclass(frozen=True)
class RepCard:
    """One rep: `minute` since the session's start; `slots` are empty where everybody does the same.

    `printed`: the same rep as it stands on paper, where a screen shows one at a time and so each in full.
    """

    block: int
    rep: int
    minute: int
    span: Span
    slots: tuple[SlotRow, ...]
    rest: tuple[str, ...]
    whistle: str
    printed: RepCard | None = None


@dataclass(frozen=True)
class BlockCard:
    """One block of a card; `kind` decides its columns."""

    block: int
    title: str
    details: str
    kind: Kind
    reps: tuple[RepCard, ...]


@dataclass(frozen=True)
class Card:
    """One card: a session, or one group of it. `heads` are (label, words) pairs, `stations` (block, station) pairs."""

    session: str
    group: int
    title: str
    when: str
    heads: tuple[tuple[str, str], ...]
    sides: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    blocks: tuple[BlockCard, ...]
    stations: tuple[tuple[int, int], ...]
    help: str
    not_checked: tuple[str, ...]
    number: str
    page: int = 1
    pages: int = 1


def cards(club: Club, plan: WeekPlan, earlier: WeekPlan | None = None) -> tuple[Card, ...]:
    """The cards of a week in the order of its sessions, one for each group.

    Remembered for the very same plans: paper and phone show the same cards.
    """
    return _made.of(club, plan, earlier, make=lambda: _cards(club, plan, earlier))


_made = Remembered[tuple[Card, ...]]()


def _cards(club: Club, plan: WeekPlan, earlier: WeekPlan | None) -> tuple[Card, ...]:
    found = []
    for planned in plan.sessions:
        former = earlier.by_session.get(planned.session) if earlier is not None else None
        for group in range(1, _groups(club, planned) + 1):
            found.append(_card(club, plan, planned, group, former))
    return tuple(found)


def _groups(club: Club, planned: PlannedSession) -> int:
    placed = [place.group for b in planned.blocks for s in b.stations for r in s.reps for place in r.places]
    asked = groups_of(club, planned.session) if club.has("session", planned.session) else 1
    return max([asked, *placed]) if any(len(block.stations) > 1 for block in planned.blocks) else 1


def station_for(club: Club, planned: PlannedSession, block: Block, group: int) -> Station:
    """The station of a block where a group is: where its children have places, else where its turn would be."""
    if len(block.stations) == 1:
        return block.stations[0]
    for station in block.stations:
        if any(place.group == group for rep in station.reps for place in rep.places):
            return station
    layout = timeline(club, planned.session)
    number = station_of(layout[block.block - 1], group) if len(layout) >= block.block else group
    return block.stations[min(number, len(block.stations)) - 1]


def _card(club: Club, plan: WeekPlan, planned: PlannedSession, group: int, former: PlannedSession | None) -> Card:
    names = session_names(club, planned)
    stations = [(block, station_for(club, planned, block, group)) for block in planned.blocks]
    stations = [(block, station) for block, station in stations if _held(club, planned, station.reps)]
    groups = _groups(club, planned)
    title = plain(planned.session) + (f", group {group} of {groups}" if groups > 1 else "")
    return Card(
        session=planned.session,
        group=group,
        title=title,
        when=f"{day_words(planned.date)}, {hhmm(planned.start)} to {hhmm(planned.end)}",
        heads=_heads(club, planned, [station for block, station in stations if len(block.stations) > 1], groups),
        sides=side_lines(stations, names),
        notes=(
            *late_lines(club, planned, stations, names, group),
            *stood_down_lines(club, planned, stations, names, group),
        ),
        blocks=tuple(_block(club, planned, block, station, names, former) for block, station in stations),
        stations=tuple((block.block, station.station) for block, station in stations),
        help=help_words(club, planned),
        not_checked=not_checked(plan),
        number=plan_number(plan),
    )


def _held(club: Club, planned: PlannedSession, reps: Sequence[Rep]) -> tuple[Rep, ...]:
    """The reps of a card: all of them, unless heat ends the session before some."""
    stop = heat_stop(club, planned)
    return tuple(rep for rep in reps if stop is None or rep.places)


def _heads(club: Club, planned: PlannedSession, stations: Sequence[Station],
           groups: int) -> tuple[tuple[str, str], ...]:  # fmt: skip
    leader, others = adults(club, planned.coaches[:1]), adults(club, planned.coaches[1:])
    with_us = ""
    if groups > 1:
        mine = list(dict.fromkeys(coach for station in stations for coach in station.coaches))
        if len(mine) < len(planned.coaches):
            with_us = f"; this group: {join(adults(club, mine)) or 'nobody yet'}"
    weather = [verdict.text for verdict in weather_rule(club, planned)] if club.has("pitch", planned.pitch) else []
    people = f"{leader[0]} leads" if leader else "nobody leads yet"
    return (
        ("Where", f"{place_words(club, planned)}. For {join([plain(team) for team in planned.teams])}."),
        ("Adults", people + (f", with {join(others)}" if others else "") + with_us),
        *((("Weather", "; ".join(weather) + "."),) if weather else ()),
    )


def _block(club: Club, planned: PlannedSession, block: Block, station: Station, names: Mapping[str, str],
           former: PlannedSession | None) -> BlockCard:  # fmt: skip
    known = club.has("practice", station.practice)
    kind = club.practice(station.practice).kind if known else Kind.TOGETHER
    details = []
    if len(block.stations) > 1:
        there = f", with {join(adults(club, station.coaches))}" if station.coaches else ""
        details.append(f"Station {station.station}, {zones_words(station.zones)}{there}")
    kit = kit_words(club, planned, station) if known else ""
    if kit:
        details.append(f"Kit: {kit}")
    ground = _ground(club, station) if known else ""
    if ground:
        details.append(ground)
    marks = _marks(planned, block, station, former, names)
    reps = []
    held = _held(club, planned, station.reps)
    for number, rep in enumerate(held):
        before = held[number - 1].places if number else None
        reps.append(_rep(club, planned, block, station, rep, before, names, marks.get(rep.rep, {}), kind))
    title = f"Block {block.block}: {plain(station.practice)}, {hhmm(block.start)} to {hhmm(block.end)}"
    return BlockCard(block.block, title, " ".join(f"{text}." for text in details), kind, tuple(reps))


def _ground(club: Club, station: Station) -> str:
    areas, zones = club.practice(station.practice).areas, station.zones
    if areas == 1 or not zones:
        return ""
    if len(zones) % areas == 0:
        share = len(zones) // areas
        parts = [f"area {a + 1}: {zones_words(zones[a * share : (a + 1) * share])}" for a in range(areas)]
        return "; ".join(parts).capitalize()
    return f"{areas} areas side by side, area 1 at the zone {zones[0]} end"


def _marks(planned: PlannedSession, block: Block, station: Station, former: PlannedSession | None,
           names: Mapping[str, str]) -> dict[int, dict[str, str]]:  # fmt: skip
    """For each rep of a station the words behind the names whose place differs from the former plan's."""
    if former is None:
        return {}
    earlier = places_of(former)
    found: dict[int, dict[str, str]] = {}
    for rep in station.reps:
        key = (planned.session, block.block, rep.rep)
        for place in rep.places:
            was = earlier.get((key, place.player))
            if was is None:
                found.setdefault(rep.rep, {})[place.player] = "NEW (was: not there)"
            elif not same_place(was[1], place):
                found.setdefault(rep.rep, {})[place.player] = f"NEW (was: {_was_words(was[1], place)})"
    return found


def _was_words(was: Place, now: Place) -> str:
    """`rest`, `attack, area 2`; the bibs only where they change too."""
    roles = {"attack": "attack", "defend": "defence", "keep": "goal", "play": "game", "rest": "rest", "all": "together"}
    area = f"area {was.area}" if was.area else ""
    side = side_words(was.side) if was.side != now.side else ""
    return ", ".join(part for part in (roles[was.role], area, side) if part)


def _rep(club: Club, planned: PlannedSession, block: Block, station: Station, rep: Rep,
         before: Sequence[Place] | None, names: Mapping[str, str], marks: Mapping[str, str],
         kind: Kind) -> RepCard:  # fmt: skip
    shown = {player: f"{name} {marks[player]}" if player in marks else name for player, name in names.items()}
    whistle = "Start as listed."
    rows: tuple[SlotRow, ...] = ()
    if kind is Kind.TOGETHER:
        whistle = "Everybody together." if not marks else f"Everybody together. {_listed(marks, shown)}"
    else:
        areas = club.practice(station.practice).areas
        rows = slot_rows(rep.places, areas, kind, planned.sides, shown)
        if before is not None:
            whistle = whistle_words(before, rep.places, names, areas, kind is Kind.GAME)
    return RepCard(block.block, rep.rep, rep.start - planned.start, rep.span, rows,
                   rest_names(rep.places, shown), whistle)  # fmt: skip


def _listed(marks: Mapping[str, str], shown: Mapping[str, str]) -> str:
    return ", ".join(shown[player] for player in marks) + "."
