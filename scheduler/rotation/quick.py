"""The quick way to one ring's rotation: groups, keepers, sides, roles turn by turn, mending, mixing. No solver.

Pure arithmetic on whole numbers, by numbers of steps and never by the clock.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from scheduler.club.club import Club
from scheduler.plan.plan import WeekPlan
from scheduler.rotation.draft import Draft
from scheduler.rotation.exchanges import Mixer
from scheduler.rotation.groups import make_groups
from scheduler.rotation.keepers import choose_keepers
from scheduler.rotation.repair import Repair
from scheduler.rotation.roles import cast
from scheduler.rotation.setting import Ring, with_places

ATTEMPTS = 8
MEND_STEPS = 160
TRIES_A_TURN, MOST_TRIES = 500, 24_000


@dataclass(frozen=True)
class Quick:
    """What the quick way came to: the week with the ring's places in, or None where no attempt filled every turn.

    `clean`: nothing is left beyond the bounds of attack, defend and rest, and no two foes share an area.
    """

    plan: WeekPlan | None
    clean: bool


def rotate_quickly(club: Club, plan: WeekPlan, ring: Ring, *, mix: bool = True) -> Quick:
    """Fill one ring's places. The plan's blocks must be laid out."""
    best: tuple[int, Draft] | None = None
    for attempt in range(ATTEMPTS):
        random = Random(attempt)
        groups, faults = make_groups(club, plan, ring, attempt)
        draft = Draft(club, ring, groups)
        choose_keepers(draft, random if attempt > 1 else None)
        if faults or any(len(lineup.keepers) < lineup.turn.goals for lineup in draft.lineups):
            continue
        draft.weigh()
        if cast(draft, random, noise=attempt > 0):
            continue
        repair = Repair(draft)
        clean = repair.run(MEND_STEPS, random)
        if best is None or repair.total() < best[0]:
            best = repair.total(), draft
        if clean:
            break
    if best is None:
        return Quick(None, clean=False)
    draft = best[1]
    if mix:
        Mixer(draft).run(min(MOST_TRIES, TRIES_A_TURN * len(draft.lineups)), Random(1))
    return Quick(with_places(club, plan, draft.places()), Repair(draft).is_clean())
