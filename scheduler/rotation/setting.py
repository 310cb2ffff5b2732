"""What the second solve works on: rings of sessions, and every turn in them with who is there. Knows no solver.

A ring is the fewest sessions such that no player of one is in another ring; rings share nothing and are solved apart.
A turn is one rep at one station. Everything here follows from the booked week alone.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace

from scheduler.club.club import Club
from scheduler.club.programme import Kind, Practice, Sizes
from scheduler.club.when import Span
from scheduler.plan.plan import Block, PlannedSession, WeekPlan
from scheduler.plan.presence import in_rep, there
from scheduler.plan.skeleton import lay_blocks
from scheduler.plan.timeline import groups_of, station_of, timeline
from scheduler.remembered import Remembered
from scheduler.welfare.weather import ended_by_heat

FALLBACK_SIDES = ("bibs", "own shirts")
YOUNGEST_WITHOUT_KEEPERS = 7  # a game of U7 or younger has no keeper unless the practice asks for one
OUTFIELD = ("attack", "defend", "play")
FIELD = (*OUTFIELD, "rest")  # everyone who is there in a part or a game and keeps no goal


@dataclass(frozen=True)
class SessionSetting:
    """One booked session as the rotation sees it. `sides` are always two names; `bibs_stay`: `session` or `block`."""

    session: str
    date: dt.date
    players: tuple[str, ...]
    groups: int
    sides: tuple[str, str]
    bibs_stay: str


@dataclass(frozen=True)
class Turn:
    """One rep at one station. `there` holds everybody of the session who is there then, whatever the group.

    `keepers`: per area of a part, per side of an area of a game. `attacking`: for each area of a part the index of
    the side that attacks (the other defends and keeps its goal); empty for a game. `groups`: those at the station.
    """

    index: int
    session: str
    date: dt.date
    block: int
    station: int
    rep: int
    span: Span
    practice: Practice
    keepers: int
    there: tuple[str, ...]
    attacking: tuple[int, ...]
    groups: tuple[int, ...]

    @property
    def kind(self) -> Kind:
        """The practice's way of playing."""
        return self.practice.kind

    @property
    def minutes(self) -> int:
        """Length of the rep."""
        return self.span.minutes

    @property
    def areas(self) -> int:
        """How many areas the station has."""
        return self.practice.areas

    @property
    def goals(self) -> int:
        """How many keepers the whole station needs."""
        if self.kind is Kind.TOGETHER:
            return 0
        return self.keepers * self.areas * (2 if self.kind is Kind.GAME else 1)

    @property
    def key(self) -> tuple[str, int, int, int]:
        """Session, block, station and rep: where its places stand in the plan."""
        return self.session, self.block, self.station, self.rep

    @property
    def block_key(self) -> tuple[str, int]:
        """The block this turn lies in."""
        return self.session, self.block

    @property
    def attackers(self) -> Sizes:
        """Attackers an area; of a game the outfield players of one side in one area."""
        return self.practice.attackers or Sizes(0, 0, len(self.there))

    @property
    def defenders(self) -> Sizes:
        """Defenders an area of a part; none in a game."""
        if self.kind is not Kind.PART:
            return Sizes(0, 0, 0)
        return self.practice.defenders or Sizes(0, 0, len(self.there))

    @property
    def has_roles(self) -> bool:
        """Whether it is a part or a game, where roles are shared out."""
        return self.kind is not Kind.TOGETHER

    def outfield(self, side: int) -> tuple[int, int]:
        """The fewest and the most outfield players one side (0 or 1) can have in this turn, over all areas."""
        if self.kind is Kind.GAME:
            return self.attackers.least * self.areas, self.attackers.most * self.areas
        sizes = [self.attackers if attacker == side else self.defenders for attacker in self.attacking]
        return sum(size.least for size in sizes), sum(size.most for size in sizes)


@dataclass(frozen=True)
class Ring:
    """Sessions bound together by shared players: in order of time, with all their turns and players (club order)."""

    sessions: tuple[SessionSetting, ...]
    players: tuple[str, ...]
    turns: tuple[Turn, ...]

    @property
    def name(self) -> str:
        """The ring's name in figures and proofs: its sessions in order of time."""
        return ", ".join(one.session for one in self.sessions)

    def setting(self, session: str) -> SessionSetting:
        """The setting of one of the ring's sessions; KeyError where it is none."""
        for found in self.sessions:
            if found.session == session:
                return found
        raise KeyError(session)

    def turns_of(self, session: str) -> tuple[Turn, ...]:
        """The turns of one session in order of time, then station."""
        return tuple(turn for turn in self.turns if turn.session == session)


def two_sides(planned: PlannedSession) -> tuple[str, str]:
    """The names of a session's two sides; plain ones where the booking gave none."""
    if len(planned.sides) == 2:
        return planned.sides[0], planned.sides[1]
    return FALLBACK_SIDES


def keepers_in(club: Club, session: str, practice: Practice) -> int:
    """Keepers per area (part) or per side (game): as given, else 1, and 0 in a game of U7 or younger."""
    if practice.kind is Kind.TOGETHER:
        return 0
    if practice.keepers is not None:
        return practice.keepers
    youngest = min(club.team(team).age_group for team in club.session(session).teams)
    return 0 if practice.kind is Kind.GAME and youngest <= YOUNGEST_WITHOUT_KEEPERS else 1


def has_odd_area(practice: Practice) -> bool:
    """Whether a part has an area without a partner, in which the sides take turns to attack."""
    return practice.kind is Kind.PART and practice.areas % 2 == 1


def attacking_sides(areas: int, rep: int, earlier: int) -> tuple[int, ...]:
    """For each area of a part the index of the side that attacks in the rep (from 1).

    In odd areas of a pair side 0 attacks, in even ones side 1. A last area without a partner takes turns: the
    attacker changes every rep, and who starts changes with every such block (`earlier`: how many came before).
    """
    paired = tuple(area % 2 for area in range(areas - areas % 2))
    return paired if areas % 2 == 0 else (*paired, (earlier + rep - 1) % 2)


def laid(club: Club, planned: PlannedSession) -> PlannedSession:
    """The session with its blocks laid out (kept where it has them) and its two sides named."""
    full = planned if planned.blocks else lay_blocks(club, planned)
    return full.model_copy(update={"sides": two_sides(planned)})


def turns_of_session(club: Club, planned: PlannedSession, first: int = 0) -> tuple[Turn, ...]:
    """Every rep of a session in order of time, then station, up to where heat ends it; indices count from `first`."""
    return tuple(replace(turn, index=first + i) for i, turn in enumerate(_turns(club, planned)))


def _turns(club: Club, planned: PlannedSession) -> list[Turn]:
    """The turns of a session in order, without their indices."""
    spans = {player: there(club, planned, player) for player in planned.players}
    stays = set(spans.values())  # most children are there from the start to the end
    layout = timeline(club, planned.session)
    groups = groups_of(club, planned.session)
    odd_before = dict.fromkeys(range(1, groups + 1), 0)
    found: list[Turn] = []
    for block, time in zip(laid(club, planned).blocks, layout, strict=False):
        by_station = {
            number: tuple(g for g in range(1, groups + 1) if station_of(time, g) == number)
            for number in range(1, len(block.stations) + 1)
        }
        for station in block.stations:
            practice = club.practice(station.practice)
            here = by_station.get(station.station, ())
            earlier = odd_before[here[0]] if here else 0
            for rep in station.reps:
                fits = {stay for stay in stays if in_rep(stay, practice, rep.span)}
                present = tuple(player for player in planned.players if spans[player] in fits)
                if present or not ended_by_heat(planned, rep.span):
                    found.append(
                        Turn(
                            index=0,
                            session=planned.session,
                            date=planned.date,
                            block=block.block,
                            station=station.station,
                            rep=rep.rep,
                            span=rep.span,
                            practice=practice,
                            keepers=keepers_in(club, planned.session, practice),
                            there=present,
                            attacking=attacking_sides(practice.areas, rep.rep, earlier)
                            if practice.kind is Kind.PART
                            else (),
                            groups=here,
                        )
                    )
        _count_odd(club, block, by_station, odd_before)
    return sorted(found, key=lambda turn: (turn.block, turn.span, turn.station))


def _count_odd(club: Club, block: Block, by_station: dict[int, tuple[int, ...]], counts: dict[int, int]) -> None:
    for station in block.stations:
        if has_odd_area(club.practice(station.practice)):
            for group in by_station.get(station.station, ()):
                counts[group] += 1


def _rings_of(sessions: Iterable[PlannedSession]) -> list[list[PlannedSession]]:
    """Connected sets of sessions over shared players, each in the order given."""
    rings: list[list[PlannedSession]] = []
    for planned in sessions:
        players = set(planned.players)
        touched = [ring for ring in rings if any(players & set(other.players) for other in ring)]
        rings = [ring for ring in rings if ring not in touched]
        rings.append([*(one for ring in touched for one in ring), planned])
    return rings


def settings(club: Club, plan: WeekPlan) -> tuple[Ring, ...]:
    """The rings of a booked week, in order of their first session; turns in order of time across their sessions.

    Clubs and sessions are frozen, so the rings of the very same ones serve again: rules and proofs ask in a row.
    """
    return _rings.of(club, plan.sessions, make=lambda: _settings(club, plan))


_rings = Remembered[tuple[Ring, ...]](keep=2)


def _settings(club: Club, plan: WeekPlan) -> tuple[Ring, ...]:
    ordered = sorted(plan.sessions, key=lambda s: (s.date, s.start, s.end, s.session))
    place = {planned.session: number for number, planned in enumerate(ordered)}
    order = {player.id: number for number, player in enumerate(club.players)}
    rings: list[Ring] = []
    for found in _rings_of(ordered):
        sessions = sorted(found, key=lambda s: place[s.session])
        turns = [turn for planned in sessions for turn in _turns(club, planned)]
        turns.sort(key=lambda turn: (turn.date, turn.span.start, place[turn.session], turn.block, turn.station))
        players = sorted({player for planned in sessions for player in planned.players}, key=order.__getitem__)
        rings.append(
            Ring(
                sessions=tuple(_setting(club, planned) for planned in sessions),
                players=tuple(players),
                turns=tuple(replace(turn, index=i) for i, turn in enumerate(turns)),
            )
        )
    return tuple(sorted(rings, key=lambda ring: place[ring.sessions[0].session]))


def _setting(club: Club, planned: PlannedSession) -> SessionSetting:
    return SessionSetting(
        session=planned.session,
        date=planned.date,
        players=planned.players,
        groups=groups_of(club, planned.session),
        sides=two_sides(planned),
        bibs_stay=club.session(planned.session).bibs_stay,
    )
