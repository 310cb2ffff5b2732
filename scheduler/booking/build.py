"""The model of a club's week, with every rule that is on posted to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, TypedDict

from scheduler.booking.slots import slot_of
from scheduler.club.club import Club
from scheduler.contract import BookingRule, Rule, is_booking_rule, is_narrowing_rule
from scheduler.plan.plan import PlannedSession, WeekPlan

if TYPE_CHECKING:
    from scheduler.booking.children import Children
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot


class Small(TypedDict, total=False):
    """What makes a model smaller: adults of other teams left out, and children who come to everything they can.

    `widened`: sessions for which there is every choice all the same.
    """

    outsiders: bool
    certain_only: bool
    widened: frozenset[str]


def posting(club: Club, rules: Sequence[Rule]) -> list[BookingRule[BookingModel]]:
    """The rules that are on and have a say in the booking, in an order that does not hang on the registry's."""
    return sorted((rule for rule in rules if is_booking_rule(rule) and rule.off(club) is None), key=lambda r: r.name)


def build_booking(
    club: Club,
    rules: Sequence[Rule],
    *,
    switchable: bool = False,
    free: bool = False,
    outsiders: bool = True,
    certain_only: bool = False,
    widened: frozenset[str] = frozenset(),
    may_cancel: bool = False,
    earlier: WeekPlan | None = None,
    wishes: bool = True,
    relaxed: bool = False,
    coarse: bool = False,
    like: BookingModel | None = None,
    beside: WeekPlan | None = None,
    slots: Mapping[str, list[Slot]] | None = None,
    choices: Children | None = None,
) -> BookingModel:
    """The model of a club's week with every rule that is on posted to it.

    Not `switchable`: every switch is on, slots that a rule excludes are left out and the rows are tight. `switchable`:
    every constraint hangs on its switch, and nothing is fixed; the caller fixes the switches or assumes them. `like`:
    a model of the same club and rules, not switchable, whose slots have been narrowed already. `beside`: sessions that
    have the slots of this plan and no others. `slots`: the only ones that each session may have. `choices`: of a
    narrowed model of more sessions, where children have reasons to miss one that this club does not know of.
    """
    from scheduler.booking.model import BookingModel

    model = BookingModel(
        club, switchable=switchable, free=free, outsiders=outsiders, certain_only=certain_only, widened=widened,
        may_cancel=may_cancel, earlier=earlier, wishes=wishes, relaxed=relaxed, coarse=coarse, like=like,
        slots=slots,
    )  # fmt: skip
    for planned in beside.sessions if beside is not None and like is None else ():
        model.keep_slot(planned.session, slot_of(club, planned))
    if like is None:
        _narrow(club, rules, model)
    if choices is not None:
        model.children.choose_like(choices)
    model.make()
    for rule in posting(club, rules):
        rule.post(club, model)
    if not switchable:
        model.switches.fix_on()
    return model


def narrowed_booking(club: Club, rules: Sequence[Rule]) -> BookingModel:
    """A model that has been narrowed and no more: for others to be made like it, each without doing so again."""
    from scheduler.booking.model import BookingModel

    model = BookingModel(club)
    _narrow(club, rules, model)
    model.end_narrowing()
    return model


def _narrow(club: Club, rules: Sequence[Rule], model: BookingModel) -> None:
    for rule in posting(club, rules):
        if is_narrowing_rule(rule):
            rule.narrow(club, model)


def hold_and_forbid(model: BookingModel, hold: Sequence[PlannedSession], forbidden: Sequence[WeekPlan]) -> None:
    """Post what stays where it is, and what must not come again."""
    for planned in hold:
        on = model.switch("held as planned", planned.session, f"{planned.session} stays where it is")
        model.stay(on, planned)
    for plan in forbidden:
        model.forbid(plan)
