"""What a coach does by hand: count off one-two, a new pair of keepers each block, everybody one place on each rep."""

from __future__ import annotations

from typing import Literal

from scheduler.club.club import Club
from scheduler.club.people import KeeperWish
from scheduler.club.programme import Kind, Sizes
from scheduler.plan.plan import Place, WeekPlan
from scheduler.rotation.places import with_places
from scheduler.rotation.setting import Ring, Turn

ABLE = (KeeperWish.REGULAR, KeeperWish.WILLING)
Key = tuple[str, int, int, int]
Spot = tuple[str, int | None, int | None, Literal["attack", "defend", "keep", "play", "rest", "all"]]


def swap_round(club: Club, plan: WeekPlan, ring: Ring) -> WeekPlan:
    """The ring's places by counting off and swapping round; who comes late joins the end of a line."""
    places: dict[Key, list[Place]] = {}
    reps: dict[tuple[str, int], int] = {}
    for turn in ring.turns:
        setting = ring.setting(turn.session)
        number = {player: at for at, player in enumerate(setting.players)}
        places[turn.key] = []
        for group in turn.groups:
            here = [p for p in turn.there if number[p] % setting.groups + 1 == group]
            side = {p: number[p] // setting.groups % 2 for p in here}
            done = reps.get((turn.session, group), 0)
            if turn.has_roles:
                reps[turn.session, group] = done + 1
            places[turn.key] += [
                Place(player=player, group=group, area=area, role=role, side=None if at is None else setting.sides[at])
                for player, area, at, role in _rep(club, turn, here, side, done)
            ]
        order = {player: at for at, player in enumerate(turn.there)}
        places[turn.key].sort(key=lambda place: order[place.player])
    return with_places(club, plan, places)


def _rep(club: Club, turn: Turn, here: list[str], side: dict[str, int], done: int) -> list[Spot]:
    """Who, in which area, on which side, in which role, in one rep of a group that has done so many."""
    if not turn.has_roles:
        return [(player, None, None, "all") for player in here]
    part = turn.kind is Kind.PART
    goals = [
        (area, 1 - turn.attacking[area - 1] if part else which)
        for area in range(1, turn.areas + 1)
        for which in ((0,) if part else (0, 1))
        if turn.keepers
    ]
    found: list[Spot] = []
    kept: set[str] = set()
    for area, which in goals:
        able = [p for p in here if club.player(p).keeper in ABLE and p not in kept]
        own = [p for p in able if side[p] == which] or able
        if own:
            keeper = own[turn.block % len(own)]
            kept.add(keeper)
            found.append((keeper, area, which, "keep"))
    for which in (0, 1):
        line = [p for p in here if side[p] == which and p not in kept]
        line = line[done % len(line) :] + line[: done % len(line)] if line else []
        attacks = [not part or turn.attacking[area - 1] == which for area in range(1, turn.areas + 1)]
        sizes = _sizes([turn.attackers if one else turn.defenders for one in attacks], len(line))
        for area, (attack, size) in enumerate(zip(attacks, sizes, strict=True), start=1):
            role: Literal["attack", "defend", "play"] = "play" if not part else "attack" if attack else "defend"
            found += [(player, area, which, role) for player in line[:size]]
            line = line[size:]
        found += [(player, None, which, "rest") for player in line]
    return found


def _sizes(asked: list[Sizes], count: int) -> list[int]:
    """As wanted; whoever is over joins where fewest have been added, as long as there is room."""
    sizes = [size.wanted for size in asked]
    for _ in range(count - sum(sizes)):
        room = [at for at, size in enumerate(asked) if sizes[at] < size.most]
        if room:
            sizes[min(room, key=lambda at: sizes[at] - asked[at].wanted)] += 1
    return sizes
