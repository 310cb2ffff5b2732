"""Cards cut into pages of A4: at most twelve reps a page, and no more than fits at a size readable at arm's length.

So that a card is one page for as many children as can be, a rep in which everybody stays takes one line, the columns
are as wide as this card's names ask for, and the cautions stand once. Heights are in points. The sheet of a card takes
its row heights from here, so that what is counted is what is printed.
"""

from __future__ import annotations

from dataclasses import replace

from scheduler.club.programme import Kind
from scheduler.folder.cards import BlockCard, Card, RepCard
from scheduler.folder.cautions import card_cautions
from scheduler.folder.measure import lines_in, width
from scheduler.folder.whistle import STAYS, UNLESS_NAMED

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
FULL = sum(COLUMN_WIDTHS)
LABEL = max(widths[0] + widths[1] for widths in (COLUMN_WIDTHS, *OTHER_WIDTHS))
REST = 5
SPANS: dict[Kind, dict[str, tuple[int, int]]] = {
    Kind.PART: {"attack": (2, 2), "defend": (3, 3), "keep": (4, 4)},
    Kind.GAME: {"play": (2, 3), "keep": (4, 4)},
    Kind.TOGETHER: {},
}


def text_height(text: str, room: float = FULL, bold: bool = False) -> float:
    """Points of a paragraph in so many units of width."""
    return lines_in(text, room, bold=bold) * LINE


def row_heights(kind: Kind, rep: RepCard, widths: Widths) -> list[float]:
    """Points of a rep's rows, each as high as its fullest cell; the last makes up for a long list of who rests."""
    heights = []
    for row in rep.slots:
        counts = [lines_in(row.label, widths[1])]
        for role, _, names in row.cells:
            first, last = SPANS[kind][role]
            counts.append(lines_in(", ".join(names), sum(widths[first : last + 1])))
        heights.append(max(counts) * LINE + PAD)
    rest = text_height(", ".join(rep.rest), widths[REST]) + PAD
    lead = 3 * LINE + PAD - whistle_height(rep, widths)
    if heights:
        heights[-1] += max(0.0, max(rest, lead) - sum(heights))
    return heights


def whistle_height(rep: RepCard, widths: Widths) -> float:
    """Points of the row with what changes at the whistle."""
    room = FULL - widths[0] - (0 if rep.slots else widths[1])
    return text_height(rep.whistle, room, bold=True) + PAD


def rep_height(kind: Kind, rep: RepCard, widths: Widths) -> float:
    """Points of a whole rep."""
    return sum(row_heights(kind, rep, widths)) + whistle_height(rep, widths)


def widths_of(card: Card) -> Widths:
    """The widths of the columns with which a card is shortest; the usual ones where no others are shorter."""

    def height(widths: Widths) -> float:
        return sum(rep_height(block.kind, rep, widths) for block in card.blocks for rep in block.reps)

    return min((COLUMN_WIDTHS, *OTHER_WIDTHS), key=height)


def block_height(block: BlockCard) -> float:
    """Points of a block's heading and of its column heads."""
    return (
        LINE + 4 + text_height(block.details) * bool(block.details) + (0 if block.kind is Kind.TOGETHER else LINE + PAD)
    )


def title_words(card: Card) -> str:
    """The card's title, with its page where there are several."""
    return card.title + (f" (page {card.page} of {card.pages})" if card.pages > 1 else "")


def title_fits(card: Card) -> bool:
    """Whether the title leaves room for day and time beside it (a page number may still be added)."""
    return width(card.title, 20, True) + 16 * 20 / 11 < sum(COLUMN_WIDTHS[:3])


def head_height(card: Card, first: bool) -> float:
    """Points above the first block."""
    title = TITLE if title_fits(card) else TITLE * lines_in(title_words(card), FULL, 20, True) + LINE + 4
    if not first:
        return title + LINE + 4
    heads = sum(text_height(words, FULL - COLUMN_WIDTHS[0]) for _, words in card.heads)
    sides = sum(text_height(names, FULL - LABEL) for _, names in card.sides)
    notes = sum(text_height(note, bold=True) for note in card.notes)
    return title + heads + sides + notes + 4


def foot_height(card: Card, first: bool) -> float:
    """Points of the room to write and, on the first page, of the cautions."""
    cautions = sum(text_height(text) for text in card_cautions(card.help, card.not_checked)) if first else 0
    return 4 + 2 * LINE + PAD + cautions


def _in_short(rep: RepCard, above: tuple[RepCard, ...]) -> RepCard:
    """A rep below others of its block: on one line where nobody moves, and who stays unless named is said once."""
    if above and (rep.slots, rep.rest, rep.whistle) == (above[-1].slots, above[-1].rest, STAYS):
        return replace(rep, slots=(), rest=())
    if any(one.whistle.startswith(UNLESS_NAMED) for one in above):
        words = rep.whistle.removeprefix(UNLESS_NAMED).lstrip()
        return replace(rep, whistle=words[:1].upper() + words[1:])
    return rep


def pages(card: Card, *, in_short: bool = True) -> tuple[Card, ...]:
    """The card as one page, or as several where its reps do not fit on one; a page never breaks inside a rep.

    Not `in_short`: every rep in full and the cautions on every page, for a screen that shows one rep at a time.
    """
    sheets: list[list[BlockCard]] = [[]]
    widths = widths_of(card)
    count, room = 0, PAGE - head_height(card, True) - foot_height(card, True)
    for block in card.blocks:
        above: tuple[RepCard, ...] = ()
        for rep in block.reps:
            shown = _in_short(rep, above) if in_short else rep
            need = rep_height(block.kind, shown, widths) + (0 if above else block_height(block))
            if sheets[-1] and ((count == MOST_REPS and shown.slots) or need > room):
                sheets.append([])
                count, room = 0, PAGE - head_height(card, False) - foot_height(card, not in_short)
                above, shown, need = (), rep, rep_height(block.kind, rep, widths) + block_height(block)
            if not above:
                sheets[-1].append(replace(block, reps=()))
            sheets[-1][-1] = replace(sheets[-1][-1], reps=(*sheets[-1][-1].reps, shown))
            count, room, above = count + bool(shown.slots), room - need, (*above, rep)
    total = len(sheets)
    return tuple(replace(card, blocks=tuple(sheet), page=n, pages=total) for n, sheet in enumerate(sheets, 1))
