"""How much beyond the fairness bounds a plan has owned up to, and whether less was shown impossible. No solver.

A plan that cannot keep every child within one rep of the fair share records, for its ring, the least excess found: a
`Proof` whose measure is `EXCESS`. The fairness rules judge by that record.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from scheduler.club.club import Club
from scheduler.plan.plan import Proof, WeekPlan
from scheduler.rotation.setting import Ring, settings

EXCESS = "excess minutes"
EXCESS_CHILDREN = "excess children"
ROUNDING = Fraction(1, 10**6)  # minutes; proofs are written as decimal numbers


class Allowance(NamedTuple):
    """Minutes beyond the bound that a ring's record allows; `proved`: less is impossible."""

    minutes: Fraction
    proved: bool


NOTHING = Allowance(Fraction(0), True)


def allowances(club: Club, plan: WeekPlan) -> dict[str, Allowance]:
    """The allowance of every player whose ring has a record; the others have none."""
    records = {proof.pool: proof for proof in plan.proofs if proof.measure == EXCESS}
    if not records:
        return {}
    return {
        player: Allowance(Fraction(record.value) + ROUNDING, record.proved)
        for ring in settings(club, plan)
        if (record := records.get(ring.name)) is not None
        for player in ring.players
    }


def excess_records(ring: Ring, minutes: Fraction, bound: Fraction, children: int, proved: bool) -> tuple[Proof, ...]:
    """The two records of a ring with an excess: its minutes and how many children it touches; none without one."""
    if minutes <= 0:
        return ()
    end = "less is shown impossible" if proved else "the least found, not shown to be the least possible"
    more = f"at most {_number(minutes)} minutes beyond one rep from the fair share; {end}"
    who = f"{children} {'child is' if children == 1 else 'children are'} more than one rep from the fair share"
    return (
        Proof(measure=EXCESS, pool=ring.name, value=float(minutes), bound=float(bound), proved=proved,
              unit="minutes", text=more),
        Proof(measure=EXCESS_CHILDREN, pool=ring.name, value=float(children), bound=1.0, proved=children == 1,
              unit="children", text=who),
    )  # fmt: skip


def _number(value: Fraction) -> str:
    return f"{float(value):.2f}".rstrip("0").rstrip(".")
