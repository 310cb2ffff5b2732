"""How wide a text prints: against the advance widths in the font file itself, where one is on the machine."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest

from scheduler.lettering import lines_in, width

FONTS = Path("/usr/share/fonts/truetype/liberation2")
UNIT = 8 / (11 / 0.75)  # of the size: a column's unit at 11 points, 96 pixels an inch


def advances(path: Path) -> dict[int, float]:
    """The advance of every letter of a TrueType file, as a part of the size."""
    data = path.read_bytes()

    def number(at: int, kind: str = "H") -> int:
        found: int = struct.unpack_from(f">{kind}", data, at)[0]
        return found

    tables = {data[12 + 16 * i : 16 + 16 * i]: number(20 + 16 * i, "I") for i in range(number(4))}
    size, count = number(tables[b"head"] + 18), number(tables[b"hhea"] + 34)
    start = tables[b"cmap"]
    (table,) = [
        start + number(start + 8 + 8 * i, "I")
        for i in range(number(start + 2))
        if (number(start + 4 + 8 * i), number(start + 6 + 8 * i)) == (3, 1)
    ]
    parts, found = number(table + 6) // 2, {}
    for part in range(parts):
        at = table + 14 + 2 * part
        last, first = number(at), number(at + 2 * parts + 2)
        shift, far = number(at + 4 * parts + 2), number(at + 6 * parts + 2)
        for letter in range(first, last + 1):
            glyph = number(at + 6 * parts + 2 + far + 2 * (letter - first)) if far else (letter + shift) % 65536
            found[letter] = number(tables[b"hmtx"] + 4 * min(glyph, count - 1)) / size
    return found


@pytest.mark.skipif(not FONTS.is_dir(), reason="the font is not on this machine")
@pytest.mark.parametrize(("bold", "name"), [(False, "Regular"), (True, "Bold")])
def test_letters_are_as_wide_as_in_the_font(bold: bool, name: str) -> None:
    real = advances(FONTS / f"LiberationSans-{name}.ttf")
    for letter in range(32, 127):
        assert width(chr(letter), 11, bold) == pytest.approx(real[letter] / UNIT * 1.02, rel=0.003), chr(letter)
    said = "Zoë, Łukasz, Søren, Þóra, Ægir und Œuvre: ¿Qué? – Ağrı, Žižek"
    assert width(said, 11, bold) >= sum(real[ord(letter)] for letter in said) / UNIT


def test_lines_break_between_words_and_long_words_inside() -> None:
    room = width("Ivo and Noor") + 0.5
    assert lines_in("Ivo and Noor", room) == 1
    assert lines_in("Ivo and Noor swap", room) == 2
    assert lines_in("Ivo and Noor", room, 12) == 2
    assert lines_in("Ivo and Noor", room, 11, bold=True) == 2
    assert lines_in("m" * 30, room) == 5
    assert lines_in("one\ntwo\n", room) == 3


def test_a_word_too_long_for_a_line_is_broken_after_its_hyphen() -> None:
    """`17:00-` and `18:00,`: what follows stands beside the second half only where both fit."""
    room = width("17:00-18:00,", bold=True) - 0.5
    assert width("18:00, Marit", bold=True) > room
    assert lines_in("17:00-18:00,", room, bold=True) == 2
    assert lines_in("U9 1, 17:00-18:00, Marit", room, bold=True) == 4
    assert lines_in("17:00-18:00, Marit", width("17:00-18:00, Marit", bold=True) + 0.5, bold=True) == 1
    assert width("東京") > width("mm") * 1.2
