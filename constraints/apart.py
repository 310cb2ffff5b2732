"""Two who are to be kept apart are never in one group, on one side or in one area. Never printed with names."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.contract import Basis, Source, Violation
from scheduler.plan.plan import Place, WeekPlan
from scheduler.plan.timeline import groups_of
from scheduler.plan.walk import spots
from scheduler.rotation.setting import laid
from scheduler.welfare.apart import apart_words

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar

    from scheduler.booking.model import BookingModel
    from scheduler.rotation.model import RotationModel


class Apart:
    """Named pairs: never in one group where there are several, never on one side nor in one area in a rep."""

    name = "apart"
    words = (
        "Two players to be kept apart are never in one group where there are several, never on one side and never in "
        "one area in the same rep; an adult to be kept apart from a child is never at that child's station where "
        "there are several stations, and not in the session at all where there is one group."
    )
    source = Source("the club's own safeguarding decisions", basis=Basis.OURS)
    firm = True

    def off(self, club: Club) -> str | None:
        """Off where nobody is to be kept apart from anybody."""
        return "no pair is entered to be kept apart" if club.is_blank("Players.Apart from") else None

    def post(self, club: Club, model: BookingModel) -> None:
        """Book no adult into a session of one group with a child to be kept apart from."""
        for number, (one, two) in enumerate(_pairs(club), 1):
            for ask in club.sessions:
                if club.has("coach", two) and groups_of(club, ask.id) == 1:
                    switch = model.switch(self.name, f"pair {number}", apart_words(club, one, two))
                    model.adults.keep_from(switch, ask.id, two, one)

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """For every pair of players: one of the two at most in a group, on a side, in an area."""
        for number, (one, two) in enumerate(_pairs(club), 1):
            switch = model.switch(self.name, f"pair {number}", apart_words(club, one, two))
            if club.has("player", two):
                self._post_groups(model, one, two, switch)
                self._post_places(model, one, two, switch)
            else:
                self._post_adult(plan, model, one, two, switch)

    def _post_groups(self, model: RotationModel, one: str, two: str, switch: IntVar) -> None:
        for setting in model.ring.sessions:
            if setting.groups > 1:
                turns = model.ring.turns_of(setting.session)
                seen = [dict.fromkeys(turn.block for turn in turns if who in turn.there) for who in (one, two)]
                for block in (block for block in seen[0] if block in seen[1]):
                    first = model.group(one, setting.session, block)
                    second = model.group(two, setting.session, block)
                    for group in first:
                        model.model.add(first[group] + second[group] <= 1).only_enforce_if(switch)

    def _post_places(self, model: RotationModel, one: str, two: str, switch: IntVar) -> None:
        for turn in model.ring.turns:
            if turn.has_roles and one in turn.there and two in turn.there:
                for side in (0, 1):
                    worn = ("attack", "defend", "play", "rest")
                    both = model.places(one, turn, *worn, side=side) + model.places(two, turn, *worn, side=side)
                    model.model.add(sum(both) <= 1).only_enforce_if(switch)
                for area in range(1, turn.areas + 1):
                    both = model.places(one, turn, area=area) + model.places(two, turn, area=area)
                    model.model.add(sum(both) <= 1).only_enforce_if(switch)

    def _post_adult(self, plan: WeekPlan, model: RotationModel, player: str, coach: str, switch: IntVar) -> None:
        for turn in model.ring.turns:
            adults = _adults_near(model.club, plan, turn.session, turn.block, turn.station)
            if coach in adults and player in turn.there:
                model.model.add(model.at(player, turn) == 0).only_enforce_if(switch)

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Look at the adults of every session, the groups of every block, and every rep in which both of a pair are."""
        pairs = list(_foes(club))
        for planned in plan.sessions:
            if groups_of(club, planned.session) == 1:
                for one, two in pairs:
                    if one in planned.players and two in planned.coaches:
                        yield _found(club, planned.session, "in one session", one, two)
                continue
            for block in planned.blocks:
                places = [p for station in block.stations for rep in station.reps for p in rep.places]
                for one, two in pairs:
                    groups = [{place.group for place in places if place.player == who} for who in (one, two)]
                    if groups[0] & groups[1]:
                        yield _found(club, f"{planned.session}, block {block.block}", "in one group", one, two)
        for spot in spots(plan):
            held = {place.player: place for place in spot.rep.places}
            for one, two in pairs:
                if one in held and two in held:
                    what = _together(held[one], held[two])
                elif one in held and two in spot.station.coaches and len(spot.block.stations) > 1:
                    what = "at one station"
                else:
                    what = ""
                if what:
                    yield _found(club, spot.words, what, one, two)


def _found(club: Club, where: str, what: str, one: str, two: str) -> Violation:
    private = f"{where}: {club.called(one)} and {club.called(two)} are {what}"
    return Violation(Apart.name, (), f"{where}: {apart_words(club, one, two)} are {what}", private=private)


def _pairs(club: Club) -> list[tuple[str, str]]:
    """Every pair once, players in the club's order and before adults."""
    order = {player.id: number for number, player in enumerate(club.players)}
    found = {
        tuple(sorted((player.id, other), key=lambda who: order.get(who, len(order))))
        for player in club.players
        for other in player.apart_from
        if other != player.id
    }
    return sorted((pair[0], pair[1]) for pair in found)


def _foes(club: Club) -> Iterator[tuple[str, str]]:
    """Whoever names the other: each child down the Players sheet with every child below and every adult.

    A child who names nobody is looked at beside those alone who name somebody: most clubs have few of these.
    """
    naming = [(number, one) for number, one in enumerate(club.players) if one.apart_from]
    for number, one in enumerate(club.players):
        below = club.players[number + 1 :] if one.apart_from else [other for at, other in naming if at > number]
        for other in below:
            if other.id in one.apart_from or one.id in other.apart_from:
                yield one.id, other.id
        for coach in club.coaches if one.apart_from else ():
            if coach.id in one.apart_from:
                yield one.id, coach.id


def _together(one: Place, two: Place) -> str:
    if one.area is not None and one.area == two.area:
        return "in one area"
    if one.role != "keep" and two.role != "keep" and one.side is not None and one.side == two.side:
        return "on one side"
    return ""


def _adults_near(club: Club, plan: WeekPlan, session: str, block: int, station: int) -> tuple[str, ...]:
    """The adults a child at a station is with: its own where there are several, the session's where it is one group."""
    planned = laid(club, plan.by_session[session])
    if groups_of(club, session) == 1:
        return planned.coaches
    stations = planned.blocks[block - 1].stations if block <= len(planned.blocks) else ()
    if len(stations) < 2:
        return ()
    return next((found.coaches for found in stations if found.station == station), ())
