"""How many findings are shown of each rule: the gravest first, and never a thousand lines of one mistake."""

from __future__ import annotations

from scheduler.audit import few_of_each
from scheduler.contract import Severity, Violation
from scheduler.terminal import MOST_ALIKE, finding_lines


def found(rule: str, number: int, severity: Severity = Severity.BREACH) -> Violation:
    return Violation(rule=rule, about=(), text=f"case {number}", severity=severity)


def test_gravest_first_and_the_rest_counted() -> None:
    """Five of `rest` shown as two and three left out; a single caution comes after, with nothing left out."""
    few = few_of_each([found("kit", 9, Severity.CAUTION), *(found("rest", n) for n in range(5))], 2)
    assert [(one.rule, one.text, more) for one, more in few] == [
        ("rest", "case 0", 0), ("rest", "case 1", 3), ("kit", "case 9", 0),
    ]  # fmt: skip


def test_exactly_as_many_as_are_shown_leaves_nothing_out() -> None:
    assert [more for _, more in few_of_each([found("rest", n) for n in range(2)], 2)] == [0, 0]


def test_breach_and_caution_of_one_rule_are_counted_apart() -> None:
    few = few_of_each([found("rest", 1, Severity.CAUTION), found("rest", 2), found("rest", 3, Severity.CAUTION)], 1)
    assert [(one.text, more) for one, more in few] == [("case 2", 0), ("case 1", 1)]


def test_terminal_says_how_many_more() -> None:
    lines = finding_lines(found("rest", number) for number in range(MOST_ALIKE + 30))
    assert len(lines) == MOST_ALIKE + 1
    assert lines[-1] == "  breach: rest: and 30 more like these (--json prints all)"
