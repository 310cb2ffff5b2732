"""Obvious impossibilities, found by counting alone, before anybody is stood down; finding none promises nothing."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator

from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, KeeperWish, Player
from scheduler.club.places import Pitch
from scheduler.club.programme import Kind, KitNeed, Practice, SessionAsk, Sizes
from scheduler.club.when import DAY_MINUTES, Span, day_words
from scheduler.errors import Fault
from scheduler.plan.ledger import policy_of
from scheduler.plan.presence import can_come
from scheduler.plan.timeline import BlockTime, timeline
from scheduler.rotation.setting import keepers_in
from scheduler.rotation.sizes import Shape, all_play
from scheduler.welfare.apart import apart_words
from scheduler.workbook.heading import short_of_headers
from scheduler.workbook.slots import Slot, dark_from, is_free, possible

LEAST_ADULTS = 2
_WILLING = {
    KeeperPolicy.EVERYONE: (KeeperWish.REGULAR, KeeperWish.WILLING, KeeperWish.NOT_ASKED),
    KeeperPolicy.VOLUNTEERS: (KeeperWish.REGULAR, KeeperWish.WILLING),
    KeeperPolicy.REGULARS: (KeeperWish.REGULAR, KeeperWish.WILLING),
}


def _fault(ask: SessionAsk, text: str) -> Fault:
    return Fault(f"Sessions, {ask.id}", text)


def _adults(club: Club, slot: Slot, span: Span) -> int:
    """Adults free for a span, those whose check has run out left out once checks are kept."""
    kept = not club.is_blank("Coaches.Checked until")
    return sum(
        1
        for coach in club.coaches
        if is_free(club, coach.id, slot.date, span)
        and (not kept or (coach.checked_until is not None and coach.checked_until >= slot.date))
    )


def _own(club: Club, ask: SessionAsk, slot: Slot, span: Span) -> tuple[Player, ...]:
    """Players of the session's own teams who can come: they at least are there."""
    return tuple(player for player in _all(club, ask, slot, span) if player.team in ask.teams)


def _all(club: Club, ask: SessionAsk, slot: Slot, span: Span) -> tuple[Player, ...]:
    """Everybody who may be there, guests and those of other teams included."""
    return tuple(player for player in club.members(ask.id) if can_come(club, player.id, slot.date, span))


def adults_needed(club: Club, ask: SessionAsk, players: tuple[Player, ...]) -> int:
    """Two at least, what the session asks for, and the ratio of the youngest there."""
    rows = [club.age_row(player) for player in players]
    ratios = [row.players_per_adult for row in rows if row is not None and row.players_per_adult]
    by_ratio = -(-len(players) // min(ratios)) if ratios else 0
    return max(LEAST_ADULTS, ask.coaches_needed, by_ratio)


def _short_of_adults(club: Club, ask: SessionAsk, spans: list[tuple[Slot, Span]]) -> Fault | None:
    best: tuple[int, int, int] | None = None
    for slot, span in spans:
        players = _own(club, ask, slot, span)
        there, needed = _adults(club, slot, span), adults_needed(club, ask, players)
        if there >= needed:
            return None
        if best is None or there - needed > best[0] - best[1]:
            best = there, needed, len(players)
    if best is None:
        return None
    counted = "" if club.is_blank("Coaches.Checked until") else " (an adult without a check in date does not count)"
    text = f"{best[1]} adults are needed for {best[2]} players and at best {best[0]} are free{counted}"
    return _fault(ask, f"{text}; ask another adult or write other days")


def keepers_a_rep(club: Club, ask: SessionAsk, practice: Practice) -> int:
    """Keepers of a station in one rep, over all its areas and sides."""
    each = keepers_in(club, ask.id, practice)
    return each * practice.areas * (2 if practice.kind is Kind.GAME else 1)


def least_players(club: Club, ask: SessionAsk, practice: Practice) -> int:
    """The fewest players a station can be played with."""
    if practice.attackers is None:
        return 1
    outfield = practice.attackers.least * practice.areas
    if practice.kind is Kind.GAME:
        outfield *= 2
    elif practice.defenders is not None:
        outfield += practice.defenders.least * practice.areas
    return outfield + keepers_a_rep(club, ask, practice)


def _short_of_players(club: Club, ask: SessionAsk, block: BlockTime, players: tuple[Player, ...]) -> Iterator[Fault]:
    needed = sum(least_players(club, ask, station.practice) for station in block.stations)
    if needed > len(players):
        text = f"block {block.label} needs at least {needed} players and {len(players)} can come; choose another Plan"
        yield _fault(ask, f"{text} or smaller sizes")


def _short_of_keepers(club: Club, ask: SessionAsk, players: tuple[Player, ...]) -> Iterator[Fault]:
    """The block that asks for most keepers at once, where fewer may be asked to keep."""
    blocks = timeline(club, ask.id)
    asked = [sum(keepers_a_rep(club, ask, station.practice) for station in block.stations) for block in blocks]
    if not blocks or not players:
        return
    most = max(asked)
    willing = _who_may_keep(club, ask, players)
    if most > willing:
        who = "nobody" if willing == 0 else "only one player" if willing == 1 else f"only {willing} players"
        text = f"block {blocks[asked.index(most)].label} needs {most} in goal at once and {who} may be asked to keep"
        yield _fault(ask, f"{text}; fill in Keeper, or choose a practice without keepers")


def _who_may_keep(club: Club, ask: SessionAsk, players: tuple[Player, ...]) -> int:
    """By the policy of the session's own teams; guests could only make it stricter, and they need not come."""
    able = _WILLING[policy_of(club, [player.id for player in players if player.team in ask.teams])]
    return sum(1 for player in players if player.keeper in able)


def _item(club: Club, need: KitNeed, players: tuple[Player, ...]) -> str | None:
    """The kit item a need means for these players; None where it differs among them."""
    if need.item not in ("ball", "goal"):
        return need.item
    rows = [club.age_row(player) for player in players]
    found = {(row.ball if need.item == "ball" else row.goal) if row is not None else None for row in rows}
    return (found.pop() or need.item) if len(found) == 1 else None


def _kit_of(club: Club, block: BlockTime, players: tuple[Player, ...]) -> Counter[str]:
    asked: Counter[str] = Counter()
    share = len(players) // len(block.stations)
    for station in block.stations:
        for need in station.practice.kit_per_area:
            if item := _item(club, need, players):
                asked[item] += need.quantity * station.practice.areas
        for need in station.practice.kit_per_player:
            if item := _item(club, need, players):
                heads = share // 2 if need.item.split()[0] == "bib" else share
                asked[item] += need.quantity * heads
    return asked


def _short_of_kit(club: Club, ask: SessionAsk, block: BlockTime, players: tuple[Player, ...],
                  sites: set[str], told: set[str]) -> Iterator[Fault]:  # fmt: skip
    """Items of which a block needs more than lie anywhere it could be held, each `told` once a session."""
    for item, asked in _kit_of(club, block, players).items():
        most = max((sum(k.count for k in club.kit if k.item == item and k.site == site) for site in sites), default=0)
        if asked > most and item not in told:
            told.add(item)
            text = f"block {block.label} needs {asked} of '{item}' and {most} lie where it could be held"
            yield _fault(ask, f"{text}; correct Kit or choose another Plan")


def _short_of_room(club: Club, ask: SessionAsk, block: BlockTime, players: tuple[Player, ...],
                   pitches: list[Pitch]) -> Iterator[Fault]:  # fmt: skip
    """A block whose least numbers need more square metres than its zones have anywhere it could be held."""
    needed = 0.0
    for station in block.stations:
        together = station.practice.kind is Kind.TOGETHER
        heads = len(players) // len(block.stations) if together else least_players(club, ask, station.practice)
        needed += heads * (station.practice.m2_least or 0)
    rooms = [area * (ask.zones or pitch.zones) for pitch in pitches if (area := pitch.zone_area()) is not None]
    if rooms and len(rooms) == len(pitches) and needed > max(rooms):
        text = f"block {block.label} needs {needed:.0f} square metres at least and its zones have {max(rooms):.0f}"
        yield _fault(ask, f"{text}; more zones, another Plan or a smaller m2 a player least")


def _kept_together(club: Club, ask: SessionAsk, block: BlockTime, emptiest: tuple[Player, ...],
                   players: tuple[Player, ...]) -> Iterator[Fault]:  # fmt: skip
    """One area in which everybody plays, however many come, with two in it who are to be kept apart."""
    practice = block.stations[0].practice
    game, sizes = practice.kind is Kind.GAME, practice.defenders or Sizes(0, 0, 0)
    if len(block.stations) > 1 or practice.areas > 1 or practice.attackers is None:
        return
    there = {player.id for player in players if player.team in ask.teams and not player.limits.no_contact}
    foes = ((p.id, other) for p in players if p.id in there for other in p.apart_from if other in there)
    pair = next(foes, None)
    shape = Shape(game, practice.attackers, sizes, 1, () if game else (0,), (False, False))
    goals, apart = keepers_a_rep(club, ask, practice), _sides_apart(club, ask, practice, players)
    fields = range(max(0, len(emptiest) - goals), len(players) - goals + 1)
    if pair is not None and fields and all(all_play(shape, field, apart) for field in fields):
        text = f"in block {block.label} everybody plays in one area, {apart_words(club, *pair)} among them"
        yield _fault(ask, f"{text}; choose a practice with two areas, or leave one of the two out (Without)")


def _sides_apart(club: Club, ask: SessionAsk, practice: Practice, players: tuple[Player, ...]) -> int:
    """How far the two sides in the field can differ: even at the start but for who comes, goes or is in goal later."""
    some_time = sum(any(0 < sum(span.minutes for span in can_come(club, player.id, date, Span(0, DAY_MINUTES)))
                        < DAY_MINUTES for date in club.dates) for player in players)  # fmt: skip
    goals = {keepers_a_rep(club, ask, station.practice) for block in timeline(club, ask.id)
             for station in block.stations if station.practice.kind is not Kind.TOGETHER}  # fmt: skip
    only_keep = len(goals) == 1 and _who_may_keep(club, ask, players) <= min(goals)
    return 1 + some_time + (0 if only_keep else keepers_a_rep(club, ask, practice))


def _session(club: Club, ask: SessionAsk, spans: list[tuple[Slot, Span]], why: str) -> Iterator[Fault]:
    if not spans:
        yield _fault(ask, f"it cannot be held: {why}")
        return
    short = _short_of_adults(club, ask, spans)
    if short is not None:
        yield short
    days = list({slot.date: slot for slot, _ in spans}.values())
    whole = Span(0, DAY_MINUTES)
    fullest = max((_all(club, ask, slot, whole) for slot in days), key=len)
    emptiest = min((_own(club, ask, slot, whole) for slot in days), key=len)
    if not fullest:
        yield _fault(ask, "none of its players can come on any day it could be held; check Players and Absences")
        return
    pitches = list({slot.pitch.id: slot.pitch for slot, _ in spans}.values())
    sites = {pitch.site for pitch in pitches}
    yield from _short_of_keepers(club, ask, fullest)
    told: set[str] = set()
    for block in timeline(club, ask.id):
        yield from _short_of_players(club, ask, block, fullest)
        yield from _short_of_room(club, ask, block, emptiest, pitches)
        yield from _kept_together(club, ask, block, emptiest, fullest)
        if not club.is_blank("Kit"):
            yield from _short_of_kit(club, ask, block, emptiest, sites, told)


def _zone_minutes(club: Club) -> Iterator[Fault]:
    """All that is asked for over the week against all that is open and light."""
    smallest = min((pitch.zones for pitch in club.pitches), default=1)
    asked = sum(ask.minutes * (ask.zones or smallest) for ask in club.sessions)
    there = 0
    for pitch in club.pitches:
        for date in club.dates:
            minutes: set[int] = set()
            for opening in pitch.openings_on(date):
                end = min(opening.span.end, dark_from(club, pitch, opening, date))
                minutes.update(range(opening.span.start, end))
            there += len(minutes) * pitch.zones
    if asked > there:
        text = f"they ask for {asked} zone-minutes this week and the pitches offer {there} in opening hours and light"
        yield Fault("Sessions", f"{text}; fewer or shorter sessions, fewer zones, or longer hours")


def _short_of_days(club: Club, dates_of: dict[str, set[dt.date]]) -> Iterator[Fault]:
    """Teams that ask for more sessions than there are days that could hold any of them: one session a day.

    A session that no day can hold is a fault of its own, and needs no day.
    """
    for team in club.teams:
        asks = [ask for ask in club.sessions if team.id in ask.teams and dates_of[ask.id]]
        dates = {date for ask in asks for date in dates_of[ask.id]}
        if len(asks) > len(dates):
            days = " and ".join(day_words(date) for date in sorted(dates))
            text = f"{len(asks)} sessions need as many days and only {days} can hold any of them"
            yield Fault(
                f"Teams, {team.id}", f"{text}; ask for fewer, or find a pitch that is open and light on another day"
            )


def impossibilities(club: Club) -> list[Fault]:
    """What plainly stands in the way of any plan, in the order of the sessions; empty where counting finds nothing."""
    found: list[Fault] = []
    if len(club.coaches) < LEAST_ADULTS:
        found.append(Fault("Coaches", "there are fewer than two adults, and every session needs two; add another"))
    dates_of: dict[str, set[dt.date]] = {}
    for ask in club.sessions:
        spans, why = possible(club, ask)
        dates_of[ask.id] = {slot.date for slot, _ in spans}
        found.extend(_session(club, ask, spans, why))
    found.extend(_short_of_days(club, dates_of))
    found.extend(short_of_headers(club))
    found.extend(_zone_minutes(club))
    return found
