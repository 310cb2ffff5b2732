"""The rotation of one ring while it is being made: who is where in each turn, in plain lists of whole numbers.

Players are numbers in the ring's order. Distances from the fair share are scaled minutes: everything is multiplied by
one common denominator, so nothing is rounded. A distance is held less share, what is due counted as share.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from itertools import combinations
from math import lcm

from scheduler.club.club import Club
from scheduler.club.people import KeeperStays
from scheduler.club.programme import Contact
from scheduler.plan.ledger import keeper_stays
from scheduler.rotation.setting import Ring, Turn
from scheduler.rotation.sizes import Split, areas_of, per_area, shape_of
from scheduler.rotation.slots import Stay

ATTACK, DEFEND, REST, PLAY, KEEP = range(5)
SHARED = (ATTACK, DEFEND, REST)
MOST_AGE_YEARS = 2
LARGEST_MODEL = 700  # players times turns of one model; larger ones have not been seen to come to anything

Goal = tuple[int, int]  # area, and the side whose goal it is


class Lineup:
    """One part or game turn: `here` at the station, `keepers` with their goals, the `field`, each one's role and area.

    `foes` are pairs who must not share an area. `goal_parts`: the part of the turn in goal that falls to each of those
    who may keep; `goal_share` the same in scaled minutes. `full`: the scaled length; `quota`: each one's scaled share
    of attack, defence and rest. `role` holds everybody, keepers included.
    """

    __slots__ = (
        "area",
        "field",
        "foes",
        "full",
        "goal_parts",
        "goal_share",
        "here",
        "keepers",
        "quota",
        "role",
        "shape",
        "stay",
        "turn",
    )

    def __init__(self, turn: Turn, stay: int, here: tuple[int, ...], foes: tuple[tuple[int, int], ...]) -> None:
        self.turn, self.stay, self.here, self.foes = turn, stay, here, foes
        self.shape = shape_of(turn)
        self.keepers: dict[int, Goal] = {}
        self.field: tuple[int, ...] = here
        self.role: dict[int, int] = {}
        self.area: dict[int, int] = {}
        self.goal_parts: dict[int, Fraction] = {}
        self.goal_share: dict[int, int] = {}
        self.full = 0
        self.quota = (0, 0, 0)

    def goals(self) -> tuple[Goal, ...]:
        """Every goal of the turn."""
        if self.shape.game:
            each = [(area, side) for area in range(1, self.turn.areas + 1) for side in (0, 1)]
        else:
            each = [(area, 1 - attacker) for area, attacker in enumerate(self.turn.attacking, 1)]
        return tuple(goal for goal in each for _ in range(self.turn.keepers))

    def clashes(self) -> int:
        """How many pairs of foes share an area."""
        found = 0
        for one, two in self.foes:
            area = self.area_of(one)
            found += int(area > 0 and area == self.area_of(two))
        return found

    def area_of(self, player: int) -> int:
        """The area somebody plays or keeps in; 0 while resting."""
        goal = self.keepers.get(player)
        return goal[0] if goal is not None else self.area.get(player, 0)


class Draft:
    """A ring's lineups, sides and distances. `groups`: by (player id, session)."""

    def __init__(self, club: Club, ring: Ring, groups: Mapping[tuple[str, str], int]) -> None:
        self.club, self.ring, self.groups = club, ring, groups
        self.names = ring.players
        self.number = {player: number for number, player in enumerate(ring.players)}
        self.levels = [club.player(player).even_up for player in self.names]
        self.apart = self._apart_pairs()
        stays: dict[Stay, int] = {}
        self.lineups: list[Lineup] = []
        for turn in ring.turns:
            if turn.has_roles:
                by_block = ring.setting(turn.session).bibs_stay == "block"
                stay = stays.setdefault(Stay(turn.session, turn.block if by_block else 0), len(stays))
                here = self.here(turn)
                self.lineups.append(Lineup(turn, stay, here, self._foes(turn, here)))
        self.stays = tuple(stays)
        self.sides: list[dict[int, int]] = [{} for _ in stays]
        self.scale = 1
        self.path: list[list[int]] = []
        self.start: list[list[int]] = []
        self.bound: list[list[int]] = []

    def group(self, player: str, session: str) -> int:
        """The player's group in a session."""
        return self.groups.get((player, session), 1)

    def here(self, turn: Turn) -> tuple[int, ...]:
        """Everybody at the turn's station then."""
        return tuple(self.number[p] for p in turn.there if self.group(p, turn.session) in turn.groups)

    def of_stay(self, stay: int) -> list[Lineup]:
        """The lineups of one stay in order of time."""
        return [lineup for lineup in self.lineups if lineup.stay == stay]

    def _apart_pairs(self) -> tuple[tuple[int, int], ...]:
        if self.club.is_blank("Players.Apart from"):
            return ()
        found = {
            tuple(sorted((self.number[player], self.number[other])))
            for player in self.names
            for other in self.club.player(player).apart_from
            if other in self.number and other != player
        }
        return tuple(sorted((pair[0], pair[1]) for pair in found))

    def _foes(self, turn: Turn, here: tuple[int, ...]) -> tuple[tuple[int, int], ...]:
        among = set(here)
        foes = [pair for pair in self.apart if pair[0] in among and pair[1] in among]
        if turn.practice.contact is not Contact.NONE and not self.club.is_blank("Players.Born"):
            ages = {p: self.club.age(self.club.player(self.names[p])) for p in here}
            for one, two in combinations(here, 2):
                first, second = ages[one], ages[two]
                if first is not None and second is not None and abs(first - second) > MOST_AGE_YEARS:
                    foes.append((one, two))
        return tuple(dict.fromkeys(foes))

    def weigh(self) -> None:
        """With the keepers known: everyone's turns in the field, the common denominator, bounds and what is due."""
        count = len(self.names)
        parts = [part.denominator for lineup in self.lineups for part in lineup.goal_parts.values()]
        self.scale = lcm(1, *parts, *(len(lineup.field) or 1 for lineup in self.lineups))
        self.path = [[] for _ in range(count)]
        stays = keep_bounds(self)
        longest = [[0, 0, 0, self.scale * stays[player]] for player in range(count)]
        for index, lineup in enumerate(self.lineups):
            lineup.full = self.scale * lineup.turn.minutes
            lineup.goal_share = {p: int(lineup.full * part) for p, part in lineup.goal_parts.items()}
            lineup.role = dict.fromkeys(lineup.keepers, KEEP)
            for player in lineup.here:
                self.path[player].append(index)
                for role in (REST,) if lineup.shape.game else SHARED:
                    longest[player][role] = max(longest[player][role], lineup.full)
        self.bound = longest
        self.start = [[0, 0, 0, 0] for _ in range(count)]
        for row in self.club.carried:
            if row.player in self.number:
                player = self.number[row.player]
                for place, name in enumerate(("attack", "defend", "rest", "keep")):
                    most = longest[player][place]
                    due = self.scale * int(getattr(row, name))
                    self.start[player][place] = -max(-most, min(most, due))

    def share_out(self, lineup: Lineup, split: Split) -> None:
        """Set everybody's share of a turn's roles by the numbers of a split."""
        field = len(lineup.field) or 1
        each = lineup.full // field
        lineup.quota = (each * sum(split.attack), each * sum(split.defend), each * sum(split.rest))
        if lineup.shape.game:
            lineup.quota = (0, 0, each * sum(split.rest))

    def walk(self, player: int) -> tuple[int, int]:
        """Scaled minutes beyond the bounds, added up over roles and whistles; and beyond whole reps at the end."""
        attack, defend, rest, keep = self.start[player]
        most_attack, most_defend, most_rest, most_keep = self.bound[player]
        over = 0
        lineups = self.lineups
        for index in self.path[player]:
            lineup = lineups[index]
            role, quota = lineup.role[player], lineup.quota
            if lineup.goal_share:
                keep -= lineup.goal_share.get(player, 0)
                if role == KEEP:
                    keep += lineup.full
                if keep > most_keep:
                    over += keep - most_keep
                elif -keep > most_keep:
                    over -= keep + most_keep
            if role == KEEP:
                continue
            attack -= quota[0]
            defend -= quota[1]
            rest -= quota[2]
            if role == ATTACK:
                attack += lineup.full
            elif role == DEFEND:
                defend += lineup.full
            elif role == REST:
                rest += lineup.full
            if attack > most_attack:
                over += attack - most_attack
            elif -attack > most_attack:
                over -= attack + most_attack
            if defend > most_defend:
                over += defend - most_defend
            elif -defend > most_defend:
                over -= defend + most_defend
            if rest > most_rest:
                over += rest - most_rest
            elif -rest > most_rest:
                over -= rest + most_rest
        end = 0
        for value, most in ((attack, most_attack), (defend, most_defend), (rest, most_rest)):
            if abs(value) >= most > 0:
                end += abs(value) - most + self.scale
        return over, end

    def distances_before(self, index: int) -> list[list[int]]:
        """Everybody's distances by role just before a lineup."""
        now = [list(start) for start in self.start]
        for lineup in self.lineups[:index]:
            self.step(lineup, now)
        return now

    def step(self, lineup: Lineup, now: list[list[int]]) -> None:
        """Move distances on over one filled lineup."""
        quota, full = lineup.quota, lineup.full
        for player in lineup.field:
            mine = now[player]
            mine[0] -= quota[0]
            mine[1] -= quota[1]
            mine[2] -= quota[2]
            role = lineup.role[player]
            if role != PLAY:
                mine[role] += full

    def settle_areas(self, lineup: Lineup) -> None:
        """Give everybody who attacks, defends or plays an area, numbers within one."""
        sides, shape = self.sides[lineup.stay], lineup.shape
        lineup.area = {}
        for side in (0, 1):
            for role in (ATTACK, DEFEND, PLAY):
                who = [p for p in lineup.field if lineup.role[p] == role and sides[p] == side]
                areas = range(1, shape.areas + 1) if role == PLAY else areas_of(shape, side, role == ATTACK)
                numbers = per_area(len(who), len(areas))
                spots = [area for area, number in zip(areas, numbers, strict=True) for _ in range(number)]
                for player, area in zip(who, spots, strict=True):
                    lineup.area[player] = area


def members(lineups: Iterable[Lineup]) -> tuple[int, ...]:
    """Everybody who is in the field in at least one of the lineups, in the ring's order."""
    return tuple(sorted({player for lineup in lineups for player in lineup.field}))


def keep_bounds(draft: Draft) -> list[int]:
    """Minutes of the longest stay in goal that the player's week could hold."""
    stays: list[dict[object, int]] = [{} for _ in draft.names]
    for lineup in draft.lineups:
        if lineup.turn.goals:
            for player in lineup.here:
                kind, turn = keeper_stays(draft.club, draft.names[player]), lineup.turn
                key: object = turn.session if kind is KeeperStays.SESSION else turn.block_key
                key = turn.key if kind is KeeperStays.REP else key
                stays[player][key] = stays[player].get(key, 0) + turn.minutes
    return [max(found.values(), default=0) for found in stays]
