"""What is shown of the wishes of a booking, in words."""

from __future__ import annotations

from scheduler.plan.plan import Proof

UNITS = {
    "fewest minutes stood down": "minutes",
    "fewest children stood down": "players",
    "own coaches first": "adults",
    "brothers and sisters together": "outings",
}


def proof_of(wish: str, value: float, bound: float, proved: bool) -> Proof:
    """What is known of a wish: what the plan pays for it, and the least that any plan must."""
    text = f"{wish}: {value:g}" + ("; less is not possible" if proved else f"; at least {bound:g}, not proven")
    unit = UNITS.get(wish, "sessions")
    return Proof(measure=wish, pool="booking", value=value, bound=bound, proved=proved, unit=unit, text=text)
