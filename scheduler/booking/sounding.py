"""Stages that know what each wish costs at least before they look for plans: bounds, and how they are raised.

The linear relaxation says most of it. Where it is not all, the rows by themselves or the relaxation made tighter may
show that no plan is at some bounds: then one of them is higher.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from scheduler.booking.forced import forced
from scheduler.booking.relaxation import Least, Relaxation
from scheduler.booking.slots import Slot
from scheduler.booking.stages import LEAST_LEFT, PART_SHARE, Stages
from scheduler.progress import Report, silent
from scheduler.solver import cp_model

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel, Linear

Allowed = Callable[[str, Slot], bool]


class Sounding(Stages):
    """Stages with the bounds of the wishes to come.

    Each holds where the wishes before it cost no more than is shown of them.
    """

    def __init__(self, model: BookingModel, limit: float, on_progress: Report = silent, *, tidy: bool = True) -> None:
        super().__init__(model, limit, on_progress, tidy=tidy)
        self._relaxation = Relaxation(model.model, model.implied)
        self._shown: dict[str, Least] = {}
        self._allowed: Allowed = lambda session, slot: True  # what plans near these may have

    def _cost(self, wish: str) -> Linear:
        return cp_model.LinearExpr.sum(self._terms(wish))

    def _value(self, cost: Linear) -> int:
        assert self._found is not None
        return self._found.value(cost)

    def _is_open(self, cost: Linear, least: int) -> bool:
        return self._value(cost) > least and not self.stopped and self.left > LEAST_LEFT

    def _known(self, wishes: list[str]) -> list[str]:
        return [wish for wish in wishes if wish in self._shown]

    def _is_reached(self, wishes: list[str]) -> bool:
        return all(self._value(self._cost(wish)) <= self._shown[wish].value for wish in wishes)

    def _asked_relaxation(self, cost: Linear, relaxation: Relaxation) -> Least:
        shown = relaxation.least(cost, self.left * PART_SHARE)
        self.left -= shown.work
        self.stopped = self.stopped or shown.stopped
        return shown

    def _sound(self, wishes: list[str], known: Sequence[str] = ()) -> None:
        """Ask the relaxation of each wish in turn, as if those before cost no more than is shown of them.

        `known`: wishes before these of which that is known already.
        """
        part, relaxation = self._at_the_bounds(known)
        for wish in wishes:
            if self.stopped or self.left <= LEAST_LEFT:
                break
            cost = self._cost(wish)
            self._shown[wish] = (
                self._asked_relaxation(cost, relaxation) if self._value(cost) else relaxation.nothing(cost)
            )
            self._settle_in(relaxation, part, wish)
        self._allowed = self._booking.allowed_but(relaxation.out())

    def _at_the_bounds(self, wishes: Sequence[str]) -> tuple[cp_model.CpModel, Relaxation]:
        """The model for plans alone that pay what is shown of some wishes, and its relaxation."""
        part = self._booking.model.clone()
        relaxation = Relaxation(part, self._booking.implied)
        for wish in wishes:
            self._settle_in(relaxation, part, wish)
        return part, relaxation

    def _settle_in(self, relaxation: Relaxation, part: cp_model.CpModel, wish: str) -> None:
        shown = self._shown[wish]
        relaxation.settle(shown, shown.value)
        part.add(self._cost(wish) <= shown.value)

    def _raised(self, wishes: list[str], empty: list[str], relaxed: bool) -> list[str]:
        """Raise what is shown of a wish, since no plan pays what is shown of it and those before: the first such.

        `empty`: no plan pays what is shown of these. What is shown of the wishes after it took that for granted.
        """
        while len(empty) > 1 and not self.stopped:
            one, before = self._shown[empty[-1]], self._shown[empty[-2]]
            likely = relaxed and before.value and not (one.value or one.raised)
            if likely or not self._is_empty(empty[:-1], relaxed):
                break
            empty = empty[:-1]
        raised, later = empty[-1], wishes[len(empty) :]
        self._shown[raised] = self._shown[raised].raised_by_one()
        cheap = [wish in self._shown and not self._shown[wish].value for wish in later]
        anew = [*cheap, False].index(False)  # a plan of more choices costs no more, and none costs less than nothing
        for wish in later[:anew]:
            self._shown[wish] = self._relaxation.nothing(self._cost(wish))
        for wish in later[anew:]:
            self._shown.pop(wish, None)
        self._sound(later[anew:], [*empty, *later[:anew]])
        return self._known(wishes)

    def _is_empty(self, wishes: Sequence[str], relaxed: bool) -> bool:
        """Whether no plan is seen to pay what is shown of some wishes, without a search.

        By the rows, one by one and together; `relaxed`: by their relaxation too.
        """
        part, relaxation = self._at_the_bounds(wishes)
        found = forced(part, self.left * PART_SHARE)
        self.left -= found.work
        if relaxed and not (found.is_empty or found.stopped):
            found = relaxation.emptiness(self.left * PART_SHARE)
            self.left -= found.work
        self.stopped = self.stopped or found.stopped
        return found.is_empty
