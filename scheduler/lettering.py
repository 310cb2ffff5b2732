"""How wide a text prints and how many lines it takes, so that rows are high enough and pages break where they should.

Widths are in units of a spreadsheet column, 8 pixels: one digit of the sheet's font at 11 points. Letters have the
advance widths of Liberation Sans, to which the sheet's font is metrically equal; accents add nothing to a letter.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from unicodedata import normalize

_REGULAR = {
    191: "'", 222: "ijl", 260: "|", 278: " !,./:;I[\\]ft", 333: "()-`r", 334: "{}", 355: '"', 389: "*", 469: "^",
    500: "Jcksvxyz", 556: "#$0123456789?L_abdeghnopqu", 584: "+<=>~", 611: "FTZ", 667: "&ABEKPSVXY", 722: "CDHNRUw",
    778: "GOQ", 833: "Mm", 889: "%", 944: "W", 1015: "@",
}  # fmt: skip
_BOLD = {
    238: "'", 278: " ,./I\\ijl", 280: "|", 333: "!()-:;[]`ft", 389: "*r{}", 474: '"', 500: "z",
    556: "#$0123456789J_aceksvxy", 584: "+<=>^~", 611: "?FLTZbdghnopqu", 667: "EPSVXY", 722: "&ABCDHKNRU",
    778: "GOQw", 833: "M", 889: "%m", 944: "W", 975: "@",
}  # fmt: skip
_DOUBLE = frozenset("ÆæŒœ…—")
_OTHER, _LARGE, _IDEOGRAPH = 800, 1000, 1060  # thousandths of the size: of other alphabets few letters are wider
_UNITS = 11 / 0.75 / 8 / 1000  # units a thousandth of 11 points, at 96 pixels an inch
_SAFE = 1.02  # programs and printers differ by some hundredths
BETWEEN = 5 / 8  # units that a column is wider than its letters, and that cells made one gain
PADDING = 0.4  # of a cell, both sides
_AFTER_HYPHENS = re.compile(r"[^-]*-+|[^-]+")


class _Advances(dict[str, int]):
    """How far each letter of a font reaches, in thousandths of the size; others are added as they are met."""

    def __init__(self, font: Mapping[int, str]) -> None:
        super().__init__({letter: advance for advance, letters in font.items() for letter in letters})

    def __missing__(self, letter: str) -> int:
        bare = normalize("NFD", letter)[0]
        if bare != letter:
            self[letter] = self[bare]
        else:
            self[letter] = _LARGE if letter in _DOUBLE else _OTHER if ord(letter) < 0x2E80 else _IDEOGRAPH
        return self[letter]


_ADVANCES = (_Advances(_REGULAR), _Advances(_BOLD))


@lru_cache(maxsize=65536)
def width(text: str, size: float = 11, bold: bool = False) -> float:
    """Width of a text on one line."""
    return sum(map(_ADVANCES[bold].__getitem__, text)) * _UNITS * _SAFE * size / 11


@lru_cache(maxsize=65536)
def lines_in(text: str, room: float, size: float = 11, bold: bool = False) -> int:
    """Printed lines of a text in so many units, broken between words, a word too long for a line after its hyphens."""
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
            for piece in (word,) if wide <= room else _AFTER_HYPHENS.findall(word):
                wide = width(piece, size, bold)
                if used and used + wide > room:
                    count, used = count + 1, 0.0
                while wide > room:
                    count, wide = count + 1, wide - room
                used += wide
    return count
