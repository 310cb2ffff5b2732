"""Whether a plan is a plan of this club's week at all: every session as asked, laid out as its session plan says.

The rules judge a well-formed week; this is what they stand on. Plain comparison, every finding at once.
"""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.club.club import Club
from scheduler.club.programme import Kind
from scheduler.club.when import day_words, hhmm
from scheduler.contract import Violation
from scheduler.plan.plan import Block, PlannedSession, Rep, Station, WeekPlan
from scheduler.plan.presence import can_come, in_rep, there
from scheduler.plan.skeleton import lay_blocks
from scheduler.plan.timeline import groups_of, station_of, timeline

NAME = "plan as asked"
ROLES_OF = {
    Kind.TOGETHER: {"all"},
    Kind.GAME: {"play", "keep", "rest"},
    Kind.PART: {"attack", "defend", "keep", "rest"},
}


def _found(about: tuple[str, ...], text: str, by: int = 1, unit: str = "") -> Violation:
    return Violation(rule=NAME, about=about, text=text, by=by, unit=unit)


def audit_structure(club: Club, plan: WeekPlan, *, with_roles: bool = True) -> Iterator[Violation]:
    """Every way in which the plan is not a plan of what the club asked for."""
    if plan.week != club.week:
        yield _found((), f"the plan is for the week of {plan.week}, the club asks for the week of {club.week}")
    yield from _sessions_once(club, plan)
    for planned in plan.sessions:
        if club.has("session", planned.session):
            known = list(_unknown_names(club, planned))
            yield from known
            if not known:
                yield from _booking(club, planned)
                if with_roles:
                    yield from _blocks(club, planned)


def _sessions_once(club: Club, plan: WeekPlan) -> Iterator[Violation]:
    counts: dict[str, int] = {}
    for planned in plan.sessions:
        counts[planned.session] = counts.get(planned.session, 0) + 1
        if not club.has("session", planned.session):
            yield _found((planned.session,), f"{planned.session} is planned, but nobody asked for it")
    cancelled = {row.session for row in plan.cancelled}
    for ask in club.sessions:
        times = counts.get(ask.id, 0)
        if times == 0 and ask.id not in cancelled:
            yield _found((ask.id,), f"{ask.id} is not planned")
        if times > 1 or (times and ask.id in cancelled):
            yield _found((ask.id,), f"{ask.id} is planned {times} times" + (", and cancelled" * (ask.id in cancelled)))


def _unknown_names(club: Club, planned: PlannedSession) -> Iterator[Violation]:
    if not club.has("pitch", planned.pitch):
        yield _found((planned.session,), f"{planned.session}: there is no pitch {planned.pitch}")
    players = {*planned.players, *(down.player for down in planned.stood_down)}
    players |= {place.player for _, _, rep in _reps(planned) for place in rep.places}
    for player in sorted(players):
        if not club.has("player", player):
            yield _found((planned.session, player), f"{planned.session}: there is no player {player}")
    coaches = {*planned.coaches, *(c for block in planned.blocks for s in block.stations for c in s.coaches)}
    for coach in sorted(coaches):
        if not club.has("coach", coach):
            yield _found((planned.session, coach), f"{planned.session}: there is no coach {coach}")


def _reps(planned: PlannedSession) -> Iterator[tuple[Block, Station, Rep]]:
    for block in planned.blocks:
        for station in block.stations:
            for rep in station.reps:
                yield block, station, rep


def _booking(club: Club, planned: PlannedSession) -> Iterator[Violation]:
    ask, name = club.session(planned.session), planned.session
    if planned.teams != ask.teams:
        yield _found((name,), f"{name} is planned for {', '.join(planned.teams)}, asked for {', '.join(ask.teams)}")
    if planned.span.minutes != ask.minutes or planned.end <= planned.start:
        text = f"{name} lasts {planned.end - planned.start} minutes, asked for {ask.minutes}"
        yield _found((name,), text, abs(planned.end - planned.start - ask.minutes), "minutes")
    if planned.date not in club.dates:
        yield _found((name,), f"{name} on {planned.date} lies outside the week of {club.week}")
    if planned.start % club.step:
        yield _found((name,), f"{name} starts at {hhmm(planned.start)}, starts fall on every {club.step} minutes")
    wanted = club.pitch(planned.pitch).zones if ask.zones is None else ask.zones
    zones = planned.zones
    if len(zones) != wanted or any(b - a != 1 for a, b in zip(zones, zones[1:], strict=False)):
        listed = ", ".join(map(str, zones)) or "none"
        yield _found((name,), f"{name} has the zones {listed} of {planned.pitch}; it needs {wanted} side by side")
    if any(not 1 <= zone <= club.pitch(planned.pitch).zones for zone in zones):
        yield _found((name,), f"{name} has a zone that {planned.pitch} does not have")
    yield from _who_comes(club, planned)


def _who_comes(club: Club, planned: PlannedSession) -> Iterator[Violation]:
    name = planned.session
    for kind, listed in (("player", planned.players), ("coach", planned.coaches)):
        for who in sorted({one for one in listed if listed.count(one) > 1}):
            yield _found((name, who), f"{name} lists the {kind} {club.called(who)} twice")
    members = {player.id for player in club.members(name)}
    for player in planned.players:
        if player not in members:
            yield _found((name, player), f"{club.called(player)} is in {name}, but belongs to none of its teams")
    down = {row.player for row in planned.stood_down}
    for member in club.members(name):
        comes = member.id in planned.players
        free = can_come(club, member.id, planned.date, planned.span)
        if free and not comes and member.id not in down and club.is_own(member, name):
            text = f"{member.called} is left out of {name} on {day_words(planned.date)} without a reason"
            yield _found((name, member.id), text)


def _blocks(club: Club, planned: PlannedSession) -> Iterator[Violation]:
    name = planned.session
    wanted = lay_blocks(club, planned).blocks
    if len(planned.blocks) != len(wanted):
        yield _found((name,), f"{name} has {len(planned.blocks)} blocks, its session plan has {len(wanted)}")
        return
    for block, ideal in zip(planned.blocks, wanted, strict=True):
        if not _same_layout(block, ideal):
            text = f"{name}, block {ideal.block}: practices, times or reps are not those of the session plan"
            yield _found((name, f"block {ideal.block}"), text)
            continue
        for station in block.stations:
            if not set(station.zones) <= set(planned.zones):
                yield _found((name,), f"{name}, block {block.block}: station {station.station} lies outside its zones")
            if not set(station.coaches) <= set(planned.coaches):
                yield _found(
                    (name,), f"{name}, block {block.block}: an adult at station {station.station} is not booked"
                )
        yield from _places(club, planned, block)


def _same_layout(block: Block, ideal: Block) -> bool:
    def shape(of: Block) -> object:
        stations = [(s.station, s.practice, [(r.rep, r.start, r.end) for r in s.reps]) for s in of.stations]
        return (of.block, of.start, of.end, stations)

    return shape(block) == shape(ideal)


def _groups(planned: PlannedSession) -> dict[str, set[int]]:
    groups: dict[str, set[int]] = {}
    for _, _, rep in _reps(planned):
        for place in rep.places:
            groups.setdefault(place.player, set()).add(place.group)
    return groups


def _places(club: Club, planned: PlannedSession, block: Block) -> Iterator[Violation]:
    """Everybody who is there has a place, at the station of the group; roles, areas and sides are possible ones."""
    name, groups = planned.session, _groups(planned)
    layout = timeline(club, planned.session)[block.block - 1]
    presence = {player: there(club, planned, player) for player in planned.players}
    count = groups_of(club, name)
    for station in block.stations:
        practice = club.practice(station.practice)
        for rep in station.reps:
            at = f"{name}, block {block.block}, rep {rep.rep}"
            placed = {place.player for place in rep.places}
            for player, spans in presence.items():
                group = min(groups.get(player, {1}))
                here = 1 <= group <= count and station_of(layout, group) == station.station
                if here and player not in placed and in_rep(spans, practice, rep.span):
                    yield _found((name, player), f"{at}: {club.called(player)} is there and has no place")
            for place in rep.places:
                who = club.called(place.player)
                if place.role not in ROLES_OF[practice.kind]:
                    text = f"{at}: {who} cannot {place.role} in {practice.id}, which is a {practice.kind.value}"
                    yield _found((name, place.player), text)
                if place.area is not None and not 1 <= place.area <= practice.areas:
                    yield _found((name, place.player), f"{at}: {practice.id} has no area {place.area}")
                if place.role in ("attack", "defend", "play", "keep") and (place.area is None or place.side is None):
                    yield _found((name, place.player), f"{at}: {who} has no area or no side")
                if place.side is not None and place.side not in planned.sides:
                    text = f"{at}: {place.side} is not one of the sides {' and '.join(planned.sides)}"
                    yield _found((name, place.player), text)
                if station_of(layout, place.group) != station.station or not 1 <= place.group <= count:
                    text = f"{at}: {who} is at station {station.station}, where group {place.group} is not"
                    yield _found((name, place.player), text)
    for player, found in groups.items():
        if len(found) > 1 and block.block == 1:
            yield _found((name, player), f"{name}: {club.called(player)} changes group; groups stay as they are")
