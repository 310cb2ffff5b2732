"""Numbers as people say them."""

from __future__ import annotations


def so_many(number: int, one: str, many: str = "") -> str:
    """A number with its word: `1 minute`, `2 minutes`; `many` where an `s` is not enough."""
    return f"{number} {one}" if number == 1 else f"{number} {many or one + 's'}"
