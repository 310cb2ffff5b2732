"""Who is there when: absences, lateness and stand-downs turned into spans of the clock. Plain arithmetic."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from scheduler.club.club import Club
from scheduler.club.programme import Kind, Practice
from scheduler.club.when import Span
from scheduler.plan.plan import PlannedSession, StoodDown


def away_spans(club: Club, who: str, date: dt.date) -> tuple[Span, ...]:
    """The spans of one date on which a player or coach is away."""
    return tuple(row.span for row in club.absences if who in row.who and row.occurs.on(date))


def cut_out(spans: Iterable[Span], holes: Iterable[Span]) -> tuple[Span, ...]:
    """The spans with every hole taken out, in order of time."""
    left = tuple(spans)
    for hole in holes:
        left = tuple(part for span in left for part in span.without(hole))
    return tuple(sorted(left))


def can_come(club: Club, player: str, date: dt.date, span: Span) -> tuple[Span, ...]:
    """The parts of a session's span in which a player is not absent; empty where absent throughout."""
    return cut_out((span,), away_spans(club, player, date))


def there(club: Club, planned: PlannedSession, player: str) -> tuple[Span, ...]:
    """The parts of a planned session in which the player takes part: there, not absent and not stood down."""
    if player not in planned.players:
        return ()
    downs = (down.span for down in planned.stood_down if down.player == player)
    return cut_out(can_come(club, player, planned.date, planned.span), downs)


def minutes_there(club: Club, planned: PlannedSession, player: str) -> int:
    """Minutes of presence that count towards limits: arrival to leaving, rests and changeovers included."""
    return sum(span.minutes for span in there(club, planned, player))


def in_rep(spans: Iterable[Span], practice: Practice, rep: Span) -> bool:
    """Whether someone with this presence has a place in a rep: wholly there, or for a `together` there at all."""
    if practice.kind is Kind.TOGETHER:
        return any(span.overlaps(rep) for span in spans)
    return any(span.holds(rep) for span in spans)


def stood_down_from(planned: PlannedSession, player: str) -> tuple[StoodDown, ...]:
    """The player's stand-downs in a planned session."""
    return tuple(down for down in planned.stood_down if down.player == player)
