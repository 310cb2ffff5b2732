"""What a coarse model of a booking left out, looked at once the rest is settled: the quality of pitches."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from scheduler.booking.bounded import Bounded
from scheduler.booking.proofs import proof_of
from scheduler.booking.slots import slot_of
from scheduler.booking.stages import LEAST_LEFT, Stages
from scheduler.booking.unmet import unmet_of
from scheduler.club.club import Club
from scheduler.contract import Rule
from scheduler.priorities import BOOKING_ORDER

if TYPE_CHECKING:
    from scheduler.booking.slots import Slot

NEAR = (0, 15, 30, 60)  # minutes from the time that a session has, pitches of all sites on that day
AROUND = (
    (0, 2.0),
    (30, 3.0),
    (60, 4.0),
    (120, 4.0),
)  # such minutes, and reproducible seconds to look around a plan of a large club
SHARE = 0.9  # of what is left, for each of these


class Finer:
    """The full model of a club whose coarse model has been solved.

    `slots`: those that no rule excludes by itself. `make`: stages of the full model with these slots alone and so many
    seconds; `nearer`: whether to search part by part too.
    """

    def __init__(
        self,
        club: Club,
        rules: Sequence[Rule],
        slots: Mapping[str, Sequence[Slot]],
        make: Callable[[dict[str, list[Slot]], float, bool], Bounded],
    ) -> None:
        self._club, self._slots, self._make = club, slots, make
        self._rules = rules

    def of(self, coarse: Bounded) -> Stages:
        """The coarse stages where that settles it, with what they left out in their list; else those of the full model.

        Without a plan, as they are.
        """
        if coarse.plan is None or not coarse.left_out:
            return coarse
        if not self._is_enough(coarse):
            self._better_pitches(coarse, None)
        owed = self._owed(coarse)
        for minutes, seconds in AROUND if coarse.is_large else ():
            if self._is_enough(coarse) or self._owed(coarse) > owed:
                break
            owed = self._owed(coarse) / 2  # where the half of it is soon won, likely all is
            self._better_pitches(coarse, minutes, seconds)
        for minutes in NEAR:
            if self._is_enough(coarse):
                break
            self._better_pitches(coarse, minutes)
        if not self._is_enough(coarse):
            stages = self._begun(coarse, coarse.left, lambda slot, held: True, nearer=True)
            if stages is not None:
                stages.run()
                return stages
        self._list(coarse)
        return coarse

    def _is_enough(self, coarse: Bounded) -> bool:
        """Whether nothing is left to be won, or no time to win it."""
        return coarse.stopped or coarse.left <= LEAST_LEFT or not self._owes(coarse)

    def _list(self, coarse: Bounded) -> None:
        """What the plan pays for wishes that were left out.

        A wish of which the model knew a part costs at least that; of those after it nothing is shown unless it does.
        """
        paid, owes = self._paid(coarse), self._owes(coarse)
        known = {proof.measure: proof for proof in coarse.proofs}
        for number, (wish, value) in enumerate(paid.items()):
            least = known[wish].bound if wish in known and not (owes and number) else 0.0
            known[wish] = proof_of(wish, value, least, value == least)
        coarse.proofs = [known[wish] for wish in BOOKING_ORDER if wish in known]
        coarse.finished = all(proof.proved for proof in coarse.proofs)

    def _paid(self, coarse: Bounded) -> dict[str, float]:
        """What the plan pays for each wish of which the model knows only a part."""
        assert coarse.plan is not None
        known = {proof.measure for proof in coarse.proofs}
        paid = {wish: 0.0 for wish in coarse.left_out if wish in known or wish in coarse.partly}
        for row in unmet_of(self._club, coarse.plan, self._speak_of(paid)):
            if row.wish in paid:
                paid[row.wish] += row.by
        return paid

    def _speak_of(self, wishes: Mapping[str, float]) -> Sequence[Rule]:
        """The rules that can tell what a plan pays for some wishes: a firm rule may have one of another name."""
        own = {rule.name for rule in self._rules if not rule.firm}
        return [rule for rule in self._rules if not (rule.firm and own.issuperset(wishes))]

    def _owes(self, coarse: Bounded) -> bool:
        """Whether the plan pays more for these than the model says."""
        return self._owed(coarse) > 0

    def _owed(self, coarse: Bounded) -> float:
        """How much more."""
        said = {proof.measure: proof.value for proof in coarse.proofs}
        return sum(max(0.0, value - said.get(wish, 0.0)) for wish, value in self._paid(coarse).items())

    def _better_pitches(self, coarse: Bounded, minutes: int | None, seconds: float = 0.0) -> None:
        """Other pitches on the same days and at much the same times, where wishes are better met so.

        `minutes`: None: neither at other times nor at another site. `seconds`: to look around; 0: in full.
        """

        def near(slot: Slot, held: Slot) -> bool:
            if minutes is None:
                return slot.moment == held.moment
            return slot.date == held.date and abs(slot.start - held.start) <= minutes

        left = SHARE * coarse.left
        stages = self._begun(coarse, left, near, nearer=False)
        if stages is None:
            return
        if seconds:
            stages.look_around(coarse.left_out[0], seconds)
        else:
            stages.run()
        coarse.plan, coarse.stopped = stages.plan, stages.stopped
        if not self._owes(coarse):
            stages.tidy_up()
            coarse.plan, coarse.stopped = stages.plan, stages.stopped
        coarse.left -= left - stages.left

    def _begun(self, coarse: Bounded, left: float, near: Callable[[Slot, Slot], bool], *, nearer: bool
               ) -> Bounded | None:  # fmt: skip
        """Stages of the full model, begun from the plan, with slots like those that sessions have; None: not sayable.

        Without what is settled; no wish that the coarse model knew is less well met.
        """
        assert coarse.plan is not None
        held = {one.session: slot_of(self._club, one) for one in coarse.plan.sessions}
        allowed = coarse.still_allowed()
        slots = {
            session: [slot for slot in of if near(slot, held[session]) and allowed(session, slot)]
            for session, of in self._slots.items()
        }
        stages = self._make(slots, left, nearer)
        if not stages.start_from(coarse.plan):
            return None
        stages.take_over(coarse)
        return stages
