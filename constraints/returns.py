"""A child on the way back after a blow to the head takes part only in what the step allows. Confidential."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.programme import Contact, Kind, Practice
from scheduler.club.when import day_words
from scheduler.contract import Severity, Source, Violation
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.plan.presence import minutes_there, there
from scheduler.plan.skeleton import lay_blocks
from scheduler.plan.walk import spots_of
from scheduler.welfare.returns import UK, child_step, may_join, on_the_way_back, protocol_of

if TYPE_CHECKING:
    from scheduler.rotation.model import RotationModel


class Returns:
    """Dates are "not before"; contact needs a qualified person's separate yes as well."""

    name = "returns"  # printed beside children's names, so it does not say from what
    words = (
        "A child who has had a blow to the head stays out while symptoms last and until the day after they ended, two "
        "days after the injury at the earliest; then joins only what everybody does together without contact or "
        "headers, until both the date for contact has come and a qualified person's yes is entered."
    )
    source = Source(UK.source.title, f"{UK.source.where}; which blocks are without a risk to the head is our choice")
    firm = True

    def off(self, club: Club) -> str | None:
        """Off where nobody is entered."""
        return None if club.returns else "the Returns sheet is empty"

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Keep a returning child from every station that the step does not open."""
        for player in dict.fromkeys(row.player for row in club.returns):
            sentence = f"{club.called(player)} takes part only within the limits entered (welfare file)"
            for turn in model.ring.turns:
                step = child_step(club, player, plan.by_session[turn.session].date)
                if player in turn.there and not may_join(step, turn.practice):
                    switch = model.switch(self.name, player, sentence)
                    model.model.add(model.at(player, turn) <= 0).only_enforce_if(switch)

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Look at every place of every returning child, at presence where nobody has a place, and at the matches."""
        steps = {row.player: row for row in on_the_way_back(club)}
        for planned in plan.sessions:
            for player in (one for one in planned.players if one in steps):
                if _at_home(club, player, planned.date):
                    if minutes := minutes_there(club, planned, player):
                        yield self._found(club, planned, player, minutes, planned.session)
                elif _head_at_risk(club, player, planned.date):
                    yield from self._closed(club, planned, player)
        for player, back in steps.items():
            for remark in (text for text in back.remarks if text.startswith("listed for the match")):
                text = f"{club.called(player)} is listed for a match: see the welfare file first"
                private = f"{club.player(player).name} is {remark}"
                yield Violation(self.name, (player,), text, severity=Severity.CAUTION, private=private)

    def _closed(self, club: Club, planned: PlannedSession, player: str) -> Iterator[Violation]:
        """Minutes of places in closed practices; of a bare booking the minutes there in blocks with a closed one."""
        if planned.blocks:
            for spot in spots_of(planned):
                placed = any(place.player == player for place in spot.rep.places)
                if placed and _rough(club.practice(spot.station.practice)):
                    yield self._found(club, planned, player, spot.rep.span.minutes, spot.words)
            return
        spans = there(club, planned, player)
        for block in lay_blocks(club, planned).blocks:
            minutes = sum(both.minutes for span in spans if (both := span.cut(block.span)) is not None)
            practices = [club.practice(station.practice) for station in block.stations]
            if minutes and any(_rough(practice) for practice in practices):
                yield self._found(club, planned, player, minutes, f"{planned.session}, block {block.block}")

    def _found(self, club: Club, planned: PlannedSession, player: str, minutes: int, where: str) -> Violation:
        back = [one for one in on_the_way_back(club) if one.player == player][-1]
        contact = f"contact not before {back.dates.contact}" if back.dates.contact else "no date for contact"
        yes = "clearance entered" if back.row.cleared else "no clearance entered"
        text = f"{where}: {club.called(player)} takes part against a limit (welfare file)"
        private = (
            f"{where} on {day_words(planned.date)}: {club.player(player).name} takes part too early; {contact}, {yes}"
        )
        return Violation(self.name, (player, planned.session), text, minutes, "minutes", private=private)


def _rough(practice: Practice) -> bool:
    """Opponents, contact or headers: anything but what everybody does together without them."""
    return practice.kind is not Kind.TOGETHER or practice.contact is not Contact.NONE or practice.headers_a_rep > 0


def _at_home(club: Club, player: str, date: dt.date) -> bool:
    """Whether symptoms last, or ended today, or the injury was yesterday or today."""
    for row in club.returns:
        if row.player == player and row.injured <= date:
            ended = row.symptoms_ended
            if ended is None or (date - row.injured).days < 2 or (date - max(ended, row.injured)).days < 1:
                return True
    return False


def _head_at_risk(club: Club, player: str, date: dt.date) -> bool:
    """Whether the yes is missing, or fewer days have passed than the club's protocol counts before contact."""
    protocol, age = protocol_of(club), club.limit_age(club.player(player))
    for row in club.returns:
        if row.player != player or date < row.injured:
            continue
        since = (date - row.injured).days
        free = min((date - (row.symptoms_ended or date)).days, since - protocol.rest_days)
        wanted = [(free, protocol.contact_free)]
        if protocol.contact_free is None:
            child = protocol.match_injury_child if age < protocol.child_until else None
            wanted = [(since, child or protocol.match_injury), (free, protocol.match_free)]
        if not row.cleared or any(least is not None and days < least for days, least in wanted):
            return True
    return False
