"""A rotation card on one sheet: one A4 page upright, read at arm's length, names in cells that a coach may edit."""

from __future__ import annotations

from scheduler.club.programme import Kind
from scheduler.club.when import hhmm
from scheduler.folder.cards import BlockCard, Card, RepCard
from scheduler.folder.cautions import card_cautions
from scheduler.folder.paging import FULL, LINE, PAD, REST, ROLES, SPANS, TITLE, Look, again_words, title_words
from scheduler.folder.paper import Book, Page
from scheduler.lettering import lines_in

REP, AREA = 0, 1


def write_card(book: Book, card: Card, look: Look) -> str:
    """Write one page of a card, set like this; the name of its sheet."""
    tail = f" ({card.page})" if card.pages > 1 else ""
    page = book.page(f"{card.title[: 31 - len(tail)]}{tail}", look.widths, one=True)
    title = title_words(card)
    if look.title_fits(card):
        _row(page, TITLE, (0, 2, title, "title"), (3, page.last, card.when, "when"))
    else:
        _row(page, TITLE * lines_in(title, FULL, 20, True), (0, page.last, title, "title"))
        _row(page, LINE + 4, (0, page.last, card.when, "when"))
    if card.page == 1:
        for (label, words), beside in look.heads(card):
            if beside is not None:
                said = f"{beside[0]}: {beside[1]}"
                _row(page, LINE, (0, 0, label, "label"), (1, 2, words, "text"), (3, REST, said, "text"))
                continue
            _row(page, look.text(words, look.room(1, REST)), (0, 0, label, "label"), (1, REST, words, "text"))
        for side, names in card.sides:
            label = side[:1].upper() + side[1:]
            _row(page, look.text(names, look.room(2, REST)), (0, 1, label, "label"), (2, REST, names, "text"))
        for note in card.notes:
            _row(page, look.text(note, bold=True), (0, REST, note, "label"))
    else:
        again = again_words(card)
        _row(page, look.text(again), (0, REST, again, "text"))
    page.gap(4)
    for block in card.blocks:
        _block(page, block, look)
    _foot(page, card, look)
    return page.name


def _row(page: Page, height: float, *spans: tuple[int, int, str, str]) -> None:
    page.sheet.set_row(page.row, height)
    for first, last, text, kind in spans:
        page.span(first, last, text, kind)
    page.row += 1


def _block(page: Page, block: BlockCard, look: Look) -> None:
    last = look.beside(block)
    if last is not None:
        _row(page, LINE + 4, (0, last, block.title, "block"), (last + 1, REST, block.details, "beside"))
    else:
        _row(page, LINE + 4, (0, REST, block.title, "block"))
        if block.details:
            _row(page, look.text(block.details), (0, REST, block.details, "text"))
    if block.kind is not Kind.TOGETHER:
        roles = [(first, last, ROLES[role], "head") for role, (first, last) in SPANS[block.kind].items()]
        area = "Area" if block.kind is Kind.PART else "Side"
        heads = ((0, 0, "Rep", "head"), (1, 1, area, "head"), *roles, (REST, REST, "Rest", "head"))
        _row(page, LINE + PAD, *heads)
    for rep in block.reps:
        _rep(page, block, rep, look)


def _rep(page: Page, block: BlockCard, rep: RepCard, look: Look) -> None:
    whistle = look.whistle(rep)
    if not rep.slots:
        lead = f"Rep {rep.rep}   {rep.minute} min   {hhmm(rep.span.start)}"
        _row(page, whistle, (REP, AREA, lead, "rep"), (AREA + 1, REST, rep.whistle, "whistle"))
        return
    lead = f"Rep {rep.rep}\n{rep.minute} min\n{hhmm(rep.span.start)}"
    page.span(REP, REP, lead, "rep", down=len(rep.slots))
    page.span(REST, REST, ", ".join(rep.rest), "cell", down=len(rep.slots) - 1)
    for height, row in zip(look.rows(block.kind, rep), rep.slots, strict=True):
        cells = [(*SPANS[block.kind][role], ", ".join(names), "cell") for role, _, names in row.cells]
        _row(page, height, (AREA, AREA, row.label, "cell"), *cells)
    _row(page, whistle, (AREA, REST, rep.whistle, "whistle"))


def _foot(page: Page, card: Card, look: Look) -> None:
    page.gap(4)
    box = "To say at the break; what really happened:"
    _row(page, 2 * LINE + PAD, (0, 1, box, "strong"), (2, REST, "", "cell"))
    for text in card_cautions(card.help, card.not_checked) if card.page == 1 else ():
        _row(page, look.text(text), (0, REST, text, "text"))
