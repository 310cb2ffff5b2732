"""The last few answers about the very same frozen things, kept so that nothing is worked out twice in a row."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

T = TypeVar("T")


class Remembered(Generic[T]):
    """Answers by the objects they are about. Only for objects that never change, such as clubs, plans and sessions.

    Compared by identity: comparing two weeks place by place would cost more than most answers.
    """

    def __init__(self, keep: int = 1) -> None:
        self._keep = keep
        self._known: list[tuple[tuple[object, ...], T]] = []

    def of(self, *about: object, make: Callable[[], T]) -> T:
        """The answer about these very objects, made where it is not one of the last few."""
        for known, answer in self._known:
            if len(known) == len(about) and all(one is other for one, other in zip(known, about, strict=True)):
                return answer
        made = make()
        self._known[:] = [(about, made), *self._known[: self._keep - 1]]
        return made
