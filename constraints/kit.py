"""What is in use at a site at any minute is never more than what lies there."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, NamedTuple

from scheduler.booking.bibs import BIB, count_at, is_bib
from scheduler.club.club import Club
from scheduler.club.people import AgeRow
from scheduler.club.programme import KitNeed, Practice
from scheduler.club.when import day_words, hhmm
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.timeline import BlockTime, groups_of, timeline

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel, Linear
    from scheduler.booking.slots import Moment

    Waiting = dict[tuple[str, str], list[str]]  # items and sites with the sessions that use them there


def _row_of(club: Club, session: str) -> AgeRow | None:
    """The age row of the youngest team of a session: under 14 are 13 years old at most."""
    age = min(club.team(team).age_group for team in club.session(session).teams) - 1
    return next((row for row in club.ages if row.from_age <= age <= row.to_age), None)


def _item(club: Club, session: str, item: str) -> str:
    """The item that `ball` and `goal` stand for; every other item stands for itself."""
    row = _row_of(club, session)
    if item == "ball":
        return (row and row.ball) or item
    if item == "goal":
        return (row and row.goal) or item
    return item


def _items(club: Club) -> tuple[str, ...]:
    """Every item that a practice of a planned session could need, in order of first use."""
    found: dict[str, None] = {}
    for ask in club.sessions:
        for block in timeline(club, ask.id):
            for station in block.stations:
                for need in (*station.practice.kit_per_area, *station.practice.kit_per_player):
                    found.setdefault(_item(club, ask.id, need.item))
    return tuple(found)


class Kit:
    """Kit per area and per player, block by block, site by site."""

    name = "kit"
    words = (
        "Kit in use at a site never exceeds the Kit sheet, block by block; kit per player counts everybody who comes, "
        "bibs those of one side; `bib` may be bibs of any name, and bibs asked for by name are bibs too."
    )
    source = Source("one use at a time of one thing", basis=Basis.COMMON_PRACTICE)
    firm = True

    def off(self, club: Club) -> str | None:
        """Off where the Kit sheet is empty."""
        return "the Kit sheet is empty" if club.is_blank("Kit") or not club.kit else None

    # the booking

    def post(self, club: Club, model: BookingModel) -> None:
        """At every start of a block, whatever is in use then adds up to the count at most.

        Who comes hardly ever decides, so a relaxed model counts those alone who come whatever happens, until a plan is
        short.
        """
        waiting: Waiting = {}
        for item in _items(club):
            using = [ask.id for ask in club.sessions if any(self._most(club, model, ask.id, b, item) for b in
                     timeline(club, ask.id))]  # fmt: skip
            for site in club.sites:
                count = min(count_at(club, site.id, item, date) for date in club.dates)
                here = [s for s in using if any(slot.site == site.id for slot in model.slots(s))]
                peaks = {s: max(self._most(club, model, s, b, item) for b in timeline(club, s)) for s in here}
                if model.most_at_once(site.id, peaks) <= count:
                    continue
                if self._post_item(club, model, item, site.id, here, counted=not model.relaxed):
                    waiting[item, site.id] = here
        minded: set[tuple[str, ...]] = set(waiting)
        if minded:
            model.when_read(lambda plan: self._post_where_short(club, model, plan, minded, waiting))

    def _post_where_short(
        self, club: Club, model: BookingModel, plan: WeekPlan, minded: set[tuple[str, ...]], waiting: Waiting
    ) -> WeekPlan | None:
        """The plan; None where it is short of something minded, for which those who come are counted from then on."""
        short = {found.about for found in self.audit(club, plan)} & minded
        for item, site in [one for one in waiting if one in short]:
            self._post_item(club, model, item, site, waiting.pop((item, site)), counted=True)
        return None if short else plan

    def _most(self, club: Club, model: BookingModel, session: str, block: BlockTime, item: str) -> int:
        """The most that a block could need: everybody comes."""
        players = sum(squad.size for squad in model.children.squads_in(session))
        return self._needed(club, session, block, item, (players,))[0]

    def _needed(self, club: Club, session: str, block: BlockTime, item: str, numbers: Iterable[int]) -> tuple[int, ...]:
        """What a block needs of an item with so many players shared out over the groups, for each number of players."""
        fixed = each = pairs = 0
        for station in block.stations:
            for need in station.practice.kit_per_area:
                if _item(club, session, need.item) == item or (item == BIB and is_bib(need.item)):
                    fixed += need.quantity * station.practice.areas
            for need in station.practice.kit_per_player:
                if _item(club, session, need.item) == item or (item == BIB and is_bib(need.item)):
                    pairs, each = (pairs + need.quantity, each) if is_bib(need.item) else (pairs, each + need.quantity)
        shared = groups_of(club, session) if len(block.stations) > 1 else 1
        groups = [-(-number // shared) for number in numbers]
        return tuple(fixed + each * group + pairs * -(-group // 2) for group in groups)

    def _post_item(
        self, club: Club, model: BookingModel, item: str, site: str, sessions: list[str], *, counted: bool
    ) -> bool:
        """The rows of an item at a site; `counted`: by who comes, else by those who come whatever happens.

        Whether that makes a difference and the rows are not all there is to say.
        """
        relief, guessed = _Relief(model, item), False
        uses: dict[dt.date, list[_Use]] = {}
        for session in sessions:
            players = sum(squad.size for squad in model.children.squads_in(session))
            for block in timeline(club, session):
                table = self._needed(club, session, block, item, range(players + 1))
                if table[-1] == 0:
                    continue
                saved = relief.most(session, table)
                guessed = guessed or (saved > 0 and not counted)
                for moment, held in model.moments(session).items():
                    if moment.site == site:
                        first, last = moment.start + block.span.start, moment.start + block.span.end
                        less: Linear = saved * held
                        if counted and saved:
                            less = relief.of(session, table, moment, held)
                        uses.setdefault(moment.date, []).append(_Use(first, last, table[-1] * held - less))
        for date, entries in uses.items():
            subject, count = f"{item} at {site}, {day_words(date)}", count_at(club, site, item, date)
            on = model.switch(self.name, subject, f"{site} has {count} of {item} on {day_words(date)}")
            seen: set[tuple[int, ...]] = set()
            for minute in sorted({entry.first for entry in entries}):
                active = [number for number, entry in enumerate(entries) if entry.first <= minute < entry.last]
                if tuple(active) not in seen:
                    seen.add(tuple(active))
                    model.at_most(on, [entries[number].amount for number in active], count)
        return guessed

    # the audit

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Whenever a block begins, what every block in progress takes at each site: in between no more is in use."""
        for date in club.dates:
            for site in club.sites:
                here = [one for one in plan.sessions if one.date == date and club.pitch(one.pitch).site == site.id]
                stock = _stock(club, site.id, date)
                short: dict[str, list[tuple[int, int]]] = {}
                for minute in sorted({s.start + b.span.start for s in here for b in timeline(club, s.session)}):
                    for item, used in self._in_use(club, here, minute).items():
                        if used > stock.get(item, 0):
                            short.setdefault(item, []).append((minute, used - stock.get(item, 0)))
                for item, found in short.items():
                    most = max(amount for _, amount in found)
                    lying = stock.get(item, 0)
                    text = f"{site.id} needs {lying + most} of {item} on {day_words(date)} at {hhmm(found[0][0])} "
                    text += f"and has {lying}"
                    yield Violation(self.name, (item, site.id), text, most, "items")

    def _in_use(self, club: Club, here: list[PlannedSession], minute: int) -> dict[str, int]:
        used: dict[str, int] = {}
        for planned in here:
            for block in timeline(club, planned.session):
                if block.span.start <= minute - planned.start < block.span.end:
                    side_by_side = len(block.stations) > 1
                    parts = groups_of(club, planned.session) if side_by_side else 1
                    most = (len(planned.players) + parts - 1) // parts
                    for station in block.stations:
                        for need, times in _uses(station.practice, most):
                            item = _meant(club, planned, need.item)
                            used[item] = used.get(item, 0) + need.quantity * times
        if BIB in used:  # whoever asks for bibs of one name leaves fewer for those who take any
            used[BIB] += sum(number for item, number in used.items() if item.startswith(f"{BIB} "))
        return used


class _Use(NamedTuple):
    """What one block of one session uses from a minute to another, if the session is held then."""

    first: int
    last: int
    amount: Linear


class _Relief:
    """How much less than the most a session needs, because not everybody comes; 0 where it is not held then."""

    def __init__(self, model: BookingModel, item: str) -> None:
        self._model, self._item = model, item
        self._less: dict[tuple[str, tuple[int, ...]], Linear] = {}
        self._then: dict[tuple[str, tuple[int, ...], Moment], Linear] = {}

    def most(self, session: str, table: tuple[int, ...]) -> int:
        """At most how much less, whoever comes; `table`: the need by number of players."""
        least = 0 if self._model.switchable else self._model.children.least_headcount(session)
        return table[-1] - min(table[least:])

    def of(self, session: str, table: tuple[int, ...], moment: Moment, held: Linear) -> Linear:
        """For a need by number of players (`table`), at one moment of the session."""
        saved = self.most(session, table)
        cp, key = self._model.model, (session, table)
        name = f"{session}|{self._item}|{len(self._less)}|{len(self._then)}"
        if key not in self._less:
            come = cp.new_int_var(0, len(table) - 1, f"players[{name}]")
            cp.add(come == self._model.children.headcount(session))
            self._less[key] = cp.new_int_var(0, table[-1], f"less[{name}]")
            cp.add_element(come, [table[-1] - needed for needed in table], self._less[key])
        if (*key, moment) not in self._then:
            then = self._then[*key, moment] = cp.new_int_var(0, saved, f"less[{name}|then]")
            cp.add(then <= self._less[key])
            cp.add(then <= saved * held)
        return self._then[*key, moment]


def _uses(practice: Practice, players: int) -> Iterator[tuple[KitNeed, int]]:
    """Each need of a practice with how many times over it is taken."""
    for need in practice.kit_per_area:
        yield need, practice.areas
    for need in practice.kit_per_player:
        one_side = need.item == BIB or need.item.startswith(f"{BIB} ")
        yield need, (players + 1) // 2 if one_side else players


def _meant(club: Club, planned: PlannedSession, item: str) -> str:
    """The kit item of the first age row that holds the oldest a child of the youngest team can be."""
    under = sorted(club.team(team).age_group for team in planned.teams)[0]
    for row in club.ages:
        if row.from_age < under <= row.to_age + 1:
            return {"ball": row.ball, "goal": row.goal}.get(item) or item
    return item


def _stock(club: Club, site: str, date: dt.date) -> dict[str, int]:
    """What lies at a site on a date, added up down the Kit sheet; bibs of every name are plain bibs as well."""
    stock: dict[str, int] = {}
    for row in club.kit:
        names = {row.item, BIB} if row.item.split(" ")[0] == BIB else {row.item}
        for name in names if row.site == site else ():
            stock[name] = stock.get(name, 0) + row.count_on(date)
    return stock
