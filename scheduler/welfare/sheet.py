"""welfare.xlsx: the week for the welfare officer, the answer first. Confidential."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from scheduler.audit import rules_off
from scheduler.club.club import Club
from scheduler.club.when import day_words
from scheduler.contract import Rule, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.stopping import unheard
from scheduler.welfare import loads, sleep, weather
from scheduler.welfare.answer import not_checked, three_sentences, to_read
from scheduler.welfare.cautions import ON_THE_GROUND, WHAT_THIS_IS_NOT
from scheduler.welfare.charts import charts_pages, evenness_page, figures_page
from scheduler.welfare.childpages import children_page, limits_page
from scheduler.welfare.children import ChildReport, children
from scheduler.welfare.heading import HEADING_SETS
from scheduler.welfare.pages import confidential_page, sets_page, stood_down_page, supervision_page
from scheduler.welfare.paper import Book
from scheduler.welfare.returns import PROTOCOLS
from scheduler.welfare.rulesets import LOAD_SETS, chosen
from scheduler.welfare.supervision import SUPERVISION_SETS, Supervised, supervise


@unheard()
def write_welfare(
    club: Club,
    plan: WeekPlan,
    findings: Sequence[Violation],
    path: Path,
    rules: Sequence[Rule] = (),
) -> None:
    """Write the welfare workbook; the file appears whole or not at all, and the same input gives the same bytes.

    `findings` are those of the audit, `rules` those it was made with (for the page of sources).
    """
    reports = children(club, plan)
    sets = chosen(club)
    supervised = [supervise(club, plan, planned, sets.supervision) for planned in plan.sessions]
    part = path.with_name(f".{path.name}.part")
    book = Book(part, f"Welfare report, {club.name}", club.week)
    off = rules_off(club, rules) or plan.not_checked
    _front(book, club, plan, findings, reports, supervised, off)
    children_page(book, reports)
    limits_page(book, reports)
    sets_page(book, reports)
    stood_down_page(book, club, plan)
    supervision_page(book, supervised, sets.supervision.id)
    where = figures_page(book, club, plan, reports)
    charts_pages(book, where)
    evenness_page(book, club, plan, reports)
    confidential_page(book, club)
    _sources(book, club, rules)
    try:
        book.close()
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)


def _front(
    book: Book,
    club: Club,
    plan: WeekPlan,
    findings: Sequence[Violation],
    reports: Sequence[ChildReport],
    supervised: Sequence[Supervised],
    off: Sequence[str],
) -> None:
    page = book.page("This week", [12, 22, 58], landscape=False)
    week = f"{day_words(club.dates[0])} to {day_words(club.dates[-1])} {club.dates[-1].year}"
    page.title(f"Welfare report, {club.name}", f"{week}, plan {plan.revision}. Confidential: for the welfare officer.")
    for sentence in three_sentences(reports, findings, plan):
        page.text(sentence, "lead")
    page.heading("To read first")
    rows = to_read(club, plan, reports, findings, supervised)
    if rows:
        page.head(["What", "About", "What was found"])
        for row in rows:
            page.line([row.kind, row.about, row.text], ["strong", "", ""])
    else:
        page.text("Nothing: no breach, no caution, nobody close to a limit entered.")
    for heading, lines in (
        ("Not checked", not_checked(club, reports, off)),
        ("What this is not", WHAT_THIS_IS_NOT),
        ("On the ground", ON_THE_GROUND),
    ):
        page.heading(heading)
        for line in lines:
            page.text(f"- {line}")
    page.heading("Sign-off")
    for label, height in (("Read by", 24), ("Date", 24), ("Questions asked", 48), ("Agreed", 48)):
        page.box(label, height)


def _sources(book: Book, club: Club, rules: Sequence[Rule]) -> None:
    page = book.page("Sources", [25, 15, 48, 50])
    page.title("Sources", "Every rule and every published set, and where each comes from.")
    page.head(["Rule or set", "Kind", "What it holds", "Source"], repeat=True)
    strong = ["strong", "", "", ""]
    for rule in rules:
        page.line([rule.name, "firm" if rule.firm else "wish", rule.words, str(rule.source)], strong)
    for row in club.ages:
        words = f"the caps of the page Limits at {row.from_age} to {row.to_age} years"
        page.line([f"age row {row.phase}", "age row", words, row.source or "no source given"], strong)
    for load in LOAD_SETS:
        page.line([load.id, "week limits", load.words, str(load.source)], strong)
    for heading in HEADING_SETS:
        page.line([heading.id, "heading", heading.says(9, 10).text + " (at 9 years)", str(heading.source)], strong)
    for ratio in SUPERVISION_SETS:
        bands = ", ".join(f"{first} to {last} years 1:{per}" for first, last, per in ratio.bands)
        page.line([ratio.id, "supervision", "; ".join(filter(None, (bands, ratio.text))), str(ratio.source)], strong)
    for protocol in PROTOCOLS:
        page.line([protocol.id, "way back", protocol.text, str(protocol.source)], strong)
    heat = "; ".join(f"{band.level}: {band.text}" for band in weather.HEAT_BANDS)
    page.line(["Heat", "weather", f"WBGT in degrees F. {heat}", str(weather.HEAT_SOURCE)], strong)
    page.line(["Cold", "weather", "wind chill 30, 25, 15 and 0 degrees F", str(weather.COLD_SOURCE)], strong)
    page.line(
        ["Lightning", "weather", "any thunder: leave; 30 minutes after the last", str(weather.LIGHTNING_SOURCE)], strong
    )
    page.line([sleep.SLEEP_ID, "end of the day", "least sleep by age, less the way home", str(sleep.SOURCE)], strong)
    load_words = f"RPE x minutes; monotony and strain with the {loads.PRINTED} standard deviation"
    page.line(["Load", "arithmetic", load_words, "Foster 1998, Med Sci Sports Exerc 30(7):1164-1168"], strong)
