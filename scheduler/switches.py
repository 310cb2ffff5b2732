"""One switch a (rule, subject): the key for conflicts, exemptions and "plan without this rule"."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpModel, IntVar


class SwitchKey(NamedTuple):
    """The name of a switch: a rule's name and whom or what it is about."""

    rule: str
    subject: str


class Switches:
    """The switches of one model, made on demand, in order of first use."""

    def __init__(self, model: CpModel) -> None:
        self._model = model
        self._made: dict[SwitchKey, IntVar] = {}
        self._sentences: dict[SwitchKey, str] = {}

    def get(self, rule: str, subject: str, sentence: str = "") -> IntVar:
        """The literal of this key; `sentence` says the demand in trade words for conflict lists."""
        key = SwitchKey(rule, subject)
        if key not in self._made:
            self._made[key] = self._model.new_bool_var(f"switch[{rule}|{subject}]")
        if sentence:
            self._sentences.setdefault(key, sentence)
        return self._made[key]

    def items(self) -> list[tuple[SwitchKey, IntVar]]:
        """Every switch made so far, in order of first use."""
        return list(self._made.items())

    def sentence(self, key: SwitchKey) -> str:
        """The demand behind a switch in trade words."""
        return self._sentences.get(key, f"{key.rule}: {key.subject}")

    def fix_on(self, but: frozenset[SwitchKey] = frozenset()) -> None:
        """Turn every switch on, except those named, which are turned off."""
        for key, literal in self._made.items():
            self._model.add(literal == (0 if key in but else 1))
