"""No session outdoors in black heat, nobody out longer than the heat allows or within half an hour of thunder."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from scheduler.club.club import Club
from scheduler.club.when import day_words
from scheduler.contract import Severity, Source, Violation
from scheduler.plan.plan import WeekPlan
from scheduler.welfare.weather import HEAT_SOURCE, LIGHTNING_SOURCE, WAIT, minutes_allowed, weather_rule

if TYPE_CHECKING:
    from scheduler.booking.model import BookingModel
    from scheduler.booking.slots import Slot


class Weather:
    """Planning defaults from published bands; whoever stands on the ground decides, and stops earlier."""

    name = "weather"
    words = (
        "By the wet-bulb globe temperature entered for a site and date, and the club's heat category, no session is "
        "held in the black band (in category 3 92.0 F and up), and everybody stops after 60 minutes in the red and 120 "
        "in the orange one; after thunder nobody is out for 30 minutes, each new one counts anew. Breaks and cold are "
        "cautions."
    )
    source = Source(f"{HEAT_SOURCE}; {LIGHTNING_SOURCE}", "gaps between the printed bands count as the hotter band")
    firm = True

    def off(self, club: Club) -> str | None:
        """Off where nothing is entered for the week."""
        known = any(row.date in club.dates for row in club.weather)
        return None if known else "no weather is entered for this week"

    def narrow(self, club: Club, model: BookingModel) -> None:
        """Leave out every slot that the weather of its site and date forbids; shorter sessions are stand-downs."""
        for ask in club.sessions:
            subject = f"{ask.id} in this weather"
            switch = model.switch(self.name, ask.id, f"{subject}: not in black heat, not near thunder")
            model.rule_out(switch, ask.id, lambda slot: _forbidden(club, slot))

    def post(self, club: Club, model: BookingModel) -> None:
        """Nothing more: the slots are left out before."""

    def audit(self, club: Club, plan: WeekPlan) -> Iterator[Violation]:
        """Every planned session against the verdicts on it; advice is a caution."""
        for planned in plan.sessions:
            for verdict in weather_rule(club, planned):
                severity = Severity.BREACH if verdict.firm else Severity.CAUTION
                text = f"{planned.session} on {day_words(planned.date)}, {planned.span}: {verdict.text}"
                yield Violation(self.name, (planned.session,), text, verdict.by, "minutes", severity)


def _forbidden(club: Club, slot: Slot) -> bool:
    rows = [row for row in club.weather if row.site == slot.site and row.date == slot.date]
    if minutes_allowed(rows, club.heat_category) == 0:
        return True
    thunder = (row.thunder_last for row in rows if row.thunder_last is not None)
    return any(slot.start - WAIT < heard < slot.end for heard in thunder)
