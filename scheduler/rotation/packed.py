"""Something large that goes with many small tasks: packed once here, and unpacked once in each process there."""

from __future__ import annotations

import pickle
from typing import Generic, TypeVar

T = TypeVar("T")
_unpacked: dict[bytes, object] = {}


class Packed(Generic[T]):
    """Stands for `thing`; pickled, it is a string of bytes that is the same for every task."""

    def __init__(self, thing: T) -> None:
        self.thing = thing
        self._bytes: bytes | None = None

    def __reduce__(self) -> tuple[object, ...]:
        if self._bytes is None:
            self._bytes = pickle.dumps(self.thing)
        return _unpack, (self._bytes,)


def _unpack(packed: bytes) -> Packed[object]:
    if packed not in _unpacked:
        _unpacked.clear()
        _unpacked[packed] = pickle.loads(packed)
    return Packed(_unpacked[packed])
