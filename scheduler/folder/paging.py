"""Cards cut into pages of A4: at most twelve reps a page, and no more than fits at a size readable at arm's length.

Heights are in points. The sheet of a card takes its row heights from here, so that what is counted is what is printed.
"""

from __future__ import annotations

from dataclasses import replace

from scheduler.club.programme import Kind
from scheduler.folder.cards import BlockCard, Card, RepCard
from scheduler.folder.cautions import card_cautions
from scheduler.folder.measure import lines_in, width

MOST_REPS = 12
PAGE = 770.0  # points between the margins of A4 upright, a little left over
LINE = 13.4  # points a printed line of 11 points
PAD = 1.3  # points of a boxed row
TITLE = 26.0
COLUMN_WIDTHS = (7.5, 15.0, 23.0, 15.5, 11.0, 12.0)
FULL = sum(COLUMN_WIDTHS)
LABEL = COLUMN_WIDTHS[0] + COLUMN_WIDTHS[1]
REST_WIDTH = COLUMN_WIDTHS[5]
SPANS: dict[Kind, dict[str, tuple[int, int]]] = {
    Kind.PART: {"attack": (2, 2), "defend": (3, 3), "keep": (4, 4)},
    Kind.GAME: {"play": (2, 3), "keep": (4, 4)},
    Kind.TOGETHER: {},
}


def text_height(text: str, room: float = FULL, bold: bool = False) -> float:
    """Points of a paragraph in so many units of width."""
    return lines_in(text, room, bold=bold) * LINE


def row_heights(kind: Kind, rep: RepCard) -> list[float]:
    """Points of a rep's rows, each as high as its fullest cell; the last makes up for a long list of who rests."""
    heights = []
    for row in rep.slots:
        counts = [lines_in(row.label, COLUMN_WIDTHS[1])]
        for role, _, names in row.cells:
            first, last = SPANS[kind][role]
            counts.append(lines_in(", ".join(names), sum(COLUMN_WIDTHS[first : last + 1])))
        heights.append(max(counts) * LINE + PAD)
    rest = text_height(", ".join(rep.rest), REST_WIDTH) + PAD
    lead = 3 * LINE + PAD - whistle_height(rep)
    if heights:
        heights[-1] += max(0.0, max(rest, lead) - sum(heights))
    return heights


def whistle_height(rep: RepCard) -> float:
    """Points of the row with what changes at the whistle."""
    room = FULL - COLUMN_WIDTHS[0] if rep.slots else FULL - LABEL
    return text_height(rep.whistle, room, bold=True) + PAD


def rep_height(kind: Kind, rep: RepCard) -> float:
    """Points of a whole rep."""
    return sum(row_heights(kind, rep)) + whistle_height(rep)


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


def foot_height(card: Card) -> float:
    """Points of the room to write and the cautions."""
    return 4 + 2 * LINE + PAD + sum(text_height(text) for text in card_cautions(card.help, card.not_checked))


def pages(card: Card) -> tuple[Card, ...]:
    """The card as one page, or as several where its reps do not fit on one; a page never breaks inside a rep."""
    sheets: list[list[BlockCard]] = [[]]
    count, room = 0, PAGE - head_height(card, True) - foot_height(card)
    for block in card.blocks:
        for number, rep in enumerate(block.reps):
            new_block = number == 0
            need = rep_height(block.kind, rep) + (block_height(block) if new_block else 0)
            if count and (count == MOST_REPS or need > room):
                sheets.append([])
                count, room = 0, PAGE - head_height(card, False) - foot_height(card)
                new_block, need = True, rep_height(block.kind, rep) + block_height(block)
            if new_block:
                sheets[-1].append(replace(block, reps=()))
            sheets[-1][-1] = replace(sheets[-1][-1], reps=(*sheets[-1][-1].reps, rep))
            count, room = count + 1, room - need
    total = len(sheets)
    return tuple(replace(card, blocks=tuple(sheet), page=n, pages=total) for n, sheet in enumerate(sheets, 1))
