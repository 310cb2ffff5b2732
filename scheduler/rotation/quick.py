"""The quick way to one ring's rotation: groups, keepers, sides, roles turn by turn, mending, mixing.

Pure arithmetic on whole numbers, by numbers of steps and never by the clock. Only where that leaves something beyond
the fairness bounds does a small model have a try, started from it.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from random import Random

from scheduler.club.club import Club
from scheduler.plan.plan import WeekPlan
from scheduler.rotation.draft import LARGEST_MODEL, Draft
from scheduler.rotation.exchanges import Mixer
from scheduler.rotation.groups import make_groups
from scheduler.rotation.keepers import choose_keepers
from scheduler.rotation.places import with_places
from scheduler.rotation.placing import places_of
from scheduler.rotation.repair import Repair
from scheduler.rotation.roles import cast
from scheduler.rotation.setting import Ring
from scheduler.rotation.trades import Trades

ATTEMPTS = 8
SOON = 2  # attempts after which a small model is sooner done, where the ring is small enough for one
MEND_STEPS, MEND_SOON = 160, 24
ANY_SIZES_FROM = 5  # attempts from which sizes that are further off what is wanted are tried too
TRIES_A_TURN, MOST_TRIES = 500, 24_000


@dataclass(frozen=True)
class Quick:
    """What the quick way came to: the week with the ring's places in, or None where no attempt filled every turn.

    `clean`: nothing is left beyond the fairness bounds, and no two foes share an area. `least`: minutes beyond the
    bounds that are shown to be unavoidable. `never`: no rotation is lawful, whatever its excess.
    """

    plan: WeekPlan | None
    clean: bool
    least: Fraction = Fraction(0)
    never: bool = False


def rotate_quickly(club: Club, plan: WeekPlan, ring: Ring, *, mix: bool = True, limit: float = 0.0) -> Quick:
    """Fill one ring's places. The plan's blocks must be laid out.

    `limit`: reproducible seconds for each small model where the arithmetic falls short; 0: without them.
    """
    size = sum(len(turn.there) for turn in ring.turns if turn.has_roles)
    draft, never = _best_draft(club, plan, ring, SOON if limit and size <= LARGEST_MODEL else ATTEMPTS), False
    modelled = draft is None
    if draft is None and limit:
        draft, never = _from_counts(club, plan, ring, limit)
    if draft is None:
        return Quick(None, clean=False, never=never)
    least = 0
    if limit and not Repair(draft).is_clean():
        from scheduler.rotation.lessen import lessened

        least, modelled = lessened(draft, limit), True
    clean = Repair(draft).is_clean()
    if mix and modelled:
        Trades(draft).run()
    if mix:
        Mixer(draft).run(min(MOST_TRIES, TRIES_A_TURN * len(draft.lineups)), Random(4))
    return Quick(with_places(club, plan, places_of(draft)), clean, Fraction(least, draft.scale))


def _best_draft(club: Club, plan: WeekPlan, ring: Ring, attempts: int = ATTEMPTS) -> Draft | None:
    """The first of some attempts within every bound, else the one least beyond; None where none fills every turn."""
    best: tuple[int, Draft] | None = None
    for attempt in range(attempts):
        random = Random(attempt)
        groups, faults = make_groups(club, plan, ring, attempt)
        draft = Draft(club, ring, groups)
        choose_keepers(draft, random if attempt > 1 else None, even_out=attempt % 3 != 1)
        if faults or any(len(lineup.keepers) < lineup.turn.goals for lineup in draft.lineups):
            continue
        draft.weigh()
        if cast(draft, random, noise=attempt > 0):
            continue
        repair = Repair(draft, wanted=attempt < ANY_SIZES_FROM)
        clean = repair.run(MEND_STEPS if attempts > SOON else MEND_SOON, random)
        if best is None or repair.total() < best[0]:
            best = repair.total(), draft
        if clean:
            break
    return best[1] if best is not None else None


def _from_counts(club: Club, plan: WeekPlan, ring: Ring, limit: float) -> tuple[Draft | None, bool]:
    """Everything from the small models, session by session, for given groups; whether that is shown impossible."""
    from scheduler.rotation.lessen import Filled, fill

    groups, faults = make_groups(club, plan, ring, 0)
    draft = Draft(club, ring, groups)
    choose_keepers(draft)
    if faults or any(len(lineup.keepers) < lineup.turn.goals for lineup in draft.lineups):
        return None, False
    draft.weigh()
    became = fill(draft, limit)
    never = became is Filled.NEVER and all(one.groups == 1 for one in ring.sessions)
    return (draft if became is Filled.YES else None), never
