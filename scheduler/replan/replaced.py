"""What a replan came to, and what is shown of it."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.outcome import Booked


@dataclass(frozen=True)
class Replaced(Booked):
    """A plan with as little changed as was found; `proven` is all three of these together.

    `fewest_moves`: no lawful booking moves or cancels fewer sessions. `nearest`: nor is there one with so few moves
    that are smaller or change fewer adults. `fewest_places`: no lawful rotation of these bookings changes fewer places.
    """

    fewest_moves: bool = True
    nearest: bool = True
    fewest_places: bool = True


def replaced(booked: Replaced, done: Booked) -> Replaced:
    """The mended plan of a booking with what is known of both."""
    return Replaced(
        plan=done.plan,
        proven=booked.fewest_moves and booked.nearest and done.proven,
        findings=done.findings,
        fewest_moves=booked.fewest_moves,
        nearest=booked.nearest,
        fewest_places=done.proven,
    )
