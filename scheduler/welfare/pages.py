"""The pages of the welfare file after the first: children, limits, stood down, supervision, confidential."""

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
from scheduler.welfare.supervision import MIXED_AGES, Supervised
from scheduler.welfare.words import MEANING, Word

STEP_WORDS = {
    Step.STAY_OUT: "stays out",
    Step.NO_HEAD_RISK: "blocks without contact, opponents or headers",
    Step.EVERYTHING: "everything",
}


def children_page(book: Book, reports: Sequence[ChildReport]) -> None:
    """A row a child."""
    page = book.page("Children", [23, 11, 5, 12, 8, 9, 9, 9, 9, 9, 7, 7, 8, 9, 9, 12])
    page.title("Children", "A row a child; age in whole years on the Monday; minutes with matches and sport elsewhere.")
    page.head(
        ["Child", "Team", "Age", "Phase", "Sessions", "Minutes", "of at most", "Load", "Monotony", "Strain",
         "Rest days", "Days in a row", "Headers", "Last end", "Stood down, min", "Word"],
        repeat=True,
    )  # fmt: skip
    for one in reports:
        minutes, end = one.line("week minutes"), one.line("finish by")
        row: list[Cell] = [
            one.name,
            one.team,
            one.age,
            one.phase,
            len(one.week.sessions),
            one.week.minutes,
            "-" if minutes.cap is None else minutes.cap,
            one.week.load,
            *_of_days(one),
            one.week.rest_days,
            one.week.days_in_a_row(),
            one.line("headers a week").planned,
            end.shown(end.planned),
            one.stood_down_minutes,
            one.worst,
        ]
        page.line(row, ["strong"] + [""] * 14 + ["strong" if one.worst is Word.OVER else ""])
    page.gap(6)
    page.text("Word: the most serious one of the limits entered (age row, one session a day, own limits). " + MEANING)
    page.text(
        "Monotony: daily mean over the standard deviation of the seven days (population form); strain: load x "
        "monotony; - where every day is alike. Load is RPE x minutes planned, in arbitrary units. Description only."
    )


def _of_days(one: ChildReport) -> tuple[Cell, Cell]:
    """Monotony and strain; neither is known where the load of a day is not."""
    if one.week.without_rpe:
        return "not known", "not known"
    if one.monotony is None or one.strain is None:
        return "-", "-"
    return one.monotony, round(one.strain)


def limits_page(book: Book, reports: Sequence[ChildReport]) -> None:
    """Every child x limit."""
    page = book.page("Limits", [21, 12, 23, 12, 12, 8, 25, 25])
    page.title("Limits", "Every child against every limit, what is planned, the cap, the word, and the cap's source.")
    page.head(["Child", "Team", "Limit", "Planned", "Cap", "Word", "Source", "Note"], repeat=True)
    for one in reports:
        for line in one.lines:
            strong = "strong" if line.word is Word.OVER else ""
            cap = "none given" if line.cap is None else line.shown(line.cap)
            word = "-" if line.word is Word.NO_NUMBER else line.word
            cells = [one.name, one.team, line.limit, line.shown(line.planned), cap, word, line.source, line.note]
            page.line(cells, ["", "", "", "", "", strong, "", ""])
    page.gap(6)
    page.text(MEANING + " Sources in full: page Sources.")


def sets_page(book: Book, reports: Sequence[ChildReport]) -> None:
    """Published sets beside the age rows: which is exceeded by whom."""
    page = book.page("Published sets", [17, 20, 34, 9, 28, 30])
    page.title("Published sets", "They stand beside the limits entered. A guideline exceeded is that and no more.")
    page.head(["Set", "Limit", "What it says", "Children", "Exceeded by", "Source"], repeat=True)
    groups: dict[tuple[str, str, str, str], list[tuple[ChildReport, Word]]] = {}
    for one in reports:
        for judged in one.judgements:
            text = judged.text.split("; ")[0] if judged.unit == "headers" else judged.text
            key = (judged.rule_set, judged.limit, text, str(judged.source))
            groups.setdefault(key, []).append((one, judged.word))
    order = list(dict.fromkeys(key[0] for key in groups))
    for (name, limit, text, source), rows in sorted(groups.items(), key=lambda item: order.index(item[0][0])):
        over = [one for one, word in rows if word is Word.OVER]
        numberless = all(word is Word.NO_NUMBER for _, word in rows)
        whose = "no number given" if numberless else by_team(over) or "nobody"
        page.line([name, limit, text, len(rows), whose, source], ["strong"] + [""] * 5)


def stood_down_page(book: Book, club: Club, plan: WeekPlan) -> None:
    """Who was left out of what, and who is on the way back after a blow to the head."""
    page = book.page("Stood down", [22, 20, 14, 16, 26, 40])
    page.title("Stood down", "Left out of a session or part of it to hold a limit. Other files give neutral reasons.")
    page.head(["Child", "Session", "Date", "From - to", "Why", "Own limits entered"])
    rows = 0
    for planned in plan.sessions:
        for down in planned.stood_down:
            rows += 1
            known = club.has("player", down.player)
            own = _own_limits(club, down.player) if known else ""
            name = club.player(down.player).name if known else down.player
            when = f"{hhmm(down.start)} - {hhmm(down.end)}"
            page.line([name, planned.session, day_words(planned.date), when, down.why, own])
    if not rows:
        page.text("Nobody is stood down this week.")
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
    page = book.page("Supervision", [18, 17, 18, 9, 9, 9, 9, 9, 20, 20])
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
    page.head(["Row", "To be kept apart", "from"])
    for row in apart_rows(club):
        other = club.player(row.other).name if club.has("player", row.other) else club.called(row.other)
        page.line([row.number, club.player(row.player).name, other])
    if not apart_rows(club):
        page.text("No pairs entered.")
    page.heading("Children with limits of their own")
    limited = [player for player in club.players if _own_limits(club, player.id)]
    for player in limited:
        page.line(["", player.name, _own_limits(club, player.id)])
    if not limited:
        page.text("None entered.")
