"""Enough adults, who are available, checked and in one place at a time, and a first aider on every site."""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable, Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from scheduler.booking.free import CHECKED, Free, NobodyFree
from scheduler.booking.lacking import Staffing, sure_ages, sure_least
from scheduler.booking.whereabouts import Whereabouts
from scheduler.club.club import Club
from scheduler.club.numbers import so_many
from scheduler.club.when import Span, day_words, hhmm
from scheduler.contract import Source, Violation
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.timeline import groups_of

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.booking.model import BookingModel, Linear
    from scheduler.booking.slots import Moment

LEAST_ADULTS = 2
FIRST_AID = "Coaches.First aid until"


def _valid(until: dt.date | None, date: dt.date) -> bool:
    return until is not None and until >= date


def _ratio(club: Club, age: int) -> int | None:
    """Players per adult at an age: the first age row that holds it."""
    row = next((row for row in club.ages if row.from_age <= age <= row.to_age), None)
    return None if row is None else row.players_per_adult


def _least(club: Club, session: str) -> int:
    """Adults a session needs whoever comes."""
    return max(LEAST_ADULTS, club.session(session).coaches_needed, groups_of(club, session))


def _sure_least(club: Club, model: BookingModel, session: str) -> int:
    """Adults a session needs at least, whatever the slots and whoever stands down."""
    return sure_least(model, session, _least(club, session), lambda age: _ratio(club, age))


class CoachCover:
    """Adults of a session."""

    name = "coach cover"
    words = (
        "Every session has a coach of each of its teams, at least two adults, one at every station, as many as Coaches "
        "needed, and players per adult as for the youngest who comes; adults are available, checked, in one place at "
        "a time; a first aider is on each site while anyone trains."
    )
    source = Source(
        "NSPCC and Child Protection in Sport Unit, minimum ratios, and at least two adults always",
        "1:6 at 4 to 8, 1:8 at 9 to 12, 1:10 at 13 to 18; mixed ages: no rule in the source, the youngest here",
    )
    firm = True

    def off(self, club: Club) -> str | None:
        """Never off; checks and first aid only where their columns are used."""
        return None

    def off_in_part(self, club: Club) -> tuple[str, ...]:
        """Checks and first aid, each where nobody has a date for it."""
        return tuple(
            f"{what}, the column {column.split('.')[1]} is empty"
            for what, column in (("checks of adults", CHECKED), ("first aiders", FIRST_AID))
            if club.is_blank(column)
        )

    # the booking

    def narrow(self, club: Club, model: BookingModel) -> None:
        """Where every demand holds, leave out slots in which no coach of one of the teams could lead."""
        if model.switchable:
            return
        free = Free(club)
        model.adults.staffed_by(Staffing(free, lambda of, session: _sure_least(club, of, session)))
        for ask in club.sessions:
            for team in ask.teams:
                leaders = [club.coach(c) for c in club.team(team).coaches if not club.coach(c).helper_only]
                on = model.switch(self.name, f"{ask.id}, coach of {team}", f"{ask.id} has a coach of {team}")
                model.rule_out(on, ask.id, NobodyFree(free, leaders))

    def post(self, club: Club, model: BookingModel) -> None:
        """How many, who, and when they can."""
        free = Free(club)
        for ask in club.sessions:
            self._leaders(club, model, ask.id)
            self._enough(club, model, ask.id)
            self._availability(club, model, ask.id, free)

        def in_one_place(coach: str) -> IntVar:
            name = club.coach(coach).name
            return model.switch(self.name, f"{name}, one place", f"{name} is in one place at a time")

        Whereabouts(model, in_one_place, lambda planned: self._would_do(club, planned)).post()
        if not club.is_blank(FIRST_AID):
            self._first_aid(club, model)

    def _leaders(self, club: Club, model: BookingModel, session: str) -> None:
        ask, held = club.session(session), model.held(session)
        adults = model.adults.possible(session)
        for team in ask.teams:
            on = model.switch(self.name, f"{session}, coach of {team}", f"{session} has a coach of {team}")
            own = [adults[c] for c in club.team(team).coaches if c in adults and not club.coach(c).helper_only]
            model.at_least(on, own, held)
        if ask.needs_keeper_coach:
            on = model.switch(self.name, f"{session}, keeper coach", f"{session} needs a keeper coach")
            model.at_least(on, [literal for c, literal in adults.items() if club.coach(c).keeper_coach], held)

    def _enough(self, club: Club, model: BookingModel, session: str) -> None:
        held = model.held(session)
        adults = list(model.adults.possible(session).values())
        least = _least(club, session)
        on = model.switch(self.name, f"{session}, {least} adults", f"{session} needs {least} adults")
        sure = least if model.switchable else _sure_least(club, model, session)
        model.at_least(on, adults, sure * held)
        squads = sorted(model.children.squads_in(session), key=lambda squad: club.limit_age(club.player(squad.first)))
        ages = [club.limit_age(club.player(squad.first)) for squad in squads]
        headcount, most = model.children.headcount(session), sum(squad.size for squad in squads)
        on = model.switch(self.name, f"{session}, players per adult", f"{session} has enough adults for its players")
        always = None if model.switchable else min(sure_ages(model, session), default=None)
        for age in dict.fromkeys(ages):
            if always is not None and age > always:
                break  # somebody younger is there whatever happens, and sets the ratio
            ratio = _ratio(club, age)
            of_age = [model.children.coming(s, session) for s, a in zip(squads, ages, strict=True) if a == age]
            younger = [model.children.coming(s, session) for s, a in zip(squads, ages, strict=True) if a < age]
            if ratio is None or (most <= least * ratio and not model.switchable):
                continue
            somebody: Linear = 1
            if age != always:
                somebody = model.model.new_bool_var(f"age[{session}|{age}]")
                model.model.add(sum(of_age) <= most * somebody)
            # a younger child who has come sets the ratio instead; only then may this row be left alone
            slack = most * sum(younger) if younger else 0
            model.at_least(on, [ratio * sum(adults), slack, most * (1 - somebody)], headcount)

    def _availability(self, club: Club, model: BookingModel, session: str, free: Free) -> None:
        lasts = club.session(session).minutes
        moments = [
            (moment.date, Span(moment.start, moment.start + lasts), held)
            for moment, held in model.moments(session).items()
        ]
        known: dict[Hashable, list[Linear]] = {}
        for coach, literal in model.adults.possible(session).items():
            of = club.coach(coach)
            on = model.switch(self.name, f"{of.name}, available", f"{of.name} is there only when available")
            alike = free.hangs_on(of)
            if alike not in known:
                known[alike] = [held for date, span, held in moments if not free(of, date, span)]
            if known[alike]:
                model.at_most(on, [literal, *known[alike]], 1)

    def _would_do(self, club: Club, planned: PlannedSession) -> bool:
        """Whether a session's adults lead its teams, are enough, and give first aid where that is kept."""
        ask, adults = club.session(planned.session), [club.coach(coach) for coach in planned.coaches]
        leaders = {coach.id for coach in adults if not coach.helper_only}
        ages = [club.limit_age(club.player(player)) for player in planned.players]
        ratio = _ratio(club, min(ages)) if ages else None
        return (
            all(leaders & set(club.team(team).coaches) for team in ask.teams)
            and (not ask.needs_keeper_coach or any(coach.keeper_coach for coach in adults))
            and len(adults) >= _least(club, planned.session)
            and (ratio is None or ratio * len(adults) >= len(ages))
            and (club.is_blank(FIRST_AID) or any(_valid(coach.first_aid_until, planned.date) for coach in adults))
        )

    def _first_aid(self, club: Club, model: BookingModel) -> None:
        """At every start and end, whoever may lack a first aider of their own has one of some session at the site."""
        bare = {ask.id for ask in club.sessions if model.switchable or not self._surely_aided(club, model, ask.id)}
        points: dict[tuple[dt.date, str], set[int]] = {}
        for ask in club.sessions if bare else ():
            for moment in model.moments(ask.id):
                points.setdefault((moment.date, moment.site), set()).update((moment.start, moment.start + ask.minutes))
        users: dict[tuple[dt.date, str, int], dict[str, list[Linear]]] = {}
        aiders: dict[tuple[dt.date, str, int], list[Linear]] = {}
        for ask in club.sessions if bare else ():
            for moment, held in model.moments(ask.id).items():
                aided = self._aided(club, model, ask.id, moment, held)
                for minute in points[moment.date, moment.site]:
                    if moment.start <= minute < moment.start + ask.minutes:
                        key = (moment.date, moment.site, minute)
                        aiders.setdefault(key, []).extend(aided)
                        if ask.id in bare:
                            users.setdefault(key, {}).setdefault(ask.id, []).append(held)
        for key, by_session in users.items():
            subject = f"first aid at {key[1]}, {day_words(key[0])}"
            on = model.switch(self.name, subject, f"a first aider is at {key[1]} on {day_words(key[0])}")
            covered = model.model.new_bool_var(f"covered[{key}]")
            model.at_least(on, aiders.get(key, []), covered)
            for held_then in by_session.values():
                model.at_most(on, held_then, covered)

    def _surely_aided(self, club: Club, model: BookingModel, session: str) -> bool:
        """Whether so few of the possible adults are no first aiders that the least number of adults has one."""
        last = club.dates[-1]
        without = [c for c in model.adults.possible(session) if not _valid(club.coach(c).first_aid_until, last)]
        return len(without) < _sure_least(club, model, session)

    def _aided(self, club: Club, model: BookingModel, session: str, moment: Moment, held: Linear) -> list[Linear]:
        """A literal that may be 1 only where the session is held then with a first aider."""
        if not model.switchable and self._surely_aided(club, model, session):
            return [held]
        adults = model.adults.possible(session)
        aiders = [z for coach, z in adults.items() if _valid(club.coach(coach).first_aid_until, moment.date)]
        if not aiders:
            return []
        literal = model.model.new_bool_var(f"aided[{session}|{moment}]")
        model.model.add(literal <= sum(aiders))
        model.model.add(literal <= held)
        return [literal]

    # the audit

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Each session's adults counted, each adult's week walked through, each site minute by minute."""
        for planned in plan.sessions:
            yield from self._count(club, planned)
            yield from self._who(club, planned)
        for one, other in combinations(plan.sessions, 2):
            yield from self._both(club, one, other)
        if not club.is_blank(FIRST_AID):
            yield from self._aid(club, plan)

    def _count(self, club: Club, planned: PlannedSession) -> Iterator[Violation]:
        ask, name = club.session(planned.session), planned.session
        for team in ask.teams:
            if not any(c in club.team(team).coaches and not club.coach(c).helper_only for c in planned.coaches):
                yield Violation(self.name, (name, team), f"{name} has no coach of {team}", 1, "adults")
        if ask.needs_keeper_coach and not any(club.coach(coach).keeper_coach for coach in planned.coaches):
            yield Violation(self.name, (name,), f"{name} has no keeper coach", 1, "adults")
        stations = groups_of(club, name)
        have, least = len(planned.coaches), max(LEAST_ADULTS, ask.coaches_needed, stations)
        why = ""
        ages = sorted(club.limit_age(club.player(player)) for player in planned.players)
        ratios = [row.players_per_adult for row in club.ages if ages and ages[0] in range(row.from_age, row.to_age + 1)]
        ratio = ratios[0] if ratios else None
        if ratio is not None:
            handfuls = len(range(0, len(ages), ratio))  # dealt out one adult after the other, the last one in part
            if handfuls > least:
                least, why = handfuls, f": one for every {ratio} of {so_many(len(ages), 'player')}"
        if have < least:
            text = f"{name} has {so_many(have, 'adult')} and needs {least}{why}"
            yield Violation(self.name, (name,), text, least - have, "adults")

    def _who(self, club: Club, planned: PlannedSession) -> Iterator[Violation]:
        for key in planned.coaches:
            coach, day = club.coach(key), day_words(planned.date)
            if not club.is_blank(CHECKED) and (coach.checked_until or dt.date.min) < planned.date:
                text = f"{coach.name} is at {planned.session} on {day} without a check in date"
                yield Violation(self.name, (key, planned.session), text, 1, "adults")
            gone = [row for row in club.absences if key in row.who and row.occurs.on(planned.date)]
            hours = (
                None
                if coach.available is None
                else [h for days, h in coach.available if planned.date.weekday() in days]
            )
            inside = hours is None or any(h.start <= planned.start and planned.end <= h.end for h in hours)
            if not inside or any(row.span.start < planned.end and planned.start < row.span.end for row in gone):
                text = f"{coach.name} is not available for {planned.session} on {day} {planned.span}"
                yield Violation(self.name, (key, planned.session), text, 1, "adults")

    def _both(self, club: Club, one: PlannedSession, other: PlannedSession) -> Iterator[Violation]:
        shared = [coach for coach in one.coaches if coach in other.coaches]
        if one.date != other.date or not shared:
            return
        sites = {club.pitch(one.pitch).site, club.pitch(other.pitch).site}
        way = max(club.site(site).minutes_between for site in sites) if len(sites) == 2 else 0
        short = min(one.end, other.end) + way - max(one.start, other.start)
        if short > 0:
            for coach in shared:
                text = (
                    f"{club.coach(coach).name} is at {one.session} ({one.span}) and {other.session} ({other.span}) on "
                )
                text += f"{day_words(one.date)}" + (f", {so_many(way, 'minute')} apart" if way else "")
                yield Violation(self.name, (coach, one.session, other.session), text, short, "minutes")

    def _aid(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        for date in club.dates:
            for site in club.sites:
                here = [s for s in plan.sessions if s.date == date and club.pitch(s.pitch).site == site.id]
                bare: list[int] = []
                for minute in range(24 * 60 if here else 0):
                    there = [one for one in here if one.start <= minute < one.end]
                    last_days = [club.coach(coach).first_aid_until for one in there for coach in one.coaches]
                    if there and all(last is None or (date - last).days > 0 for last in last_days):
                        bare.append(minute)
                if bare:
                    text = f"no first aider at {site.id} on {day_words(date)} for {so_many(len(bare), 'minute')} "
                    text += f"from {hhmm(bare[0])}"
                    yield Violation(self.name, (site.id,), text, len(bare), "minutes")
