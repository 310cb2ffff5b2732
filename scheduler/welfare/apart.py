"""Who is kept apart from whom, numbered: elsewhere it reads "two players to be kept apart (welfare file, row 3)"."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.club.club import Club


@dataclass(frozen=True)
class ApartRow:
    """One pair; `other` may be a coach. The number is the row of the page `Confidential`."""

    number: int
    player: str
    other: str


def apart_rows(club: Club) -> tuple[ApartRow, ...]:
    """Every pair once, numbered from 1 in the order of the club's players."""
    pairs: dict[frozenset[str], tuple[str, str]] = {}
    for player in club.players:
        for other in player.apart_from:
            pairs.setdefault(frozenset((player.id, other)), (player.id, other))
    return tuple(ApartRow(number, *pair) for number, pair in enumerate(pairs.values(), 1))


def apart_words(club: Club, one: str, other: str) -> str:
    """How a pair is spoken of outside the welfare file; without a number where the pair is not in the club."""
    number = next((row.number for row in apart_rows(club) if {row.player, row.other} == {one, other}), None)
    adult = club.has("coach", one) or club.has("coach", other)
    who = "a player and an adult to be kept apart" if adult else "two players to be kept apart"
    return f"{who} (welfare file)" if number is None else f"{who} (welfare file, row {number})"
