"""A first place for every session of a large club, before any solver: try after try, the strictest sketch first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scheduler.booking.draft.claims import claims_of
from scheduler.booking.draft.placing import Placing
from scheduler.booking.slots import Slot
from scheduler.club.club import Club

TRIES = 12


def draft_of(club: Club, slots: Mapping[str, Sequence[Slot]]) -> dict[str, Slot] | None:
    """A slot for every session, none in another's way as far as the sketch of the rules goes; None: not found.

    First at the times that cost least, then at any.
    """
    for strict in (True, False):
        claims = claims_of(club, slots, strict)
        for number in range(TRIES):
            placing = Placing(claims, number)
            if not placing.search():
                return {one.session: one.slots[at] for one, at in zip(claims.wanted, placing.at, strict=True)}
    return None
