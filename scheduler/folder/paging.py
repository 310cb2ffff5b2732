"""Cards cut into pages of A4: at most twelve reps a page, and no more than fits in letters of eleven points.

So that a card is one page for as many children as can be, a rep in which everybody stays takes one line, the columns
are as wide as this card's names ask for, kit stands beside the heading of its block where both fit, and the cautions
stand once. Where that is not enough there is another page: letters are never smaller. Heights are in points. The sheet
of a card takes its row heights from here, so that what is counted is what is printed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from scheduler.club.programme import Kind
from scheduler.folder.cards import BlockCard, Card, RepCard
from scheduler.folder.cautions import card_cautions
from scheduler.folder.whistle import STAYS, UNLESS_NAMED
from scheduler.lettering import BETWEEN, PADDING, lines_in, width

MOST_REPS = 12  # in full; a rep on one line is none to look for a name in
PAGE = 780.0  # points between the margins of A4 upright, a little left over
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
ROLES = {"attack": "Attack", "defend": "Defend", "keep": "In goal", "play": "Play"}
_MM = 72 / 25.4 / 6  # units of width, as the style of the web page counts in millimetres
_WEB = 188 * _MM + PADDING  # across its page
WEB_LABEL = 44 * _MM + PADDING  # the label of a row
WEB_NAMES = _WEB - 66 * _MM  # beside it
WEB_WHISTLE, WEB_ALONE = _WEB - 20 * _MM, _WEB - 55 * _MM  # beside the number of a rep, and of one without rows
WEB_HEADING, WEB_FRAMES = 20.0, 38.0  # points of the heading of a block, and of the foot without its words
SPANS: dict[Kind, dict[str, tuple[int, int]]] = {
    Kind.PART: {"attack": (2, 2), "defend": (3, 3), "keep": (4, 4)},
    Kind.GAME: {"play": (2, 3), "keep": (4, 4)},
    Kind.TOGETHER: {},
}


@dataclass(frozen=True)
class Look:
    """How a card is set: the widths of its columns, and how high its parts are with them."""

    widths: Widths = COLUMN_WIDTHS
    alone: bool = True  # one page, so that the title has no number behind it
    choices: ClassVar[tuple[Widths, ...]] = (COLUMN_WIDTHS, *OTHER_WIDTHS)
    full: ClassVar[float] = FULL
    line: ClassVar[float] = LINE
    on_screen: ClassVar[bool] = False

    def title_fits(self, card: Card) -> bool:
        """Whether the title, with the number of its page where there are several, leaves room for day and time."""
        number = 0.0 if self.alone else width(" (page 10 of 10)", 20, True)
        return width(card.title, 20, True) + number < self.room(0, 2)

    def room(self, first: int, last: int) -> float:
        """Units of width of some columns made one."""
        return sum(self.widths[first : last + 1]) + BETWEEN * (last - first)

    def text(self, text: str, room: float | None = None, *, bold: bool = False) -> float:
        """Points of a paragraph in so many units of width, or over the whole page."""
        return lines_in(text, self.full if room is None else room, bold=bold) * self.line

    def rows(self, kind: Kind, rep: RepCard) -> list[float]:
        """Points of a rep's rows, each as high as its fullest cell; the last makes up for a long list of rests."""
        heights = []
        for row in rep.slots:
            cells = [(row.label, self.room(1, 1))]
            cells += [(", ".join(names), self.room(*SPANS[kind][role])) for role, _, names in row.cells]
            heights.append(max(self.text(text, room) for text, room in cells) + PAD)
        rest = self.text(", ".join(rep.rest), self.room(REST, REST)) + PAD
        lead = 3 * LINE + PAD - self.whistle(rep)
        if heights:
            heights[-1] += max(0.0, max(rest, lead) - sum(heights))
        return heights

    def whistle(self, rep: RepCard) -> float:
        """Points of the row with what changes at the whistle."""
        return self.text(rep.whistle, self.room(1 if rep.slots else 2, REST), bold=True) + PAD

    def rep(self, kind: Kind, rep: RepCard) -> float:
        """Points of a whole rep."""
        return sum(self.rows(kind, rep)) + self.whistle(rep)

    def beside(self, block: BlockCard) -> int | None:
        """The last column of a block's heading where the details fit beside it; None where they stand below."""
        title, details = width(block.title, 12, True) + PADDING, width(block.details) + PADDING
        fit = (last for last in range(REST) if title <= self.room(0, last) and details <= self.room(last + 1, REST))
        return next(fit, None) if block.details else None

    def block(self, block: BlockCard) -> float:
        """Points of a block's heading and of its column heads."""
        heads = 0 if block.kind is Kind.TOGETHER else LINE + PAD
        below = bool(block.details) and self.beside(block) is None
        return LINE + 4 + self.text(block.details) * below + heads

    def title(self, card: Card) -> float:
        """Points of the title, with day and time beside it or below."""
        return TITLE if self.title_fits(card) else TITLE * lines_in(title_words(card), FULL, 20, True) + LINE + 4

    def heads(self, card: Card) -> list[tuple[tuple[str, str], tuple[str, str] | None]]:
        """Where, with whom and the like, a row each; two in one row where both are short."""
        rows: list[tuple[tuple[str, str], tuple[str, str] | None]] = []
        for label, words in card.heads:
            left = rows[-1][0] if rows and rows[-1][1] is None else ("", "")
            short = width(left[1]) + PADDING <= self.room(1, 2)
            if left[0] and short and width(f"{label}: {words}") + PADDING <= self.room(3, REST):
                rows[-1] = left, (label, words)
            else:
                rows.append(((label, words), None))
        return rows

    def head(self, card: Card, first: bool) -> float:
        """Points above the first block."""
        if not first:
            return self.title(card) + self.text(again_words(card)) + 4
        heads = sum(LINE if beside else self.text(words, self.room(1, REST)) for (_, words), beside in self.heads(card))
        sides = sum(self.text(names, self.room(2, REST)) for _, names in card.sides)
        notes = sum(self.text(note, bold=True) for note in card.notes)
        return self.title(card) + heads + sides + notes + 4

    def cautions(self, card: Card) -> float:
        """Points of the cautions."""
        return sum(self.text(text) for text in card_cautions(card.help, card.not_checked))

    def foot(self, card: Card, first: bool) -> float:
        """Points of the room to write and, on the first page, of the cautions."""
        return 4 + 2 * LINE + PAD + (self.cautions(card) if first else 0)


@dataclass(frozen=True)
class WebLook(Look):
    """The same card as the web page prints it: no columns, the roles of a row side by side as far as they fit."""

    choices: ClassVar[tuple[Widths, ...]] = (COLUMN_WIDTHS,)
    full: ClassVar[float] = _WEB - _MM / 2
    line: ClassVar[float] = 12.4
    on_screen: ClassVar[bool] = True

    def rows(self, kind: Kind, rep: RepCard) -> list[float]:
        """Points of a rep's rows; who rests has one of its own."""
        said = [
            (f"Area {row.label}", [(f"{ROLES[role]}:", ", ".join(names)) for role, _, names in row.cells if names])
            for row in rep.slots
        ]
        said += [("Rest", [("", ", ".join(rep.rest))])] if rep.rest and rep.slots else []
        heights = [max(self.text(label, WEB_LABEL), self._side_by_side(cells)) + PAD for label, cells in said]
        if heights:
            heights[-1] += max(0.0, 3 * self.line + PAD - self.whistle(rep) - sum(heights))
        return heights

    def _side_by_side(self, cells: Sequence[tuple[str, str]]) -> float:
        lines, used = 1, 0.0
        for role, names in cells:
            wide = width(role, bold=True) + width(f" {names}")
            if used and used + wide > WEB_NAMES - PADDING:
                lines, used = lines + 1, 0.0
            lines += lines_in(f"{role} {names}", WEB_NAMES) - 1
            used += wide + 4 * _MM
        return lines * self.line

    def whistle(self, rep: RepCard) -> float:
        """Points of what changes at the whistle."""
        return self.text(rep.whistle, WEB_WHISTLE if rep.slots else WEB_ALONE, bold=True) + PAD

    def block(self, block: BlockCard) -> float:
        """Points of a block's heading."""
        return WEB_HEADING + self.text(block.details) * bool(block.details)

    def head(self, card: Card, first: bool) -> float:
        """Points above the first block; where and with whom stands on every page."""
        said = (*card.heads, *(card.sides if first else ()))
        notes = sum(self.text(note, bold=True) for note in card.notes) if first else 0.0
        return self.title(card) + sum(self.text(f"{label}: {words}") for label, words in said) + notes

    def foot(self, card: Card, first: bool) -> float:
        """Points of the foot, with the cautions and the number of the plan on every page."""
        return WEB_FRAMES + self.line + self.cautions(card)


def look_of(card: Card, made: type[Look] = Look) -> Look:
    """The widths with which a card takes the fewest pages, and of these the ones with which it is shortest."""
    blocks = [replace(block, reps=in_short(block.reps)) for block in card.blocks]

    def height(look: Look) -> float:
        body = sum(look.block(block) + sum(look.rep(block.kind, rep) for rep in block.reps) for block in blocks)
        return look.head(card, True) + body + look.foot(card, True)

    look = min((made(widths) for widths in made.choices), key=height)
    if len(_cut(card, look)) == 1:
        return look
    several = (made(widths, alone=False) for widths in made.choices)
    return min(several, key=lambda look: (len(_cut(card, look)), height(look)))


def title_words(card: Card) -> str:
    """The card's title, with its page where there are several."""
    return card.title + (f" (page {card.page} of {card.pages})" if card.pages > 1 else "")


def again_words(card: Card) -> str:
    """Where and with whom, as later pages say it again in one sentence."""
    return "; ".join(words.removesuffix(".") for _, words in card.heads)


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
    """The blocks of each page; a block begins a new page rather than be cut in two, where that takes no more pages."""
    filled = _laid(card, look)
    if len(filled) == 1:
        return filled
    whole = _laid(card, look, whole=True)
    return whole if len(whole) == len(filled) else filled


def _laid(card: Card, look: Look, *, whole: bool = False) -> list[tuple[BlockCard, ...]]:
    """The blocks of each page, each page filled; `whole`: a block that does not fit begins the next page."""
    sheets: list[list[BlockCard]] = [[]]
    count, room = 0, PAGE - look.head(card, True) - look.foot(card, True)
    next_room = PAGE - look.head(card, False) - look.foot(card, False)
    for block in card.blocks:
        above: tuple[RepCard, ...] = ()
        shorts = in_short(block.reps)
        needs = look.block(block) + sum(look.rep(block.kind, rep) for rep in shorts)
        if whole and sheets[-1] and (needs > room or count + sum(bool(rep.slots) for rep in shorts) > MOST_REPS):
            sheets.append([])
            count, room = 0, next_room
        for rep in block.reps:
            shown = _in_short(rep, above)
            need = look.rep(block.kind, shown) + (0 if above else look.block(block))
            if sheets[-1] and ((count == MOST_REPS and shown.slots) or need > room):
                sheets.append([])
                count, room = 0, next_room
                above, shown, need = (), rep, look.rep(block.kind, rep) + look.block(block)
            if not above:
                sheets[-1].append(replace(block, reps=()))
            put = replace(rep, printed=shown) if look.on_screen else shown
            sheets[-1][-1] = replace(sheets[-1][-1], reps=(*sheets[-1][-1].reps, put))
            count, room, above = count + bool(shown.slots), room - need, (*above, rep)
    return [tuple(sheet) for sheet in sheets]
