"""Pages of the welfare file: published sets, stood down, supervision, confidential."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.club.club import Club
from scheduler.club.when import day_words, hhmm
from scheduler.plan.plan import WeekPlan
from scheduler.welfare.answer import by_team
from scheduler.welfare.apart import apart_rows
from scheduler.welfare.children import ChildReport
from scheduler.welfare.paper import Book, Cell
from scheduler.welfare.returns import Step, on_the_way_back, protocol_of
from scheduler.welfare.rulesets import BY_AGE
from scheduler.welfare.supervision import MIXED_AGES, Supervised
from scheduler.welfare.words import Word

STEP_WORDS = {
    Step.STAY_OUT: "stays out",
    Step.NO_HEAD_RISK: "blocks without contact, opponents or headers",
    Step.EVERYTHING: "everything",
}


def sets_page(book: Book, reports: Sequence[ChildReport]) -> None:
    """Published sets beside the age rows: which is exceeded by whom."""
    page = book.page("Published sets", [17, 20, 34, 9, 28, 30])
    page.title("Published sets", "They stand beside the limits entered. A guideline exceeded is that and no more.")
    page.head(["Set", "Limit", "What it says", "Children", "Exceeded by", "Source"], repeat=True)
    groups: dict[tuple[str, str, str, str], list[tuple[ChildReport, Word]]] = {}
    for one in reports:
        for judged in one.judgements:
            text = judged.text.split("; ")[0] if judged.unit == "headers" else judged.text
            text = "at most as many hours a week as years of age" if judged.limit == BY_AGE else text
            key = (judged.rule_set, judged.limit, text, str(judged.source))
            groups.setdefault(key, []).append((one, judged.word))
    order = list(dict.fromkeys(key[0] for key in groups))
    for (name, limit, text, source), rows in sorted(groups.items(), key=lambda item: order.index(item[0][0])):
        over = [one for one, word in rows if word is Word.OVER]
        numberless = all(word is Word.NO_NUMBER for _, word in rows)
        whose = "no number given" if numberless else by_team(over, reports) or "nobody"
        page.line([name, limit, text, len(rows), whose, source], ["strong"] + [""] * 5)


def stood_down_page(book: Book, club: Club, plan: WeekPlan) -> None:
    """Who was left out of what, and who is on the way back after a blow to the head."""
    page = book.page("Stood down", [22, 20, 14, 16, 26, 40])
    page.title("Stood down", "Left out of a session or part of it to hold a limit. Other files give neutral reasons.")
    if any(planned.stood_down for planned in plan.sessions):
        page.head(["Child", "Session", "Date", "From - to", "Why", "Own limits entered"])
    else:
        page.text("Nobody is stood down this week.")
    for planned in plan.sessions:
        for down in planned.stood_down:
            known = club.has("player", down.player)
            own = _own_limits(club, down.player) if known else ""
            name = club.player(down.player).name if known else down.player
            when = f"{hhmm(down.start)} - {hhmm(down.end)}"
            page.line([name, planned.session, day_words(planned.date), when, down.why, own])
    page.heading("On the way back after a blow to the head")
    protocol = protocol_of(club)
    page.text(f"{protocol.id}: {protocol.text}. Source: {protocol.source}.")
    page.text("Every date is one before which it may not happen. Contact needs the date and a qualified person's yes.")
    page.gap(3)
    back = on_the_way_back(club)
    if not back:
        page.text("Nobody is entered.")
        return
    page.head(
        ["Child", "Injured; symptoms ended", "Contact not before", "Match not before", "By Sunday may join", "Remarks"]
    )
    for one in back:
        ended = one.row.symptoms_ended
        dates = f"{one.row.injured}; {ended if ended else 'not ended'}"
        contact, match = (str(date) if date else "no date" for date in (one.dates.contact, one.dates.match))
        name = club.player(one.player).name
        page.line([name, dates, contact, match, STEP_WORDS[one.step], "; ".join(one.remarks)])


def _own_limits(club: Club, player: str) -> str:
    own = club.player(player).limits
    parts = ["no contact"] * own.no_contact + ["no heading"] * own.no_heading
    return "; ".join([*parts, *([f"max {own.max_minutes}"] if own.max_minutes is not None else [])])


def supervision_page(book: Book, rows: Sequence[Supervised], set_id: str) -> None:
    """Adults and children of every session."""
    page = book.page("Supervision", [17, 20, 21, 8, 9, 8, 8, 8, 22, 24])
    page.title("Supervision", f"Everybody who comes counts; {MIXED_AGES}. At least two adults always.")
    page.head(
        ["Session", "When", "Where", "Children", "Youngest", "Per adult", "Adults needed", f"{set_id} needs",
         "Adults, checks in date", "First aider; remarks"],
        repeat=True,
    )  # fmt: skip
    for row in rows:
        short = [f"short of {row.short}"] if row.short else []
        remarks = "; ".join([row.first_aider, *row.remarks])
        lapsed = f"; not in date: {', '.join(row.not_counted)}" if row.not_counted else ""
        asked = (row.row_ratio, row.row_needs, row.set_needs)
        needs: list[Cell] = ["none given" if value is None else value for value in asked]
        page.line(
            [
                row.session,
                f"{day_words(row.date)}, {hhmm(row.start)} - {hhmm(row.end)}",
                row.place,
                row.children,
                "-" if row.youngest is None else row.youngest,
                *needs,
                "; ".join([f"{len(row.adults)}: {', '.join(row.adults)}{lapsed}", *short]),
                remarks,
            ],
            ["strong"] + [""] * 9,
        )


def confidential_page(book: Book, club: Club) -> None:
    """Numbered pairs, and the children's own limits."""
    page = book.page("Confidential", [8, 42, 42], landscape=False)
    page.title("Confidential", "Other files speak of these rows by their number only.")
    if apart_rows(club):
        page.head(["Row", "To be kept apart", "from"])
    else:
        page.text("No pairs entered.")
    for row in apart_rows(club):
        other = club.player(row.other).name if club.has("player", row.other) else club.called(row.other)
        page.line([row.number, club.player(row.player).name, other])
    page.heading("Children with limits of their own")
    limited = [player for player in club.players if _own_limits(club, player.id)]
    for player in limited:
        page.line(["", player.name, _own_limits(club, player.id)])
    if not limited:
        page.text("None entered.")
