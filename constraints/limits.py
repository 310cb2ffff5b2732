"""A child's own limits and headers a week: no contact, no heading, most minutes, by the child and by age."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.people import Player
from scheduler.club.programme import Contact, Practice
from scheduler.contract import Source, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.plan.presence import minutes_there
from scheduler.plan.walk import spots

if TYPE_CHECKING:
    from scheduler.rotation.model import RotationModel


class OwnLimits:
    """Nobody is placed where the own limits forbid it; headers in practices within the week's number by age."""

    name = "limits"
    words = (
        "Nobody with `no contact` is placed in a practice with contact, nobody with `no heading` in one with headers; "
        "nobody is there longer than the own `max`; headers in practices (every rep there counts, resting or not) "
        "stay within the week's number for the age."
    )
    source = Source(
        "U.S. Soccer, Recognize to Recover (2015, 2016): heading by age",
        "the child's own limits are the family's and their doctor's; other associations set other numbers",
    )
    firm = True

    def off(self, club: Club) -> str | None:
        """Off where neither own limits nor headers by age are entered."""
        if club.is_blank("Players.Limits") and all(row.headers_a_week is None for row in club.ages):
            return "no limits of players and no headers by age are entered"
        return None

    def post_roles(self, club: Club, plan: WeekPlan, model: RotationModel) -> None:
        """Keep limited children from stations they may not be at, and the headers of the week within the number."""
        for player in model.ring.players:
            child = club.player(player)
            turns = [turn for turn in model.ring.turns if player in model.here(turn)]
            sentence = f"{child.called} takes part only within the limits entered (welfare file)"
            switch = model.switch(self.name, player, sentence)
            for turn in turns:
                rough = turn.practice.contact in (Contact.SOME, Contact.HARD) and child.limits.no_contact
                heads = turn.practice.headers_a_rep > 0 and child.limits.no_heading
                if rough or heads:
                    model.model.add(model.at(player, turn) <= 0).only_enforce_if(switch)
            row = club.age_row(child)
            if row is not None and row.headers_a_week is not None:
                headers = sum(turn.practice.headers_a_rep * model.at(player, turn) for turn in turns)
                model.model.add(headers <= row.headers_a_week).only_enforce_if(switch)

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Every place against the limits, every session's minutes, every week's headers."""
        headers: dict[str, int] = {}
        for spot in spots(plan):
            practice = club.practice(spot.station.practice)
            for place in spot.rep.places:
                child = club.player(place.player)
                headers[child.id] = headers.get(child.id, 0) + practice.headers_a_rep
                why = _forbidden(child, practice)
                if why:
                    about, minutes = (child.id, spot.planned.session), spot.rep.span.minutes
                    text = f"{spot.words}: {child.called} is placed in {practice.id} against a limit (welfare file)"
                    yield Violation(self.name, about, text, minutes, "minutes", private=f"{text}: {why}")
        yield from self._minutes(club, plan)
        for child in club.players:
            row, count = club.age_row(child), headers.get(child.id, 0)
            if row is not None and row.headers_a_week is not None and count > row.headers_a_week:
                most = row.headers_a_week
                text = f"{child.called} would head {count} times in this week's practices"
                text += f", at most {most} (age row {row.phase})"
                yield Violation(self.name, (child.id,), text, count - most, "headers")

    def _minutes(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        for planned in plan.sessions:
            for player in planned.players:
                child = club.player(player)
                most, minutes = child.limits.max_minutes, minutes_there(club, planned, player)
                if most is not None and minutes > most:
                    who = f"{planned.session}: {child.called}"
                    text = f"{who} stays {minutes - most} minutes beyond a limit (welfare file)"
                    private = f"{who} is there {minutes} minutes, at most {most}"
                    about, over = (player, planned.session), minutes - most
                    yield Violation(self.name, about, text, over, "minutes", private=private)


def _forbidden(child: Player, practice: Practice) -> str:
    if child.limits.no_contact and practice.contact is not Contact.NONE:
        return "no contact"
    return "no heading" if child.limits.no_heading and practice.headers_a_rep else ""
