"""Who held which role for how long, against the fair share, at every whistle. Exact fractions, plain counting.

Fair share of a role: over the reps where a player is there and may hold it, the sum of
length x places of that role / players who may hold it, plus what is due. Whoever keeps goal in a rep is not counted
among those who may attack, defend or rest in it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, KeeperStays, KeeperWish
from scheduler.club.programme import Kind
from scheduler.plan.plan import Place, WeekPlan

ROLES = ("attack", "defend", "keep", "rest")


class Whistle(NamedTuple):
    """The end of one rep of the week."""

    date: dt.date
    end: int
    session: str
    block: int
    rep: int


@dataclass(frozen=True)
class Spell:
    """One rep of a `part` or `game` at one station, with everybody who is there."""

    whistle: Whistle
    station: int
    kind: Kind
    minutes: int
    places: tuple[Place, ...]


@dataclass(frozen=True)
class Line:
    """One player and one role over the week, minutes. `worst` is the largest distance from the share at a whistle.

    `held_then` and `share_then` are what stood at that whistle.
    """

    player: str
    role: str
    held: Fraction
    share: Fraction
    due: Fraction
    bound: Fraction
    worst: Fraction
    worst_at: Whistle | None
    held_then: Fraction = Fraction(0)
    share_then: Fraction = Fraction(0)

    @property
    def apart(self) -> Fraction:
        """Held less the fair share at the end of the week; above zero: had more than the share."""
        return self.held - self.share

    @property
    def excess(self) -> Fraction:
        """Minutes beyond the bound at the worst whistle, never below zero."""
        return max(Fraction(0), self.worst - self.bound)


def spells(club: Club, plan: WeekPlan) -> Iterator[Spell]:
    """Every rep of every `part` and `game` of the week, in order of time."""
    found = [
        Spell(
            Whistle(planned.date, rep.end, planned.session, block.block, rep.rep),
            station.station,
            club.practice(station.practice).kind,
            rep.end - rep.start,
            rep.places,
        )
        for planned in plan.sessions
        for block in planned.blocks
        for station in block.stations
        if club.practice(station.practice).kind is not Kind.TOGETHER
        for rep in station.reps
        if rep.places
    ]
    yield from sorted(found, key=lambda spell: (spell.whistle, spell.station))


def policy_of(club: Club, players: Iterable[str]) -> KeeperPolicy:
    """One group's keeper policy: the teams' own where they agree, else `regulars` first, else `volunteers`."""
    found = {club.team(club.player(player).team).keepers for player in players}
    if len(found) == 1:
        return found.pop()
    return KeeperPolicy.REGULARS if KeeperPolicy.REGULARS in found else KeeperPolicy.VOLUNTEERS


def keeper_shares(club: Club, players: Iterable[str], goals: int) -> dict[str, Fraction]:
    """The part of a rep in goal that falls to each player there by the policy; players without a part are left out."""
    there = list(players)
    wish = {player: club.player(player).keeper for player in there}
    regulars = [p for p in there if wish[p] is KeeperWish.REGULAR]
    willing = [p for p in there if wish[p] is KeeperWish.WILLING]
    policy = policy_of(club, there)
    if policy is KeeperPolicy.EVERYONE:
        pool = [p for p in there if wish[p] is not KeeperWish.NO]
        return {p: min(Fraction(1), Fraction(goals, len(pool))) for p in pool}
    if policy is KeeperPolicy.VOLUNTEERS:
        pool = regulars + willing
        return {p: min(Fraction(1), Fraction(goals, len(pool))) for p in pool}
    shares = {p: min(Fraction(1), Fraction(goals, len(regulars))) for p in regulars}
    left = goals - len(regulars)
    if left > 0:
        shares.update({p: min(Fraction(1), Fraction(left, len(willing))) for p in willing})
    return shares


def keeper_stays(club: Club, player: str) -> KeeperStays:
    """How long this player keeps goal at a stretch: the own team's column."""
    return club.team(club.player(player).team).keeper_stays


def _parts(club: Club, spell: Spell) -> dict[tuple[str, str], Fraction]:
    """For each (player, role) of a spell the part of the rep that falls to the player."""
    keeping = [place.player for place in spell.places if place.role == "keep"]
    field = [place.player for place in spell.places if place.role != "keep"]
    parts: dict[tuple[str, str], Fraction] = {}
    if keeping:
        everybody = [place.player for place in spell.places]
        for player, part in keeper_shares(club, everybody, len(keeping)).items():
            parts[player, "keep"] = part
    roles = ("attack", "defend", "rest") if spell.kind is Kind.PART else ("rest",)
    for role in roles:
        held = sum(1 for place in spell.places if place.role == role)
        for player in field:
            parts[player, role] = Fraction(held, len(field))
    return parts


def _stay_key(club: Club, player: str, spell: Spell) -> tuple[object, ...]:
    stays = keeper_stays(club, player)
    at = spell.whistle
    if stays is KeeperStays.SESSION:
        return (at.session,)
    return (at.session, at.block) if stays is KeeperStays.BLOCK else (at.session, at.block, at.rep)


def bounds(club: Club, plan: WeekPlan) -> dict[tuple[str, str], int]:
    """For each (player, role) the longest rep of the player's week in which the role is played; of keep: stay."""
    longest: dict[tuple[str, str], int] = {}
    stays: dict[tuple[str, tuple[object, ...]], int] = {}
    for spell in spells(club, plan):
        goals = any(place.role == "keep" for place in spell.places)
        for place in spell.places:
            roles = ("attack", "defend", "rest") if spell.kind is Kind.PART else ("rest",)
            for role in roles:
                key = (place.player, role)
                longest[key] = max(longest.get(key, 0), spell.minutes)
            if goals:
                stay = (place.player, _stay_key(club, place.player, spell))
                stays[stay] = stays.get(stay, 0) + spell.minutes
    for (player, _), minutes in stays.items():
        longest[player, "keep"] = max(longest.get((player, "keep"), 0), minutes)
    return longest


def dues_counted(club: Club, plan: WeekPlan) -> dict[tuple[str, str], Fraction]:
    """For each (player, role) of the week the minutes due that count: at most one rep, the rest is carried on."""
    dues = {(row.player, role): getattr(row, role) for row in club.carried for role in ROLES}
    return {key: Fraction(max(-most, min(most, dues.get(key, 0)))) for key, most in bounds(club, plan).items()}


class State(NamedTuple):
    """What one player holds and should hold of one role at a whistle, minutes, what is due included."""

    at: Whistle
    player: str
    role: str
    held: Fraction
    share: Fraction


def whistle_states(club: Club, plan: WeekPlan) -> Iterator[State]:
    """After every spell, in order of time: the state of everybody in it, for every role of the player's week."""
    due = dues_counted(club, plan)
    held: dict[tuple[str, str], Fraction] = {}
    share: dict[tuple[str, str], Fraction] = {}
    for spell in spells(club, plan):
        for key, part in _parts(club, spell).items():
            share[key] = share.get(key, due[key]) + part * spell.minutes
        for place in spell.places:
            key = (place.player, place.role)
            held[key] = held.get(key, Fraction(0)) + spell.minutes
        for place in spell.places:
            for role in ROLES:
                key = (place.player, role)
                if key in due and (key in share or key in held):
                    yield State(spell.whistle, *key, held.get(key, Fraction(0)), share.get(key, due[key]))


_last_ledger: list[tuple[Club, WeekPlan, tuple[Line, ...]]] = []


def ledger(club: Club, plan: WeekPlan) -> tuple[Line, ...]:
    """A line for every player and role that the player's week holds, players in the club's order.

    Clubs and plans are frozen, so the last answer serves again for the very same two: several rules ask in a row.
    """
    for known_club, known_plan, lines in _last_ledger:
        if known_club is club and known_plan is plan:
            return lines
    found = _ledger(club, plan)
    _last_ledger[:] = [(club, plan, found)]
    return found


def _ledger(club: Club, plan: WeekPlan) -> tuple[Line, ...]:
    bound, due = bounds(club, plan), dues_counted(club, plan)
    worst: dict[tuple[str, str], tuple[Fraction, State]] = {}
    last: dict[tuple[str, str], State] = {}
    for state in whistle_states(club, plan):
        key = (state.player, state.role)
        last[key] = state
        apart = abs(state.held - state.share)
        if key not in worst or apart > worst[key][0]:
            worst[key] = apart, state
    order = {player.id: number for number, player in enumerate(club.players)}
    lines = []
    for key in sorted(last, key=lambda k: (order[k[0]], ROLES.index(k[1]))):
        end, (apart, off) = last[key], worst[key]
        totals = (end.held, end.share, due[key], Fraction(bound[key]))
        lines.append(Line(*key, *totals, apart, off.at, off.held, off.share))
    return tuple(lines)


def minutes_by_role(plan: WeekPlan) -> dict[str, dict[str, int]]:
    """Minutes each player holds each role over the week, `play` and `all` included."""
    minutes: dict[str, dict[str, int]] = {}
    for planned in plan.sessions:
        for block in planned.blocks:
            for station in block.stations:
                for rep in station.reps:
                    for place in rep.places:
                        of = minutes.setdefault(place.player, {})
                        of[place.role] = of.get(place.role, 0) + rep.end - rep.start
    return minutes
