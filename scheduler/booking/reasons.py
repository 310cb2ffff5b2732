"""Why no booking is lawful: demands that cannot stand together, named by their switches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from scheduler.outcome import Clash, Conflict, Demand
from scheduler.solving import make_solver
from scheduler.switches import SwitchKey

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel

AGAIN = "every lawful booking has the same players at the same sessions, and that one cannot be played"


def conflict_of(model: BookingModel, limit: float, *, again: bool) -> Conflict:
    """One set of demands of a switchable model that cannot stand together, as short as the time allows.

    `again`: bookings are forbidden in it, since they cannot be played.
    """
    keys = [key for key, _ in model.switches.items()]
    core, left = _core(model, keys, limit)
    if core is None:
        return Conflict("booking", (Clash((), False, "time ran out before the reasons were found"),))
    minimal = True
    for key in list(core):
        trial = [other for other in core if other != key]
        smaller, left = _core(model, trial, left) if left > 0 else (None, 0.0)
        if smaller is not None:
            core = [other for other in core if other in smaller]
        elif left <= 0:
            minimal = False
    demands = tuple(Demand(key.rule, key.subject, model.switches.sentence(key)) for key in core)
    return Conflict("booking", (Clash(demands, minimal, AGAIN if again and not demands else ""),))


def _core(model: BookingModel, keys: Sequence[SwitchKey], limit: float) -> tuple[list[SwitchKey] | None, float]:
    """Demands among the keys that cannot stand together (None: these can, or time ran out), and the time left."""
    literals = dict(model.switches.items())
    model.model.clear_assumptions()
    model.model.add_assumptions([literals[key] for key in keys])
    solver = make_solver(max(0.01, limit), presolve=False)
    status = solver.solve(model.model)
    left = limit - float(solver.response_proto.deterministic_time)
    if status.name != "INFEASIBLE":
        return None, left if status.name in ("OPTIMAL", "FEASIBLE") else 0.0
    found = set(solver.sufficient_assumptions_for_infeasibility())
    return [key for key in keys if literals[key].index in found], left
