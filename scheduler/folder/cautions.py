"""What stands at the foot of every card and on the noticeboard, for whoever is on the ground."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.club.club import Club
from scheduler.plan.names import plain, site_of
from scheduler.plan.plan import PlannedSession, WeekPlan

ON_THE_GROUND = (
    "A blow to the head: off now, not back today, not left alone, parents told, medical help. If it gets worse, call "
    "the emergency number.",
    "Thunder: leave the field at the first; back 30 minutes after the last.",
    "Goals: anchored before use, never climbed.",
)
WATCH = "Whoever rests or is stood down stays at the touchline, in an adult's sight, until collected."
DEFAULTS = (
    "Planning defaults, not medical advice: your association's rules, safeguarding rules and qualified people come "
    "first."
)


def help_words(club: Club, planned: PlannedSession) -> str:
    """Where help is sent and where the defibrillator hangs; lines to fill in by hand where the club gave none."""
    site = site_of(club, planned)
    known = club.site(site) if site and club.has("site", site) else None
    address = plain(known.help_address) if known else ""
    defibrillator = plain(known.defibrillator) if known else ""
    blank = "_" * 24
    return f"Send help to: {address or blank}. Defibrillator: {defibrillator or blank}."


def not_checked(plan: WeekPlan) -> tuple[str, ...]:
    """What stands behind `not checked: ` for every rule that is off."""
    return tuple(plain(line) for line in plan.not_checked)


def card_cautions(help_line: str, unchecked: Sequence[str]) -> tuple[str, ...]:
    """The paragraphs at the foot of a card."""
    texts = [" ".join(ON_THE_GROUND), f"{help_line} {WATCH} {DEFAULTS}"]
    if unchecked:
        texts.append(f"Not checked: {'; '.join(unchecked)}.")
    return tuple(texts)
