"""Why no lawful week can exist, found by counting alone, before any solver is loaded. Finding none promises nothing.

More is asked of the ground, of one coach or of all adults in a stretch of the week than there is. Each clash names the
fewest sessions by which the count goes wrong; single sessions that cannot be held come from the check of the workbook.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.club.when import LONG_DAY_NAMES, Span, hhmm
from scheduler.outcome import Clash, Conflict, Demand, Outcome, OutOfTime
from scheduler.reasons.players import shared_children, too_long
from scheduler.reasons.reach import Reach, free_adults, free_ground, reaches
from scheduler.workbook.check import LEAST_ADULTS, impossibilities

NUMBERS = ("none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True)
class Stretch:
    """Dates, pitches and a window of the day, and the sessions that can only be held in it."""

    dates: frozenset[dt.date]
    pitches: frozenset[str]
    window: Span
    inside: tuple[Reach, ...]

    @property
    def when(self) -> str:
        """`on Wednesday between 18:00 and 20:30`."""
        days = [LONG_DAY_NAMES[date.weekday()] for date in sorted(self.dates)]
        return f"on {listed(days)} between {hhmm(self.window.start)} and {hhmm(self.window.end)}"


def impossible(club: Club) -> tuple[Clash, ...]:
    """Every conflict that counting shows, each with the fewest sessions; empty where counting finds nothing."""
    faults = [fault for fault in impossibilities(club) if fault.where != "Sessions"]
    if any(fault.where == "Coaches" for fault in faults):
        faults = faults[:1]  # without adults nothing can be held; what it means for each session says nothing new
    found = [_single(fault.where, fault.text) for fault in faults]
    found += too_long(club)
    reach = reaches(club)
    found += shared_children(club, reach)
    stretches = _stretches(reach)
    for look in (_ground, _coaches, _adults):
        named: set[str] = set()
        for clash in look(club, stretches):
            who = {demand.subject for demand in clash.demands}
            if not who & named:  # the smallest first: a larger one that holds the same sessions says nothing new
                found.append(clash)
                named |= who
    if not found:
        found = [_single(fault.where, fault.text) for fault in impossibilities(club)]
    return tuple(found)


def or_counted(club: Club, outcome: Outcome) -> Outcome:
    """What became of a week; where time ran out with no plan, what counting shows that it was bound to."""
    clashes = impossible(club) if isinstance(outcome, OutOfTime) else ()
    return Conflict("arithmetic", clashes) if clashes else outcome


def _single(where: str, text: str) -> Clash:
    sheet, _, subject = where.partition(", ")
    about = f"{subject}: " if subject else ""
    return Clash(
        (Demand("plan as asked", subject or sheet, f"{about}{text}"),), minimal=True, text="This cannot be had:"
    )


def _stretches(reach: tuple[Reach, ...]) -> list[Stretch]:
    """Every set of dates, pitches and hours made from what the sessions allow, the narrowest first."""
    found: dict[tuple[frozenset[dt.date], frozenset[str], Span], Stretch] = {}
    for dates in dict.fromkeys(one.dates for one in reach):
        within = [one for one in reach if one.dates <= dates]
        for pitches in dict.fromkeys(one.pitches for one in within):
            there = [one for one in within if one.pitches <= pitches]
            for start in sorted({one.window.start for one in there}):
                for end in sorted({one.window.end for one in there}):
                    window = Span(start, end)
                    inside = tuple(one for one in there if window.holds(one.window))
                    if len(inside) > 1:
                        found.setdefault((dates, pitches, window), Stretch(dates, pitches, window, inside))
    return sorted(found.values(), key=lambda s: (len(s.dates), len(s.pitches), s.window.minutes, sorted(s.dates)))


def _too_many(inside: tuple[Reach, ...], amount: Callable[[Reach], int], there: int) -> tuple[Reach, ...]:
    """The fewest sessions that ask for more than there is: the largest first; none where all fit."""
    taken: list[Reach] = []
    for one in sorted(inside, key=lambda reach: -amount(reach)):
        taken.append(one)
        if sum(amount(reach) for reach in taken) > there:
            return tuple(reach for reach in inside if reach in taken)
    return ()


def _how_many_fit(chosen: tuple[Reach, ...], amount: Callable[[Reach], int], there: int) -> int:
    sizes = sorted(amount(one) for one in chosen)
    return sum(1 for count in range(1, len(sizes) + 1) if sum(sizes[:count]) <= there)


def _ground(club: Club, stretches: list[Stretch]) -> Iterator[Clash]:
    around = club.set_up + club.pack_up
    for stretch in stretches:
        smallest = min(club.pitch(pitch).zones for pitch in stretch.pitches)

        def amount(one: Reach, smallest: int = smallest) -> int:
            return (one.ask.minutes + around + club.gap) * (one.ask.zones or smallest)

        window = Span(stretch.window.start - club.set_up, stretch.window.end + club.pack_up)
        free = free_ground(club, stretch.pitches, stretch.dates, window)
        there = sum(free) + _beyond(club, stretch)
        chosen = _too_many(stretch.inside, amount, there)
        if not chosen:
            yield from _in_pieces(club, stretch, free, smallest)
            continue
        names, ground = listed([one.ask.id for one in chosen]), listed(sorted(stretch.pitches))
        fit = number(_how_many_fit(chosen, amount, there))
        if len(stretch.pitches) == 1 and all(one.ask.zones in (None, smallest) for one in chosen):
            text = (
                f"{names} {all_of(chosen)} need the whole of {ground} {stretch.when}; {fit} fit{'s' * (fit == 'one')}"
            )
        else:
            asked = sum(amount(one) for one in chosen)
            text = f"{names} ask for {asked} zone-minutes of {ground} {stretch.when}; {there} are free"
        yield _clash("pitch bookings", chosen, stretch, text, ground)


def _in_pieces(club: Club, stretch: Stretch, free: tuple[int, ...], smallest: int) -> Iterator[Clash]:
    """Sessions for which there would be ground enough, were it not in pieces: of each only so many whole ones fit in.

    Counted for all that are at least as long as one of them, the longest first.
    """
    around = club.set_up + club.pack_up
    for least in sorted({one.ask.minutes for one in stretch.inside}, reverse=True):
        long = tuple(one for one in stretch.inside if one.ask.minutes >= least)
        there = sum((piece + around) // (least + around + club.gap) for piece in free)

        def zones(one: Reach) -> int:
            return one.ask.zones or smallest

        chosen = _too_many(long, zones, there)
        if chosen:
            names, ground = listed([one.ask.id for one in chosen]), listed(sorted(stretch.pitches))
            fit = number(_how_many_fit(chosen, zones, there))
            text = (
                f"{names} {all_of(chosen)} need {least} minutes or more of {ground} {stretch.when}, which is free only "
            )
            text += f"in pieces; {fit} fit{'s' * (fit == 'one')}"
            yield _clash("pitch bookings", chosen, stretch, text, ground)
            return


def _beyond(club: Club, stretch: Stretch) -> int:
    """Zone-minutes that set-up and pack-up may reach beyond the opening hours: counted as free, to be certain."""
    zones = sum(club.pitch(pitch).zones for pitch in stretch.pitches)
    return zones * (club.set_up + club.pack_up) * len(stretch.dates)


def _coaches(club: Club, stretches: list[Stretch]) -> Iterator[Clash]:
    """Sessions that one coach alone could lead, in less time than they take together."""
    for coach in (row.id for row in club.coaches):
        for stretch in stretches:
            led = tuple(one for one in stretch.inside if any(_leads_alone(club, coach, t) for t in one.ask.teams))
            if len(led) < 2:
                continue
            there = free_adults(club, (coach,), stretch.dates, stretch.window)
            chosen = _too_many(led, lambda one: one.ask.minutes, there)
            if chosen:
                names = listed([one.ask.id for one in chosen])
                fit = number(_how_many_fit(chosen, lambda one: one.ask.minutes, there))
                who = f"{club.called(coach)}, the only coach of {listed(_teams(club, coach, chosen))},"
                text = f"{names} {all_of(chosen)} need {who} {stretch.when}; {fit} fit{'s' * (fit == 'one')}"
                yield _clash("coach cover", chosen, stretch, text, club.called(coach))


def _leads_alone(club: Club, coach: str, team: str) -> bool:
    leaders = [one for one in club.team(team).coaches if not club.coach(one).helper_only]
    return leaders == [coach]


def _teams(club: Club, coach: str, chosen: tuple[Reach, ...]) -> list[str]:
    teams = [team for one in chosen for team in one.ask.teams if _leads_alone(club, coach, team)]
    return list(dict.fromkeys(teams))


def _adults(club: Club, stretches: list[Stretch]) -> Iterator[Clash]:
    """Sessions that need more adults at a time than there are."""
    everybody = tuple(coach.id for coach in club.coaches)
    for stretch in stretches:

        def amount(one: Reach) -> int:
            return max(LEAST_ADULTS, one.ask.coaches_needed) * one.ask.minutes

        there = free_adults(club, everybody, stretch.dates, stretch.window)
        chosen = _too_many(stretch.inside, amount, there)
        if chosen:
            names = listed([one.ask.id for one in chosen])
            fit = number(_how_many_fit(chosen, amount, there))
            heads = max(max(LEAST_ADULTS, one.ask.coaches_needed) for one in chosen)
            each = f"at least {number(LEAST_ADULTS)}" if heads == LEAST_ADULTS else f"up to {number(heads)}"
            text = f"{names} need {each} adults each {stretch.when}; adults for {fit} of them are free"
            yield _clash("coach cover", chosen, stretch, text, "two adults")


def _clash(rule: str, chosen: tuple[Reach, ...], stretch: Stretch, text: str, need: str) -> Clash:
    demands = tuple(Demand(rule, one.ask.id, f"{one.ask.id} needs {need} {stretch.when}") for one in chosen)
    return Clash(demands, minimal=True, text=text)


def all_of(chosen: tuple[Reach, ...]) -> str:
    """`both` or `all`."""
    return "both" if len(chosen) == 2 else "all"


def listed(names: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def number(count: int) -> str:
    """Small numbers in words."""
    return NUMBERS[count] if count < len(NUMBERS) else str(count)
