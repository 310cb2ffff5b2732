"""A child's week judged against each published set: which set failed, not only that one did."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.contract import Source
from scheduler.plan.plan import WeekPlan
from scheduler.welfare.childweek import ChildWeek, child_week
from scheduler.welfare.heading import Heading, HeadingSet, stricter, word_for
from scheduler.welfare.rulesets import BY_AGE, Chosen, LoadSet, chosen, hours_limit, rest_days
from scheduler.welfare.words import Word, against_least, against_most


@dataclass(frozen=True)
class Judgement:
    """One limit of one set for one child's week. `planned` and `cap` in `unit`."""

    rule_set: str
    limit: str
    planned: int
    cap: int | None
    unit: str
    word: Word
    text: str
    source: Source

    @property
    def failed(self) -> bool:
        """Whether the guideline is exceeded."""
        return self.word is Word.OVER


def heading_of(club: Club, week: ChildWeek, rules: HeadingSet) -> Heading:
    """What a heading set says for a child's week: the stricter answer over the age groups trained with."""
    player = club.player(week.player)
    groups = {one.age_group for one in week.sessions if one.age_group is not None}
    groups = groups or {club.team(player.team).age_group}
    answers = [rules.says(club.limit_age(player), group) for group in sorted(groups)]
    least = answers[0]
    for answer in answers[1:]:
        least = stricter(least, answer)
    return least


def judge_loads(club: Club, week: ChildWeek, rules: LoadSet) -> list[Judgement]:
    """A child's week against one set; minutes are all organised sport entered: sessions, matches, elsewhere."""
    player = club.player(week.player)
    found: list[Judgement] = []

    def add(limit: str, planned: int, cap: int | None, unit: str, word: Word, text: str) -> None:
        found.append(Judgement(rules.id, limit, planned, cap, unit, word, text, rules.source))

    hours = hours_limit(club.limit_age(player), rules)
    if hours is not None:
        word = against_most(week.minutes, 60 * hours)
        add(BY_AGE, week.minutes, 60 * hours, "minutes", word, f"at most {hours} hours a week")
    else:
        add("hours a week", week.minutes, None, "minutes", Word.NO_NUMBER, "gives no number of hours")
    least = rest_days(rules)
    unit = "day" if least == 1 else "days"
    text = (
        "gives no number of rest days" if least is None else f"at least {least} {unit} a week without organised sport"
    )
    word = against_least(week.rest_days, least)
    if rules.rest_days_wanted is not None and word is not Word.OVER:
        text += f", better {rules.rest_days_wanted}"
        word = Word.CLOSE if week.rest_days < rules.rest_days_wanted else Word.ROOM
    add("rest days", week.rest_days, least, "days", word, text)
    if rules.club_days_most is not None:
        days = len({one.date for one in week.inside if one.what != "elsewhere"})
        cap = rules.club_days_most
        add("days of one sport", days, cap, "days", against_most(days, cap), f"at most {cap} days a week of one sport")
    if rules.one_team:
        agreed = rules.unless_agreed and player.second_team_agreed
        teams = 1 if agreed else 1 + len(player.also_plays_for)
        text = "one team at a time in a season" + ", unless the parents agreed in writing" * rules.unless_agreed
        add("teams in a season", teams, 1, "teams", against_most(teams, 1), text)
    off = player.months_off
    if rules.months_off_least is not None and off is not None:
        word = against_least(off, rules.months_off_least)
        if word is not Word.OVER and rules.months_off_wanted is not None:
            word = Word.CLOSE if off < rules.months_off_wanted else Word.ROOM
        add("months off a year", off, rules.months_off_least, "months", word, rules.months_words)
    if rules.most_of_free_play is not None:
        found += _against_free_play(club, week, rules, rules.most_of_free_play)
    return found


def _against_free_play(club: Club, week: ChildWeek, rules: LoadSet, times: int) -> Iterator[Judgement]:
    """Organised minutes against free play; with none at all there is no ratio, and whatever is organised is over."""
    text = f"organised sport at most {times} times the free play"
    if not club.free_play:
        text, word, cap = f"{text}; no free play is entered for anybody", Word.NO_NUMBER, None
    else:
        mine = (row.minutes for row in club.free_play if row.player == week.player and row.date in club.dates)
        cap = times * sum(mine)
        word = against_most(week.minutes, cap)
    yield Judgement(rules.id, "organised to free play", week.minutes, cap, "minutes", word, text, rules.source)


def judge_heading(club: Club, week: ChildWeek, rules: HeadingSet) -> Judgement:
    """A child's headers in training against one set."""
    says = heading_of(club, week, rules)
    minutes, headers = [one.heading_minutes for one in week.sessions], [one.headers for one in week.sessions]
    planned = max(headers, default=0) if says.per == "session" else sum(headers)
    word = word_for(says, minutes, headers)
    text = says.text + (f"; {sum(minutes)} minutes of heading practice planned" if says.minutes is not None else "")
    return Judgement(rules.id, f"headers a {says.per}", planned, says.headers, "headers", word, text, rules.source)


def judge_week(club: Club, plan: WeekPlan, player: str, sets: Chosen | None = None) -> list[Judgement]:
    """One child's week against every chosen set of limits and of heading, set by set."""
    week = child_week(club, plan, player)
    of = sets or chosen(club)
    judged = [line for rules in of.loads for line in judge_loads(club, week, rules)]
    return judged + [judge_heading(club, week, rules) for rules in of.heading]
