"""The week's answer for the first page, as sentences and rows. No screen, no file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.audit import few_of_each
from scheduler.club.club import Club
from scheduler.contract import Severity, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.welfare.children import ChildReport, Line
from scheduler.welfare.rulesets import Chosen, chosen
from scheduler.welfare.supervision import Supervised
from scheduler.welfare.weather import weather_rule
from scheduler.welfare.words import Word

FEW = 4
MOST_ALIKE = 12


@dataclass(frozen=True)
class ToRead:
    """One thing to read first: how grave, whom or what it is about, and the sentence."""

    kind: str
    about: str
    text: str


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {many}" if number > 1 else f"{number or 'no'} {one}"


def three_sentences(reports: Sequence[ChildReport], findings: Sequence[Violation], plan: WeekPlan) -> tuple[str, ...]:
    """Who is over, who is close, what was done about it."""
    total = len(reports)
    over = [one for one in reports if one.worst is Word.OVER]
    close = [one for one in reports if one.worst is Word.CLOSE]
    unknown = [one for one in reports if one.worst is Word.NOT_KNOWN]
    inside = total - len(over) - len(unknown)
    if over:
        verb = "is" if len(over) == 1 else "are"
        first = f"{len(over)} of {_count(total, 'child', 'children')} {verb} over at least one limit entered."
    elif unknown:
        first = f"Nobody of {_count(total, 'child', 'children')} is over a limit entered as far as it is known."
    else:
        who = "The one child is" if total == 1 else f"All {total} children are" if total else "No child is"
        first = f"{who} inside every limit entered."
    near = f"{len(close) or 'none'} of them {'is' if len(close) < 2 else 'are'} close to one"
    second = f"{inside} inside every limit entered, {near}" if inside < total else near[:1].upper() + near[1:]
    second += f"; of {len(unknown)} a load is not fully known." if unknown else "."
    breaches = sum(1 for found in findings if found.severity is Severity.BREACH)
    cautions = sum(1 for found in findings if found.severity is Severity.CAUTION)
    downs = sum(len(planned.stood_down) for planned in plan.sessions)
    third = f"{_count(downs, 'stand-down holds', 'stand-downs hold')} a limit" if downs else "Nobody is stood down"
    third += (
        f"; the audit found {_count(breaches, 'breach', 'breaches')} and {_count(cautions, 'caution', 'cautions')}."
    )
    return first, second, third


def by_team(some: Sequence[ChildReport], everybody: Sequence[ChildReport]) -> str:
    """The children's names, team by team: `Herons: Ivo B, Noor K; Kites: all 14`."""
    teams: dict[str, list[str]] = {}
    for one in some:
        teams.setdefault(one.team, []).append(one.name)
    size = Counter(one.team for one in everybody)
    return "; ".join(
        f"{team}: " + (f"all {size[team]}" if FEW < len(names) == size[team] else ", ".join(names))
        for team, names in teams.items()
    )


def _of_findings(club: Club, findings: Sequence[Violation]) -> list[ToRead]:
    """Breaches and cautions, a few of each rule: a plan that breaks one rule hundreds of times is read by the audit."""
    rows: list[ToRead] = []
    serious = (found for found in findings if found.severity is not Severity.NOTE)
    for found, more in few_of_each(serious, MOST_ALIKE):
        about = f"{found.rule}: {', '.join(club.called(who) for who in found.about)}".rstrip(": ")
        rows.append(ToRead(str(found.severity), about, found.private or found.text))
        if more:
            rows.append(ToRead(str(found.severity), found.rule, f"and {more} more like these; the audit names all"))
    return rows


def _told(findings: Sequence[Violation], player: str, line: Line) -> bool:
    """Whether a breach already says of this child that so much is too much."""
    over = abs((line.planned or 0) - (line.cap or 0))
    return any(f.severity is Severity.BREACH and player in f.about and f.by == over for f in findings)


def _of_children(reports: Sequence[ChildReport], findings: Sequence[Violation]) -> list[ToRead]:
    """Over, child by child, or in one row where more than a few are over the same limit; then not known and close.

    What a breach has told already is not told again.
    """
    rows: list[ToRead] = []
    limits = dict.fromkeys(line.limit for one in reports for line in one.lines)
    for limit in limits:
        over = [one for one in reports if any(line.limit == limit for line in one.of(Word.OVER))]
        whose = [one for one in over if not _told(findings, one.player, one.line(limit))]
        lines = [one.line(limit) for one in whose]
        if len(whose) > FEW and len({line.cap for line in lines}) == 1:
            highest = min(lines, key=_planned) if lines[0].least else max(lines, key=_planned)
            rows.append(
                ToRead(
                    "over",
                    f"{len(whose)} children",
                    f"{highest.sentence()} for the furthest; {by_team(whose, reports)}",
                )
            )
        else:
            rows += [ToRead("over", f"{one.name} ({one.team})", _with_note(one.line(limit))) for one in whose]
    for word in (Word.NOT_KNOWN, Word.CLOSE):
        for limit in limits:
            whose = [one for one in reports if any(line.limit == limit for line in one.of(word))]
            if whose:
                rows.append(ToRead(str(word), limit, by_team(whose, reports)))
    return rows


def _planned(line: Line) -> int:
    return line.planned or 0


def _with_note(line: Line) -> str:
    return line.sentence() + (f" ({line.note})" if line.note else "")


def _of_sets(reports: Sequence[ChildReport]) -> list[ToRead]:
    failed: dict[tuple[str, str], list[ChildReport]] = {}
    for one in reports:
        for judged in one.judgements:
            if judged.failed:
                failed.setdefault((judged.rule_set, judged.limit), []).append(one)
    rows = [
        ToRead("guideline", f"{name}, {limit}", f"exceeded by {by_team(whose, reports)}")
        for (name, limit), whose in failed.items()
    ]
    late = [one for one in reports if one.line("finish by, for sleep").word is Word.OVER]
    if late:
        rows.append(
            ToRead("guideline", "finish by, for sleep", f"later than the derived time: {by_team(late, reports)}")
        )
    return rows


def to_read(
    club: Club,
    plan: WeekPlan,
    reports: Sequence[ChildReport],
    findings: Sequence[Violation],
    supervised: Sequence[Supervised],
) -> tuple[ToRead, ...]:
    """Breaches and cautions first, then over, not known and close, supervision, weather, published guidelines."""
    rows = [*_of_findings(club, findings), *_of_children(reports, findings)]
    for row in supervised:
        if row.short:
            rows.append(
                ToRead("supervision", row.session, f"{_count(row.short, 'adult', 'adults')} fewer than asked for")
            )
        if row.not_counted:
            rows.append(ToRead("supervision", row.session, f"checks not in date: {', '.join(row.not_counted)}"))
        rows += [ToRead("supervision", row.session, remark) for remark in row.remarks]
    for planned in plan.sessions:
        rows += [
            ToRead("weather" if verdict.firm else "weather, advice", planned.session, verdict.text)
            for verdict in weather_rule(club, planned)
            if not any(planned.session in found.about and verdict.text in found.text for found in findings)
        ]
    return (*rows, *_of_sets(reports))


def not_checked(club: Club, reports: Sequence[ChildReport], off: Sequence[str]) -> tuple[str, ...]:
    """What nobody looked at, as sentences: rules that are off, days nobody knows, ages not kept, what no week shows."""
    sets: Chosen = chosen(club)
    rows = list(off)
    blind = [one for one in reports if not one.week.known_before]
    if len(blind) == len(reports) and blind:
        rows.append("days in a row, across Monday: nothing is known of the days before the week for any child")
    elif blind:
        whom = f"{len(blind)} of {len(reports)} children" if len(blind) > FEW else by_team(blind, reports)
        rows.append(f"days in a row, across Monday: nothing is known of the days before the week for {whom}")
    unaged = [one for one in reports if not one.age_known]
    if unaged:
        rows.append(f"birth dates not kept, so the youngest age of the age group holds: {by_team(unaged, reports)}")
    rowless = [one for one in reports if one.phase == "none"]
    if rowless:
        rows.append(f"no age row holds the age of {by_team(rowless, reports)}")
    months = any(player.months_off is not None for player in club.players)
    for rules in sets.loads:
        rows += (
            [f"{rules.id}: {rules.months_words}, and Months off is empty"] if rules.months_words and not months else []
        )
        rows += [f"{rules.id}: {rules.beyond}"] if rules.beyond else []
    return (*rows, *sets.unknown)
