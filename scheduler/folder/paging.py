"""Cards cut into pages of A4: at most twelve reps a page, and no more than fits at a size readable at arm's length.

So that a card is one page for as many children as can be, a rep in which everybody stays takes one line, the columns
are as wide as this card's names ask for, the cautions stand once, and where that is not enough the letters are smaller,
those of the cautions first. Heights are in points. The sheet of a card takes its row heights from here, so that what is
counted is what is printed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from scheduler.club.programme import Kind
from scheduler.folder.cards import BlockCard, Card, RepCard
from scheduler.folder.cautions import card_cautions
from scheduler.folder.whistle import STAYS, UNLESS_NAMED
from scheduler.lettering import BETWEEN, lines_in, width

MOST_REPS = 12  # in full; a rep on one line is none to look for a name in
PAGE = 780.0  # points between the margins of A4 upright, a little left over
SIZES = ((11, 11), (11, 9), (10.5, 9), (10, 9), (9.5, 9), (9, 9))  # points of the letters and of the cautions
LINE = 12.8  # points a printed line of 11 points
PAD = 1.3  # points of a boxed row
TITLE = 26.0
Widths = tuple[float, ...]  # of the columns rep, area or side, attack, defend, in goal, rest
COLUMN_WIDTHS: Widths = (7.5, 15.0, 25.0, 17.0, 11.0, 12.0)
OTHER_WIDTHS: tuple[Widths, ...] = (
    (7.5, 15.0, 28.5, 19.0, 11.5, 6.0),  # nobody rests
    (7.5, 20.5, 25.0, 17.5, 11.0, 6.0),
    (7.5, 15.0, 32.0, 16.0, 11.0, 6.0),
    (7.5, 20.5, 27.0, 16.0, 10.5, 6.0),
    (7.5, 20.0, 22.5, 16.0, 11.0, 10.5),
    (7.5, 15.0, 22.0, 15.0, 11.5, 16.5),  # many rest
    (7.5, 20.5, 19.0, 13.0, 11.5, 16.0),
)
FULL = sum(COLUMN_WIDTHS) + BETWEEN * (len(COLUMN_WIDTHS) - 1)
REST = 5
WEB_LABEL, WEB_ROOM = 20.5, 56.0  # units of the label of a row on the web page, and beside it
WEB_MORE = 10.0  # points of its frames
SPANS: dict[Kind, dict[str, tuple[int, int]]] = {
    Kind.PART: {"attack": (2, 2), "defend": (3, 3), "keep": (4, 4)},
    Kind.GAME: {"play": (2, 3), "keep": (4, 4)},
    Kind.TOGETHER: {},
}


@dataclass(frozen=True)
class Look:
    """How a card is set: the widths of its columns, the points of its letters and of its cautions."""

    widths: Widths = COLUMN_WIDTHS
    size: float = SIZES[0][0]
    small: float = SIZES[0][1]
    alone: bool = True  # one page, so that the title has no number behind it
    on_screen: ClassVar[bool] = False

    def title_fits(self, card: Card) -> bool:
        """Whether the title, with the number of its page where there are several, leaves room for day and time."""
        number = 0.0 if self.alone else width(" (page 10 of 10)", 20, True)
        return width(card.title, 20, True) + number < self.room(0, 2)

    def room(self, first: int, last: int) -> float:
        """Units of width of some columns made one."""
        return sum(self.widths[first : last + 1]) + BETWEEN * (last - first)

    def line(self, size: float | None = None) -> float:
        """Points of a printed line."""
        return LINE * (size or self.size) / SIZES[0][0]

    def text(self, text: str, room: float = FULL, *, bold: bool = False, size: float | None = None) -> float:
        """Points of a paragraph in so many units of width."""
        return lines_in(text, room, size or self.size, bold) * self.line(size)

    def rows(self, kind: Kind, rep: RepCard) -> list[float]:
        """Points of a rep's rows, each as high as its fullest cell; the last makes up for a long list of rests."""
        heights = []
        for row in rep.slots:
            cells = [(row.label, self.room(1, 1))]
            cells += [(", ".join(names), self.room(*SPANS[kind][role])) for role, _, names in row.cells]
            heights.append(max(self.text(text, room) for text, room in cells) + PAD)
        rest = self.text(", ".join(rep.rest), self.room(REST, REST)) + PAD
        lead = 3 * self.line() + PAD - self.whistle(rep)
        if heights:
            heights[-1] += max(0.0, max(rest, lead) - sum(heights))
        return heights

    def whistle(self, rep: RepCard) -> float:
        """Points of the row with what changes at the whistle."""
        return self.text(rep.whistle, self.room(1 if rep.slots else 2, REST), bold=True) + PAD

    def rep(self, kind: Kind, rep: RepCard) -> float:
        """Points of a whole rep."""
        return sum(self.rows(kind, rep)) + self.whistle(rep)

    def block(self, block: BlockCard) -> float:
        """Points of a block's heading and of its column heads."""
        heads = 0 if block.kind is Kind.TOGETHER else self.line() + PAD
        return self.line() + 4 + self.text(block.details) * bool(block.details) + heads

    def head(self, card: Card, first: bool) -> float:
        """Points above the first block."""
        title = (
            TITLE if self.title_fits(card) else TITLE * lines_in(title_words(card), FULL, 20, True) + self.line() + 4
        )
        if not first:
            return title + self.line() + 4
        heads = sum(self.text(words, self.room(1, REST)) for _, words in card.heads)
        sides = sum(self.text(names, self.room(2, REST)) for _, names in card.sides)
        notes = sum(self.text(note, bold=True) for note in card.notes)
        return title + heads + sides + notes + 4

    def foot(self, card: Card, first: bool) -> float:
        """Points of the room to write and, on the first page, of the cautions."""
        cautions = card_cautions(card.help, card.not_checked) if first else ()
        return 4 + 2 * LINE + PAD + sum(self.text(text, size=self.small) for text in cautions)


@dataclass(frozen=True)
class WebLook(Look):
    """The same card as the web page prints it: the roles of a row stand side by side as far as they fit."""

    on_screen: ClassVar[bool] = True

    def rows(self, kind: Kind, rep: RepCard) -> list[float]:
        """Points of a rep's rows; who rests has one of its own."""
        said = [
            (f"Area {row.label}", [f"Attack: {', '.join(names)}" for _, _, names in row.cells if names])
            for row in rep.slots
        ]
        said += [("Rest", [", ".join(rep.rest)])] if rep.rest and rep.slots else []
        heights = [max(self.text(label, WEB_LABEL), self._side_by_side(texts)) + PAD for label, texts in said]
        if heights:
            heights[-1] += max(0.0, 3 * self.line() + PAD - self.whistle(rep) - sum(heights))
        return heights

    def _side_by_side(self, texts: Sequence[str]) -> float:
        lines, used = 1, 0.0
        for text in texts:
            wide = width(text, self.size)
            if used and used + wide > WEB_ROOM:
                lines, used = lines + 1, 0.0
            lines += lines_in(text, WEB_ROOM, self.size) - 1
            used += wide + 2
        return lines * self.line()

    def foot(self, card: Card, first: bool) -> float:
        """Points of the foot, with the number of the plan."""
        return super().foot(card, first) + self.line() + WEB_MORE


def look_of(card: Card, made: type[Look] = Look) -> Look:
    """The largest letters with which a card takes the fewest pages, and the widths with which it is shortest."""
    blocks = [replace(block, reps=in_short(block.reps)) for block in card.blocks]

    def height(look: Look) -> float:
        body = sum(look.block(block) + sum(look.rep(block.kind, rep) for rep in block.reps) for block in blocks)
        return look.head(card, True) + body + look.foot(card, True)

    best: tuple[int, Look] | None = None
    for alone in (True, False):
        for size, small in SIZES:
            looks = (made(widths, size, small, alone) for widths in (COLUMN_WIDTHS, *OTHER_WIDTHS))
            look = min(looks, key=height)
            count = len(_cut(card, look))
            if count == 1:
                return look
            if not alone and (best is None or count < best[0]):
                best = count, look
    assert best is not None
    return best[1]


def title_words(card: Card) -> str:
    """The card's title, with its page where there are several."""
    return card.title + (f" (page {card.page} of {card.pages})" if card.pages > 1 else "")


def _in_short(rep: RepCard, above: tuple[RepCard, ...]) -> RepCard:
    """A rep below others of its block: on one line where nobody moves, and who stays unless named is said once."""
    if above and (rep.slots, rep.rest, rep.whistle) == (above[-1].slots, above[-1].rest, STAYS):
        return replace(rep, slots=(), rest=())
    if any(one.whistle.startswith(UNLESS_NAMED) for one in above):
        words = rep.whistle.removeprefix(UNLESS_NAMED).lstrip()
        return replace(rep, whistle=words[:1].upper() + words[1:])
    return rep


def in_short(reps: tuple[RepCard, ...]) -> tuple[RepCard, ...]:
    """The reps of a block as they stand on one page."""
    return tuple(_in_short(rep, reps[:at]) for at, rep in enumerate(reps))


def pages(card: Card, *, on_screen: bool = False) -> tuple[Card, ...]:
    """The card as one page, or as several where its reps do not fit on one; a page never breaks inside a rep.

    `on_screen`: every rep in full, what is printed of it beside it, for a screen that shows one rep at a time; and
    the cautions on every page.
    """
    sheets = _cut(card, look_of(card, WebLook if on_screen else Look))
    return tuple(replace(card, blocks=sheet, page=n, pages=len(sheets)) for n, sheet in enumerate(sheets, 1))


def _cut(card: Card, look: Look) -> list[tuple[BlockCard, ...]]:
    """The blocks of each page."""
    sheets: list[list[BlockCard]] = [[]]
    count, room = 0, PAGE - look.head(card, True) - look.foot(card, True)
    for block in card.blocks:
        above: tuple[RepCard, ...] = ()
        for rep in block.reps:
            shown = _in_short(rep, above)
            need = look.rep(block.kind, shown) + (0 if above else look.block(block))
            if sheets[-1] and ((count == MOST_REPS and shown.slots) or need > room):
                sheets.append([])
                count, room = 0, PAGE - look.head(card, False) - look.foot(card, look.on_screen)
                above, shown, need = (), rep, look.rep(block.kind, rep) + look.block(block)
            if not above:
                sheets[-1].append(replace(block, reps=()))
            put = replace(rep, printed=shown) if look.on_screen else shown
            sheets[-1][-1] = replace(sheets[-1][-1], reps=(*sheets[-1][-1].reps, put))
            count, room, above = count + bool(shown.slots), room - need, (*above, rep)
    return [tuple(sheet) for sheet in sheets]
