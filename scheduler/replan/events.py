"""What happened after the workbook was filled in: options of `replan` read into news, and news put into the club.

Nothing here changes a file. News is kept with the plan; `as_reported` gives the club as it is known now.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from scheduler.club.club import Club
from scheduler.club.people import Absence
from scheduler.club.places import Booked, Opening, Pitch
from scheduler.club.programme import Kind
from scheduler.club.when import DAY_MINUTES, Occurs, Span, hhmm, parse_hhmm
from scheduler.errors import UsageFault
from scheduler.plan.plan import News, WeekPlan
from scheduler.plan.walk import spots_of
from scheduler.replan.names import known, people, pitch_zones

NO_DATE = "say the date with --on, such as --on {date}"


@dataclass(frozen=True)
class Options:
    """The options of `replan` as they were typed."""

    absent: Sequence[str] = ()
    here: Sequence[str] = ()
    closed: Sequence[str] = ()
    unlit: Sequence[str] = ()
    missing_kit: Sequence[str] = ()
    at: str | None = None
    on: str | None = None
    from_: str | None = None
    until: str | None = None
    now: str | None = None


def read_now(club: Club, text: str | None) -> dt.datetime | None:
    """`2026-09-08 18:30` (also with a T) as local wall clock; UsageFault where it is none or not of this week."""
    if text is None:
        return None
    day, _, clock = text.strip().replace("T", " ").partition(" ")
    date = _date(club, day, "--now")
    minute = _minute(clock or "00:00", "--now")
    return dt.datetime.combine(date, dt.time()) + dt.timedelta(minutes=minute)


def read_news(club: Club, plan: WeekPlan, options: Options) -> tuple[News, ...]:
    """The options as news, names resolved; UsageFault with close names where one is not known."""
    asked = (*options.absent, *options.here, *options.closed, *options.unlit, *options.missing_kit)
    if not asked:
        if options.on or options.from_ or options.until:
            raise UsageFault("--on, --from and --until say when; say also what: --absent, --here, --closed, ...")
        return ()
    if options.on is None:
        raise UsageFault(NO_DATE.format(date=club.week.isoformat()))
    date = _date(club, options.on, "--on")
    start = _minute(options.from_, "--from") if options.from_ else 0
    end = _minute(options.until, "--until") if options.until else DAY_MINUTES
    if end <= start:
        raise UsageFault(f"--until {hhmm(end)} is not after --from {hhmm(start)}")
    now = read_now(club, options.now)
    if now is not None and now.date() == date:
        start = max(start, now.hour * 60 + now.minute)
        if end <= start:
            raise UsageFault(f"--until {hhmm(end)} is not after --now {hhmm(start)}")
    found: list[News] = []
    for text in options.absent:
        for who in people(club, text):
            begins = end_of_rep(club, plan, who, date, start)
            found.append(News(kind="absent", about=who, date=date, start=begins, end=max(end, begins)))
    found += [
        News(kind="here", about=w, date=date, start=start, end=end) for t in options.here for w in people(club, t)
    ]
    for text in options.closed:
        pitch, zones = pitch_zones(club, text)
        found.append(News(kind="closed", about=pitch, date=date, start=start, end=end, zones=zones))
    for text in options.unlit:
        pitch = known(text, {p.id: p.id for p in club.pitches}, "pitch", "Pitches")
        site = club.site(club.pitch(pitch).site)
        if site.latitude is None or site.longitude is None:
            text = f"{site.id} has no latitude and longitude, so dusk is not known; fill them in on the sheet Sites"
            raise UsageFault(f"--unlit {pitch}: {text}")
        found.append(News(kind="unlit", about=pitch, date=date))
    found += [_missing(club, text, options.at, date) for text in options.missing_kit]
    return tuple(found)


def end_of_rep(club: Club, plan: WeekPlan, who: str, date: dt.date, minute: int) -> int:
    """The end of the rep a player has a place in at a minute, else the minute: a rep begun is played to its end."""
    for planned in plan.sessions:
        if planned.date != date or who not in planned.players:
            continue
        for spot in spots_of(planned):
            begun = spot.rep.start < minute < spot.rep.end and any(place.player == who for place in spot.rep.places)
            if begun and club.practice(spot.station.practice).kind is not Kind.TOGETHER:
                return spot.rep.end
    return minute


def as_reported(club: Club, plan: WeekPlan, more: Iterable[News] = ()) -> Club:
    """The club with everything the plan was told, and more news, put in; what it no longer knows is passed over."""
    for news in (*plan.news, *more):
        club = _put_in(club, news)
    return club


def _put_in(club: Club, news: News) -> Club:
    span = Span(news.start, news.end)
    if news.kind == "absent":
        row = Absence(who=(news.about,), occurs=Occurs(date=news.date), span=span)
        return club.model_copy(update={"absences": (*club.absences, row)}) if span.minutes else club
    if news.kind == "here":
        rows = [left for row in club.absences for left in _come_after_all(club, row, news)]
        return club.model_copy(update={"absences": tuple(rows)})
    if news.kind == "closed":
        closed = Booked(pitch=news.about, zones=news.zones, occurs=Occurs(date=news.date), span=span, by="a closure")
        return club.model_copy(update={"booked": (*club.booked, closed)})
    if news.kind == "unlit":
        pitches = tuple(_dark(pitch, news.date) if pitch.id == news.about else pitch for pitch in club.pitches)
        return club.model_copy(update={"pitches": pitches})
    kit = tuple(
        row.model_copy(update={"missing": (*row.missing, (news.date, news.count))})
        if (row.item, row.site) == (news.about, news.site)
        else row
        for row in club.kit
    )
    return club.model_copy(update={"kit": kit})


def _come_after_all(club: Club, row: Absence, news: News) -> list[Absence]:
    """An absence row without one person on one date between two minutes; everything else it says is kept."""
    if news.about not in row.who or not row.occurs.on(news.date):
        return [row]
    others = tuple(who for who in row.who if who != news.about)
    kept = [row.model_copy(update={"who": others})] if others else []
    days = [date for date in club.dates if row.occurs.on(date)]
    for date in days:
        spans = row.span.without(Span(news.start, news.end)) if date == news.date else (row.span,)
        kept += [Absence(who=(news.about,), occurs=Occurs(date=date), span=left, why=row.why) for left in spans]
    return kept


def _dark(pitch: Pitch, date: dt.date) -> Pitch:
    """The pitch without light on one date; the week has each weekday once."""
    day = date.weekday()
    openings: list[Opening] = []
    for opening in pitch.openings:
        if day not in opening.days:
            openings.append(opening)
            continue
        if opening.days - {day}:
            openings.append(opening.model_copy(update={"days": opening.days - {day}}))
        openings.append(opening.model_copy(update={"days": frozenset({day}), "lit": False, "lights_out": None}))
    return pitch.model_copy(update={"openings": tuple(openings)})


def _date(club: Club, text: str, option: str) -> dt.date:
    try:
        date = dt.date.fromisoformat(text.strip())
    except ValueError:
        raise UsageFault(f"{option} {text}: write a date such as {club.week.isoformat()}") from None
    if date not in club.dates:
        raise UsageFault(f"{option} {text}: not in the week of {club.week}, write one from {club.week} on, seven days")
    return date


def _minute(text: str, option: str) -> int:
    try:
        return parse_hhmm(text)
    except ValueError:
        raise UsageFault(f"{option} {text}: write a time such as 18:30") from None


def _missing(club: Club, text: str, at: str | None, date: dt.date) -> News:
    item, _, number = text.strip().rpartition(" ")
    if not item or not number.isdecimal() or int(number) < 1:
        raise UsageFault(f"--missing-kit '{text}': write the item and how many are missing, such as 'bib 3'")
    name = known(item, {row.item: row.item for row in club.kit}, "kit item", "Kit")
    sites = [row.site for row in club.kit if row.item == name]
    if at is not None:
        at = known(at, {site.id: site.id for site in club.sites}, "site", "Sites")
        if at not in sites:
            raise UsageFault(f"--missing-kit '{text}': there is no {name} at {at}, it is at {' and '.join(sites)}")
    elif len(sites) > 1:
        raise UsageFault(f"--missing-kit '{text}': {name} lies at {' and '.join(sites)}; say which with --at")
    site = at or sites[0]
    held = sum(row.count for row in club.kit if (row.item, row.site) == (name, site))
    if int(number) > held:
        raise UsageFault(f"--missing-kit '{text}': there are only {held} {name} at {site}")
    return News(kind="missing kit", about=name, date=date, count=int(number), site=site)
