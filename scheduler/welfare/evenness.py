"""How evenly minutes are shared: Jain's index, the Gini coefficient and the least share.

Sources: Jain, Chiu, Hawe 1984 (DEC-TR-301); the Gini formulae from memory. No single index shows a child left out (two
sharings can have the same Jain's index and one of them a child with nothing), so the least share stands beside them.
"""

from __future__ import annotations

from collections.abc import Sequence

Number = int | float


def jain(shares: Sequence[Number]) -> float | None:
    """(sum x)^2 / (n sum x^2): 1 where all are equal, k/n where k of n share equally; None where all are 0."""
    squares = sum(share * share for share in shares)
    return None if squares == 0 else sum(shares) ** 2 / (len(shares) * squares)


def gini(shares: Sequence[Number], *, corrected: bool = False) -> float | None:
    """0 where all are equal, towards 1 where one has everything; `corrected` multiplies by n / (n - 1).

    None where all are 0, and for the corrected form where there is only one.
    """
    count, total = len(shares), sum(shares)
    if total == 0 or (corrected and count < 2):
        return None
    ranked = sum((2 * rank - count - 1) * share for rank, share in enumerate(sorted(shares), 1))
    return ranked / (count * total) * (count / (count - 1) if corrected else 1)


def least_share(shares: Sequence[Number]) -> float | None:
    """The least share over the mean: 1 where all are equal, 0 where somebody has nothing; None where all are 0."""
    total = sum(shares)
    return None if total == 0 else min(shares) * len(shares) / total
