"""What changes at a whistle, in words a coach can call out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from scheduler.plan.names import join, side_words
from scheduler.plan.plan import Place

STAYS, UNLESS_NAMED, ALL_CHANGE = "Everybody stays.", "Stay unless named:", "all change, as listed"
MOST_NAMED = 0.7  # of those there; above that "all change" is quicker to read than a list


class Spot(NamedTuple):
    """Where somebody stands: the side only where the area and the role do not say it."""

    area: int
    role: str
    side: str


def spot_of(place: Place) -> Spot:
    """The spot of a place; while resting there is none but the rest."""
    if place.role in ("rest", "all"):
        return Spot(0, place.role, "")
    return Spot(place.area or 0, place.role, side_words(place.side) if place.role in ("play", "keep") else "")


def spot_words(spot: Spot, areas: int, game: bool) -> str:
    """`attack, area 2`, `goal, area 1`, `the green goal`, `green`, `rest`."""
    where = f", area {spot.area}" if areas > 1 and spot.area else ""
    if spot.role == "keep":
        return f"the {spot.side} goal{where}" if game and spot.side else f"goal{where}"
    if spot.role == "play":
        return f"{spot.side or 'play'}{where}"
    return f"{'defence' if spot.role == 'defend' else spot.role}{where}"


def _attackers(places: Sequence[Place]) -> dict[int, str]:
    return {place.area or 0: side_words(place.side) for place in places if place.role == "attack"}


def whistle_words(before: Sequence[Place], after: Sequence[Place], names: Mapping[str, str], areas: int,
                  game: bool) -> str:  # fmt: skip
    """What to call between two reps of one block: whoever is not named stays, unless all change."""
    was = {place.player: spot_of(place) for place in before}
    now = {place.player: spot_of(place) for place in after}
    moved = [player for player in now if player in was and was[player] != now[player]]
    parts = []
    left = [names[player] for player in was if player not in now]
    if left:
        parts.append(f"{join(left)} {'leave' if len(left) > 1 else 'leaves'}")
    came = {player: now[player] for player in now if player not in was}
    old, new = _attackers(before), _attackers(after)
    turned = [area for area in new if area in old and old[area] != new[area]]
    if turned:
        where = f" in area {join([str(area) for area in turned])}" if areas > 1 else ""
        parts.append(f"the sides change over{where}: {join(sorted({new[area] for area in turned}))} attack")
    if moved and (turned or (len(moved) > 6 and len(moved) > MOST_NAMED * len(now))):
        parts.append(ALL_CHANGE)
        moved = []
    parts += _swaps(moved, was, now, names)
    parts += _singles(_unswapped(moved, was, now), now, names, areas, game)
    parts += [f"{text}, new on the field" for text in _singles(list(came), now, names, areas, game)]
    if not parts:
        return STAYS
    words = f"{'; '.join(parts)}."
    return words[:1].upper() + words[1:] if ALL_CHANGE in parts else f"{UNLESS_NAMED} {words}"


def _pairs(moved: Sequence[str], was: Mapping[str, Spot], now: Mapping[str, Spot]) -> list[tuple[list[str], list[str]]]:
    """Players who take each other's spots, as many one way as the other."""
    by_move: dict[tuple[Spot, Spot], list[str]] = {}
    for player in moved:
        by_move.setdefault((was[player], now[player]), []).append(player)
    pairs = []
    order = list(by_move)
    for number, (start, end) in enumerate(order):
        going, coming = by_move[start, end], by_move.get((end, start), [])
        count = min(len(going), len(coming))
        if count and (end, start) in order[number:]:
            pairs.append((going[:count], coming[:count]))
    return pairs


def _swaps(moved: Sequence[str], was: Mapping[str, Spot], now: Mapping[str, Spot],
           names: Mapping[str, str]) -> list[str]:  # fmt: skip
    return [
        f"{join([names[player] for player in going])} swap{'s' if len(going) == 1 else ''} with "
        f"{join([names[player] for player in coming])}"
        for going, coming in _pairs(moved, was, now)
    ]


def _unswapped(moved: Sequence[str], was: Mapping[str, Spot], now: Mapping[str, Spot]) -> list[str]:
    paired = {player for pair in _pairs(moved, was, now) for part in pair for player in part}
    return [player for player in moved if player not in paired]


def _singles(players: Sequence[str], now: Mapping[str, Spot], names: Mapping[str, str], areas: int,
             game: bool) -> list[str]:  # fmt: skip
    by_end: dict[Spot, list[str]] = {}
    for player in players:
        by_end.setdefault(now[player], []).append(player)
    return [
        f"{join([names[player] for player in going])} to {spot_words(spot, areas, game)}"
        for spot, going in by_end.items()
    ]
