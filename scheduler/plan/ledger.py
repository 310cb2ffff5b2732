"""Who held which role for how long, against the fair share, at every whistle. Exact fractions, plain counting.

Fair share of a role: over the reps where a player is there and may hold it, the sum of
length x places of that role / players who may hold it, plus what is due. Whoever keeps goal in a rep is not counted
among those who may attack, defend or rest in it.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from scheduler.club.club import Club
from scheduler.club.people import KeeperPolicy, KeeperStays, KeeperWish
from scheduler.club.programme import Kind
from scheduler.plan.plan import Place, WeekPlan
from scheduler.remembered import Remembered

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
        return _shared(goals, pool)
    if policy is KeeperPolicy.VOLUNTEERS:
        return _shared(goals, regulars + willing)
    left = goals - len(regulars)
    return {**_shared(goals, regulars), **(_shared(left, willing) if left > 0 else {})}


def _shared(goals: int, pool: Sequence[str]) -> dict[str, Fraction]:
    """The goals of a rep shared evenly, at most a whole rep each."""
    return dict.fromkeys(pool, min(Fraction(1), Fraction(goals, len(pool)))) if pool else {}


def keeper_stays(club: Club, player: str) -> KeeperStays:
    """How long this player keeps goal at a stretch: the own team's column."""
    return club.team(club.player(player).team).keeper_stays


def _field_roles(spell: Spell) -> tuple[str, ...]:
    """The roles that are shared out in a spell among those who keep no goal."""
    return ("attack", "defend", "rest") if spell.kind is Kind.PART else ("rest",)


def _keeping(spell: Spell) -> int:
    return sum(place.role == "keep" for place in spell.places)


def _stay_key(club: Club, player: str, spell: Spell) -> tuple[object, ...]:
    stays = keeper_stays(club, player)
    at = spell.whistle
    if stays is KeeperStays.SESSION:
        return (at.session,)
    return (at.session, at.block) if stays is KeeperStays.BLOCK else (at.session, at.block, at.rep)


def _bounds(club: Club, found: Iterable[Spell]) -> dict[tuple[str, str], int]:
    """For each (player, role) the longest rep of the player's week in which the role is played; of keep: stay."""
    longest: dict[tuple[str, str], int] = {}
    stays: dict[tuple[str, tuple[object, ...]], int] = {}
    for spell in found:
        goals, minutes, roles = _keeping(spell), spell.minutes, _field_roles(spell)
        for place in spell.places:
            player = place.player
            for role in roles:
                if longest.get((player, role), 0) < minutes:
                    longest[player, role] = minutes
            if goals:
                stay = (player, _stay_key(club, player, spell))
                stays[stay] = stays.get(stay, 0) + minutes
    for (player, _), minutes in stays.items():
        longest[player, "keep"] = max(longest.get((player, "keep"), 0), minutes)
    return longest


def _dues(club: Club, bound: Mapping[tuple[str, str], int]) -> dict[tuple[str, str], int]:
    """For each (player, role) of the week the minutes due that count: at most one rep, the rest is carried on."""
    dues = {(row.player, role): getattr(row, role) for row in club.carried for role in ROLES}
    return {key: max(-most, min(most, dues.get(key, 0))) for key, most in bound.items()}


class State(NamedTuple):
    """What one player holds and should hold of one role at a whistle, what is due included, in parts of a minute."""

    at: Whistle
    player: str
    role: str
    held: int
    share: int


@dataclass(frozen=True)
class Reckoning:
    """A week reckoned in `scale`ths of a minute, of which every share is a whole number.

    `states`: after every spell, in order of time, everybody in it with the roles shared out in it.
    """

    scale: int
    spells: tuple[Spell, ...]
    states: tuple[State, ...]
    lines: tuple[Line, ...]


_reckonings = Remembered[Reckoning](keep=2)


def reckoning(club: Club, plan: WeekPlan) -> Reckoning:
    """The week's shares at every whistle.

    Clubs and sessions are frozen, so the last answers serve again for the very same ones: several rules and pages ask
    in a row.
    """
    return _reckonings.of(club, plan.sessions, make=lambda: _reckoned(club, plan))


def ledger(club: Club, plan: WeekPlan) -> tuple[Line, ...]:
    """A line for every player and role that the player's week holds, players in the club's order."""
    return reckoning(club, plan).lines


def _reckoned(club: Club, plan: WeekPlan) -> Reckoning:
    found = tuple(spells(club, plan))
    goal_parts = [_goal_parts(club, spell) for spell in found]
    scale = lcm(
        *(len(spell.places) - _keeping(spell) or 1 for spell in found),
        *(part.denominator for parts in goal_parts for part in parts.values()),
    )
    bound = _bounds(club, found)
    due = _dues(club, bound)
    states = tuple(_states(found, goal_parts, scale, due))
    return Reckoning(scale, found, states, _lines(club, states, scale, bound, due))


def _goal_parts(club: Club, spell: Spell) -> dict[str, Fraction]:
    keeping = _keeping(spell)
    return keeper_shares(club, [place.player for place in spell.places], keeping) if keeping else {}


def _states(found: Iterable[Spell], goal_parts: Iterable[Mapping[str, Fraction]], scale: int,
            due: Mapping[tuple[str, str], int]) -> Iterator[State]:  # fmt: skip
    held: dict[tuple[str, str], int] = {}
    share: dict[tuple[str, str], int] = {}
    for spell, of_goal in zip(found, goal_parts, strict=True):
        whole, field = scale * spell.minutes, len(spell.places) - _keeping(spell)
        roles = Counter[str](place.role for place in spell.places)
        each = [(role, whole * roles[role] // field) for role in _field_roles(spell)] if field else []
        for place in spell.places:
            player, holds = place.player, place.role
            mine = each if holds != "keep" else []
            if player in of_goal:
                mine = [*mine, ("keep", int(whole * of_goal[player]))]
            if (player, holds) in due and all(role != holds for role, _ in mine):
                mine = [*mine, (holds, 0)]  # a role that does not fall to the player, held all the same
            for role, part in mine:
                key = player, role
                share[key] = fair = share.get(key, scale * due[key]) + part
                held[key] = has = held.get(key, 0) + (whole if role == holds else 0)
                yield State(spell.whistle, player, role, has, fair)


def _lines(club: Club, states: Iterable[State], scale: int, bound: Mapping[tuple[str, str], int],
           due: Mapping[tuple[str, str], int]) -> tuple[Line, ...]:  # fmt: skip
    last: dict[tuple[str, str], State] = {}
    worst: dict[tuple[str, str], State] = {}
    furthest: dict[tuple[str, str], int] = {}
    for state in states:
        key = state.player, state.role
        last[key] = state
        apart = abs(state.held - state.share)
        if apart > furthest.get(key, -1):
            furthest[key], worst[key] = apart, state
    order = {player.id: number for number, player in enumerate(club.players)}
    lines = []
    for key in sorted(last, key=lambda k: (order[k[0]], ROLES.index(k[1]))):
        end, off = last[key], worst[key]
        minutes = [Fraction(amount, scale) for amount in (end.held, end.share, furthest[key], off.held, off.share)]
        held, share, distance, held_then, share_then = minutes
        most, owed = Fraction(bound[key]), Fraction(due[key])
        lines.append(Line(*key, held, share, owed, most, distance, off.at, held_then, share_then))
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
