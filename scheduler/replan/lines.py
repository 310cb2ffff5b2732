"""The fair share of one player in one role over a week, kept ready for many questions about single swaps."""

from __future__ import annotations

from bisect import bisect_left


class Lines:
    """How far one player is from the fair share in one role after every turn still open that touches it."""

    def __init__(self, bound: int) -> None:
        self.turns: list[int] = []
        self.apart: list[int] = []
        self.bound = bound
        self._known: dict[tuple[int, int], int] = {}
        self._until: list[int] = []
        self._low: list[int] = []
        self._high: list[int] = []

    def _cost(self, apart: int) -> int:
        far = abs(apart) - self.bound
        return far + self.bound // 4 if far > 0 else 0

    def _count(self) -> None:
        """What lies before each turn is beyond the bound so far, and the least and most from each turn on."""
        self._until, self._low, self._high = [0], [10**18], [-(10**18)]
        for apart in self.apart:
            self._until.append(self._until[-1] + self._cost(apart))
        for apart in reversed(self.apart):
            self._low.append(min(self._low[-1], apart))
            self._high.append(max(self._high[-1], apart))
        self._low.reverse()
        self._high.reverse()

    def beyond(self, since: int = 0, by: int = 0) -> int:
        """Minutes beyond the bound over all whistles, scaled, if everything from turn `since` on moved by `by`."""
        found = self._known.get((since, by))
        if found is None:
            if not self._until:
                self._count()
            first = bisect_left(self.turns, since)
            found = self._until[first]
            if self._low[first] + by < -self.bound or self._high[first] + by > self.bound:
                found += sum(self._cost(apart + by) for apart in self.apart[first:])
            self._known[since, by] = found
        return found

    def first_beyond(self) -> tuple[int, int] | None:
        """The first turn beyond the bound, and the distance there."""
        for turn, apart in zip(self.turns, self.apart, strict=True):
            if abs(apart) > self.bound:
                return turn, apart
        return None

    def move(self, since: int, by: int) -> None:
        """Move everything from a turn on."""
        first = bisect_left(self.turns, since)
        self.apart = [*self.apart[:first], *(apart + by for apart in self.apart[first:])]
        self._known.clear()
        self._until = []
