"""The cells of a rotation: which row and column of a card holds which area, side and role, and who stands there.

Writing a card and reading an edited one back both go through this table, so that they cannot drift apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduler.club.programme import Kind
from scheduler.plan.names import side_words
from scheduler.plan.plan import Place

COLUMNS: dict[Kind, tuple[tuple[str, str], ...]] = {
    Kind.PART: (("attack", "Attack"), ("defend", "Defend"), ("keep", "In goal")),
    Kind.GAME: (("play", "Play"), ("keep", "In goal")),
    Kind.TOGETHER: (),
}


@dataclass(frozen=True)
class SlotRow:
    """One row of a rep: an area of a part, or one side in an area of a game. `cells` holds (role, side, names)."""

    label: str
    area: int
    cells: tuple[tuple[str, str | None, tuple[str, ...]], ...]


def _side_of(places: Sequence[Place], area: int, role: str) -> str | None:
    """The side that most of a slot's players wear; None where nobody stands in it."""
    found = Counter(place.side for place in places if place.area == area and place.role == role and place.side)
    return found.most_common(1)[0][0] if found else None


def _names(places: Sequence[Place], names: Mapping[str, str], area: int, role: str,
           side: str | None = None) -> tuple[str, ...]:  # fmt: skip
    return tuple(
        names[place.player]
        for place in places
        if place.area == area and place.role == role and (side is None or place.side == side)
    )


def _other(sides: Sequence[str], side: str | None) -> str | None:
    return next((one for one in sides if one != side), None) if side is not None else None


def slot_rows(places: Sequence[Place], areas: int, kind: Kind, sides: Sequence[str],
              names: Mapping[str, str]) -> tuple[SlotRow, ...]:  # fmt: skip
    """The rows of one rep, area by area; in a game side by side within an area."""
    rows = []
    for area in range(1, max([areas, *(place.area or 0 for place in places)]) + 1):
        if kind is Kind.PART:
            attack = _side_of(places, area, "attack") or _other(sides, _side_of(places, area, "defend"))
            defend = _side_of(places, area, "defend") or _other(sides, attack)
            keep = _side_of(places, area, "keep") or defend
            label = f"{area}: {side_words(attack)} attack" if attack else f"{area}"
            wears = {"attack": attack, "defend": defend, "keep": keep}
            cells = tuple((role, wears[role], _names(places, names, area, role)) for role, _ in COLUMNS[kind])
            rows.append(SlotRow(label, area, cells))
        elif kind is Kind.GAME:
            played = [place.side for place in places if place.area == area and place.side]
            for side in dict.fromkeys([*sides, *sorted(set(played))]):
                label = f"{area}: {side_words(side)}" if areas > 1 else side_words(side)
                cells = tuple((role, side, _names(places, names, area, role, side)) for role, _ in COLUMNS[kind])
                rows.append(SlotRow(label, area, cells))
    return tuple(rows)


def rest_names(places: Sequence[Place], names: Mapping[str, str]) -> tuple[str, ...]:
    """Who rests in a rep."""
    return tuple(names[place.player] for place in places if place.role == "rest")


def is_shown(place: Place, kind: Kind) -> bool:
    """Whether a place stands in one of the cells (all do in a plan that is laid out as asked)."""
    if place.role == "rest":
        return kind is not Kind.TOGETHER
    return place.area is not None and place.role in dict(COLUMNS[kind]) and (kind is Kind.PART or bool(place.side))
