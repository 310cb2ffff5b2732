"""No session on a match day or the day after, and no hard contact the day before."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.people import AfterMatch, Match
from scheduler.club.programme import Contact
from scheduler.club.when import Span, day_words
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.presence import there
from scheduler.plan.timeline import timeline
from scheduler.welfare.childweek import plays_in

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel

HARD_CONTACT_FROM_AGE = 13


def _after(club: Club, player: str) -> AfterMatch:
    row = club.age_row(club.player(player))
    return AfterMatch.REST if row is None else row.after_match


class MatchRecovery:
    """Rest around matches; `After a match` in the age row can relax it."""

    name = "match recovery"
    words = (
        "No session on the day of a match or the day after (`After a match` no contact: no contact the day after; "
        "any: neither holds), and from 13 up no hard contact the day before. Whoever plays counts as playing it all."
    )
    source = Source("rest around matches", basis=Basis.COMMON_PRACTICE)
    firm = True

    def off(self, club: Club) -> str | None:
        """Off where no match is entered."""
        return "the Matches sheet is empty" if not club.matches else None

    # the booking

    def narrow(self, club: Club, model: BookingModel) -> None:
        """Whoever has a match may have to miss a session."""
        for squad in model.squads():
            if self._days(club, squad.first):
                model.children.may_be_left_out(squad)

    def post(self, club: Club, model: BookingModel) -> None:
        """No session on the days kept free; contact is settled by the stand-downs."""
        for squad in model.squads():
            for date, why in self._days(club, squad.first).items():
                on = model.switch(
                    self.name,
                    f"{squad.first}, {day_words(date)}",
                    f"{club.called(squad.first)} (and whoever plays the same) rests on {day_words(date)}, {why}",
                )
                for way in model.children.ways(squad):
                    for session in way.sessions:
                        literal = model.children.there_on(squad, session, date)
                        if not isinstance(literal, int) or literal:
                            model.at_most(on, [literal], 0, [way.used])

    def _days(self, club: Club, player: str) -> dict[dt.date, str]:
        """The dates of the week on which a child does not train, with the reason."""
        kind, found = _after(club, player), {}
        for match in club.matches:
            if match.minutes > 0 and kind is not AfterMatch.ANY and plays_in(club, match, player):
                found[match.date] = "a match day"
                if kind is AfterMatch.REST:
                    found.setdefault(match.date + dt.timedelta(days=1), "the day after a match")
        return {date: why for date, why in found.items() if date in club.dates}

    # the audit

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """For each child who trains, every match from the day before the session to the day after it."""
        for planned in plan.sessions:
            for player in planned.players:
                spans, age = there(club, planned, player), club.limit_age(club.player(player))
                rows = [row.after_match for row in club.ages if row.from_age <= age <= row.to_age]
                kind = rows[0] if rows else AfterMatch.REST
                if not spans or kind is AfterMatch.ANY:
                    continue
                for match in club.matches:
                    if _played(club, match, player):
                        gap = (planned.date - match.date).days
                        yield from self._against(club, planned, player, spans, gap, kind)

    def _against(self, club: Club, planned: PlannedSession, player: str, spans: tuple[Span, ...], gap: int,
                 kind: AfterMatch) -> Iterator[Violation]:  # fmt: skip
        who = f"{club.called(player)} trains in {planned.session} on {day_words(planned.date)}"
        if gap == 0 or (gap == 1 and kind is AfterMatch.REST):
            text = f"{who}, {'a match day' if gap == 0 else 'the day after a match'}"
            yield Violation(self.name, (player, planned.session), text, 1, "sessions")
            return
        old = club.limit_age(club.player(player)) >= HARD_CONTACT_FROM_AGE
        closed: tuple[Contact, ...] = ()
        if gap == 1:
            closed = (Contact.SOME, Contact.HARD)
        elif gap == -1 and old:
            closed = (Contact.HARD,)
        for block in timeline(club, planned.session):
            first, last = planned.start + block.span.start, planned.start + block.span.end
            inside = sum(max(0, min(span.end, last) - max(span.start, first)) for span in spans)
            if inside and any(station.practice.contact in closed for station in block.stations):
                when = "the day after a match" if gap == 1 else "the day before a match"
                text = f"{who} in block {block.block}, which has contact, {when}"
                yield Violation(self.name, (player, planned.session), text, inside, "minutes")


def _played(club: Club, match: Match, player: str) -> bool:
    """Whether a child is there for a minute of a match: named for it or, nobody being named, of its team."""
    if player not in match.players and (match.players or club.player(player).team != match.team):
        return False
    gone = [row.span for row in club.absences if player in row.who and row.occurs.on(match.date)]
    minutes = range(match.kick_off, match.kick_off + match.minutes)
    return any(not any(span.start <= minute < span.end for span in gone) for minute in minutes)
