"""How much beyond the fairness bounds a plan has owned up to, and whether less was shown impossible. No solver.

A plan that cannot keep every child within one rep of the fair share records, for its ring, the least excess found: a
`Proof` whose measure is `EXCESS`. The fairness rules judge by that record.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from scheduler.club.club import Club
from scheduler.contract import Severity
from scheduler.plan.ledger import Line, Whistle, ledger
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


class Beyond(NamedTuple):
    """One line of the ledger that goes beyond its bound, how grave that is, and how the sentence about it ends."""

    line: Line
    severity: Severity
    ending: str


def beyond(club: Club, plan: WeekPlan, roles: tuple[str, ...]) -> Iterator[Beyond]:
    """Every line of these roles beyond its bound: a caution up to the excess the plan records, else a breach."""
    allowed = allowances(club, plan)
    for line in ledger(club, plan):
        if line.role not in roles or not line.excess:
            continue
        allowance = allowed.get(line.player, NOTHING)
        if line.excess > allowance.minutes:
            yield Beyond(line, Severity.BREACH, "")
        elif allowance.proved:
            yield Beyond(line, Severity.CAUTION, "; less is shown impossible")
        else:
            yield Beyond(line, Severity.CAUTION, "; the least found, not shown to be the least possible")


def distance_words(line: Line) -> str:
    """`3 reps, fair share 4.2: 1.2 reps short, at most 1`, a rep being the longest of the week (keep: stays)."""
    one = "stay" if line.role == "keep" else "rep"
    held, share = line.held_then / line.bound, line.share_then / line.bound
    way = "over" if held > share else "short"
    apart = reps_words(abs(held - share), one)
    return f"{reps_words(held, one)}, fair share {_number(share)}: {apart} {way}, at most 1"


def reps_words(amount: Fraction, one: str) -> str:
    """`1 rep`, `4.2 reps`."""
    return f"{_number(amount)} {one}" + ("" if amount == 1 else "s")


def whistle_words(whistle: Whistle | None) -> str:
    """`Herons 1, after rep 5 of block 2`."""
    return "" if whistle is None else f"{whistle.session}, after rep {whistle.rep} of block {whistle.block}"


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
