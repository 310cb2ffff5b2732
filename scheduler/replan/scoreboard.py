"""Held less fair share at every whistle while a rotation is mended rep by rep, in exact whole numbers. No solver."""

from __future__ import annotations

from math import lcm
from typing import NamedTuple

from scheduler.club.club import Club
from scheduler.club.programme import Kind
from scheduler.plan.ledger import ROLES, keeper_shares, keeper_stays
from scheduler.rotation.setting import Ring, Turn
from scheduler.rotation.tally import goes_round, keeper_stay

Key = tuple[str, str]  # player, role


class Filled(NamedTuple):
    """A turn with everybody who is at its station."""

    turn: Turn
    here: tuple[str, ...]


class Scoreboard:
    """Distances from the fair share, `scale` times minutes; turns are played and taken back in order of time."""

    def __init__(self, club: Club, ring: Ring, filled: list[Filled]) -> None:
        self._club = club
        self._filled = filled
        self._keeping = [keeper_shares(club, one.here, one.turn.goals) if one.turn.goals else {} for one in filled]
        denominators = [max(1, len(one.here) - one.turn.goals) for one in filled if one.turn.has_roles]
        denominators += [part.denominator for parts in self._keeping for part in parts.values()]
        self.scale = lcm(1, *denominators)
        self.bound = self._bounds()
        dues = {(row.player, role): getattr(row, role) for row in club.carried for role in ROLES}
        self.apart: dict[Key, int] = {
            key: -max(-most, min(most, self.scale * dues.get(key, 0))) for key, most in self.bound.items()
        }

    def _bounds(self) -> dict[Key, int]:
        """Scaled minutes of one rep: the longest in which the role goes round; of keep: one stay."""
        found: dict[Key, int] = {}
        stays: dict[tuple[str, tuple[str, int, int]], int] = {}
        for turn, here in self._filled:
            for player in here:
                for role in ("attack", "defend", "rest"):
                    if goes_round(turn, role):
                        key = (player, role)
                        found[key] = max(found.get(key, 0), self.scale * turn.minutes)
                if turn.goals:
                    stay = (player, keeper_stay(keeper_stays(self._club, player), turn))
                    stays[stay] = stays.get(stay, 0) + self.scale * turn.minutes
        for (player, _), length in stays.items():
            found[player, "keep"] = max(found.get((player, "keep"), 0), length)
        return found

    def turn(self, number: int) -> Filled:
        """A turn and who is there, by its number in the list."""
        return self._filled[number]

    def goal_parts(self, number: int) -> dict[str, int]:
        """Scaled minutes in goal that fall to each of those who may keep in a turn."""
        whole = self.scale * self._filled[number].turn.minutes
        return {player: int(whole * part) for player, part in self._keeping[number].items()}

    def play(self, number: int, roles: dict[str, str]) -> dict[Key, int]:
        """Book one turn (by its number in the list); gives what was booked, to be handed to `take_back`."""
        turn, here = self._filled[number]
        booked: dict[Key, int] = {}
        if not turn.has_roles:
            return booked
        whole = self.scale * turn.minutes
        for player, part in self.goal_parts(number).items():
            booked[player, "keep"] = -part
        field = [player for player in here if roles[player] != "keep"]
        for role in ("attack", "defend", "rest") if turn.kind is Kind.PART else ("rest",):
            held = sum(1 for player in field if roles[player] == role)
            part = whole * held // len(field) if field else 0
            for player in field:
                booked[player, role] = booked.get((player, role), 0) - part
        for player in here:
            key = (player, roles[player])
            if key in self.bound:
                booked[key] = booked.get(key, 0) + whole
        for key, amount in booked.items():
            self.apart[key] = self.apart.get(key, 0) + amount
        return booked

    def take_back(self, booked: dict[Key, int]) -> None:
        """Undo a booking."""
        for key, amount in booked.items():
            self.apart[key] -= amount

    def within(self, booked: dict[Key, int]) -> bool:
        """Whether everybody touched by a booking is within one rep of the fair share."""
        return all(abs(self.apart[key]) <= self.bound.get(key, 0) for key in booked)

    def furthest(self, booked: dict[Key, int]) -> float:
        """How unevenly the turn leaves those it touches: squares of the distances in reps, added up."""
        return sum((self.apart[key] / self.bound[key]) ** 2 for key in booked if self.bound.get(key))

    def unevenness(self) -> float:
        """Squares of all distances in reps, added up."""
        return sum((apart / self.bound[key]) ** 2 for key, apart in self.apart.items() if self.bound.get(key))
