"""What a rule is. The rules stand in `constraints/`; nothing here knows any of them.

A rule posts itself to a solve and audits a finished plan; the two share the source, never the arithmetic. `audit`
must run with OR-Tools absent, so rule files import the containers for typing only.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Protocol, TypeGuard, TypeVar

if TYPE_CHECKING:
    from scheduler.club.club import Club
    from scheduler.club.people import Player
    from scheduler.plan.plan import WeekPlan

Model = TypeVar("Model", contravariant=True)  # the container of a solve, which stands in a room above this one


class Basis(StrEnum):
    """What a rule rests on."""

    PUBLISHED = "published"
    COMMON_PRACTICE = "common practice, no source"
    FROM_MEMORY = "from memory"
    OURS = "our choice"


@dataclass(frozen=True)
class Source:
    """Where a rule comes from, in words a volunteer can look up."""

    title: str
    where: str = ""
    basis: Basis = Basis.PUBLISHED

    def __str__(self) -> str:
        """As printed beside the rule."""
        place = f", {self.where}" if self.where else ""
        return f"{self.title}{place}" + ("" if self.basis is Basis.PUBLISHED else f" ({self.basis.value})")


class Severity(StrEnum):
    """A rule broken; close to a limit or a wish not met; worth knowing."""

    BREACH = "breach"
    CAUTION = "caution"
    NOTE = "note"


@dataclass(frozen=True)
class Violation:
    """One finding of an audit. `by` is an amount in `unit`; of a wish it is what the solver would have paid.

    `text` is a whole sentence without confidential facts; `private` is the fuller one, for the welfare file alone.
    """

    rule: str
    about: tuple[str, ...]
    text: str
    by: Fraction | int = 1
    unit: str = ""
    severity: Severity = Severity.BREACH
    private: str = ""


class Rule(Protocol):
    """The part every rule has."""

    @property
    def name(self) -> str:
        """The rule's name in trade words, also the first half of every switch."""

    @property
    def words(self) -> str:
        """What it holds, in one sentence."""

    @property
    def source(self) -> Source:
        """Where it comes from."""

    @property
    def firm(self) -> bool:
        """Firm (True) or a wish."""

    def off(self, club: Club) -> str | None:
        """Why the rule cannot be checked for this club (`the Kit sheet is empty`), or None where it can."""

    def audit(self, club: Club, plan: WeekPlan) -> Iterable[Violation]:
        """Every finding on a plan, never raising; sessions without blocks are judged as bookings only."""


class BookingRule(Rule, Protocol[Model]):
    """A rule with a say in the first solve; it posts to a `scheduler.booking.model.BookingModel`."""

    def post(self, club: Club, model: Model) -> None:
        """Post to the booking, every constraint on `model.switch(self.name, subject)`."""


class RotationRule(Rule, Protocol[Model]):
    """A rule with a say in the second solve, the week being booked; the model a `scheduler.rotation.model` has."""

    def post_roles(self, club: Club, plan: WeekPlan, model: Model) -> None:
        """Post to the rotation, every constraint on `model.switch(self.name, subject)`."""


class NarrowingRule(BookingRule[Model], Protocol[Model]):
    """A booking rule that also speaks before there are variables: slots it excludes, children it might send home.

    Slots are excluded on a switch like everything else; what cannot be said slot by slot is left to `post`.
    """

    def narrow(self, club: Club, model: Model) -> None:
        """Call `rule_out`, `children.may_be_left_out` and `children.may_be_cut` of the model."""


class RuleInParts(Rule, Protocol):
    """A rule of several demands, some of which need a column of their own."""

    def off_in_part(self, club: Club) -> tuple[str, ...]:
        """Which demands cannot be checked for this club though the rule is on, and why."""


class RuleOfHours(Rule, Protocol):
    """A rule by which children have finished at a time of the day, wherever the session is held."""

    def home_by(self, club: Club, player: Player) -> int | None:
        """The minute of the day by which the child must have finished, if there is one."""


def sends_home(rule: Rule) -> TypeGuard[RuleOfHours]:
    """Whether the rule says when children must have finished."""
    return hasattr(rule, "home_by")


def is_in_parts(rule: Rule) -> TypeGuard[RuleInParts]:
    """Whether the rule can be off in part."""
    return hasattr(rule, "off_in_part")


def is_narrowing_rule(rule: BookingRule[Model]) -> TypeGuard[NarrowingRule[Model]]:
    """Whether the booking rule also speaks before there are variables."""
    return hasattr(rule, "narrow")


def is_booking_rule(rule: Rule) -> TypeGuard[BookingRule[Any]]:
    """Whether the rule posts to the booking. Whoever lets it post names the model by type, as in `booking.build`."""
    return hasattr(rule, "post")


def is_rotation_rule(rule: Rule) -> TypeGuard[RotationRule[Any]]:
    """Whether the rule posts to the rotation."""
    return hasattr(rule, "post_roles")
