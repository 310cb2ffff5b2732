"""How wide a text prints and how many lines it takes, so that rows are high enough and pages break where they should.

Widths are in units of a spreadsheet column: one digit of the sheet's font at 11 points. The classes of letters follow
the advance widths of the metric-compatible sans-serif fonts (from memory, rounded up); other scripts count as wide.
"""

from __future__ import annotations

from functools import lru_cache

_NARROW, _SPACE, _SLIM = frozenset("ijl'|"), frozenset(" .,;:!/\\It[]f"), frozenset('rt()-"*`{}')
_WIDE, _BROAD = frozenset("mMW@%"), frozenset("w&GOQCDHNRUABEKPSVXY")
PADDING = 0.8  # of a cell, both sides


@lru_cache(maxsize=65536)
def width(text: str, size: float = 11, bold: bool = False) -> float:
    """Width of a text on one line."""
    total = 0.0
    for letter in text:
        if letter in _NARROW:
            total += 0.42
        elif letter in _SPACE:
            total += 0.52
        elif letter in _SLIM:
            total += 0.63
        elif letter in _WIDE:
            total += 1.6
        elif letter in _BROAD:
            total += 1.32
        elif ord(letter) < 0x2E80:
            total += 1.0
        else:
            total += 1.85
    return total * size / 11 * (1.07 if bold else 1.0)


@lru_cache(maxsize=65536)
def lines_in(text: str, room: float, size: float = 11, bold: bool = False) -> int:
    """Printed lines of a text in so many units, broken between words; a word too long for a line is broken inside."""
    room = max(1.0, room - PADDING)
    count = 0
    for part in text.split("\n"):
        count += 1
        used = 0.0
        for word in part.split(" "):
            wide = width(word, size, bold)
            if used and used + width(" ", size, bold) + wide > room:
                count, used = count + 1, 0.0
            elif used:
                used += width(" ", size, bold)
            while wide > room:
                count, wide = count + 1, wide - room
            used += wide
    return count
