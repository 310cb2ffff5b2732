"""What people, sides and places are called on paper: short, unique where it matters, and inert."""

from __future__ import annotations

import hashlib
import unicodedata
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from types import MappingProxyType

from scheduler.club.club import Club
from scheduler.plan.plan import PlannedSession, WeekPlan
from scheduler.remembered import Remembered


@lru_cache(maxsize=16384)
def plain(text: str) -> str:
    """A text on one line, without control characters, in the composed form that spreadsheets keep."""
    kept = "".join(" " if unicodedata.category(letter) in ("Cc", "Zl", "Zp") else letter for letter in text)
    return " ".join(unicodedata.normalize("NFC", kept).split())


def join(words: Sequence[str]) -> str:
    """`Ivo`, `Ivo and Noor`, `Ivo, Noor and Tara`."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else ""


def _settled(shown: dict[str, str], marks: dict[str, str]) -> dict[str, str]:
    """Equal names told apart by a mark in brackets, and by a number where even that is equal."""
    folded = Counter(name.casefold() for name in shown.values())
    found: dict[str, str] = {}
    used: set[str] = set()
    for key, name in shown.items():
        clear = f"{name} ({marks[key]})" if folded[name.casefold()] > 1 else name
        number = 2
        unique = clear
        while unique.casefold() in used:
            unique, number = f"{clear} {number}", number + 1
        used.add(unique.casefold())
        found[key] = unique
    return found


def card_names(club: Club, players: Iterable[str]) -> dict[str, str]:
    """The card name of each player by id; where two of them are called alike, the team stands behind in brackets."""
    listed = list(dict.fromkeys(players))
    shown = {key: plain(club.called(key)) or "?" for key in listed}
    marks = {key: plain(club.player(key).team) if club.has("player", key) else "guest" for key in listed}
    return _settled(shown, marks)


def session_names(club: Club, planned: PlannedSession) -> dict[str, str]:
    """The card names of everybody a session's card may name, in the club's order."""
    placed = {p.player for b in planned.blocks for s in b.stations for r in s.reps for p in r.places}
    everybody = {*planned.players, *(down.player for down in planned.stood_down), *placed}
    order = [player.id for player in club.players if player.id in everybody]
    return card_names(club, [*order, *sorted(everybody - set(order))])


def adult_names(club: Club) -> Mapping[str, str]:
    """The name of each coach by id; two of one name are told apart by their ids.

    Clubs are frozen, so the names of the very same one serve again: every card and calendar asks for them.
    """

    def named() -> Mapping[str, str]:
        shown = {coach.id: plain(coach.name) or coach.id for coach in club.coaches}
        marks = {coach.id: plain(coach.id) for coach in club.coaches}
        return MappingProxyType(_settled(shown, marks))

    return _adults.of(club, make=named)


_adults = Remembered[Mapping[str, str]]()


def adults(club: Club, ids: Iterable[str]) -> tuple[str, ...]:
    """The names of some coaches, in order; an id the club does not know stands for itself."""
    names = adult_names(club)
    return tuple(names.get(key, plain(key)) for key in ids)


def zones_words(zones: Sequence[int]) -> str:
    """`zone 1`, `zones 1 and 2`, `zones 1 to 3`, `zones 1 and 3`."""
    if not zones:
        return "no zone"
    if len(zones) == 1:
        return f"zone {zones[0]}"
    if len(zones) > 2 and list(zones) == list(range(zones[0], zones[-1] + 1)):
        return f"zones {zones[0]} to {zones[-1]}"
    return f"zones {join([str(zone) for zone in zones])}"


def place_words(club: Club, planned: PlannedSession) -> str:
    """`North, zones 1 and 2`, with the site where the club has several."""
    pitch = plain(planned.pitch)
    whole = club.has("pitch", planned.pitch) and len(planned.zones) == club.pitch(planned.pitch).zones
    parts = [pitch, "the whole pitch" if whole and len(planned.zones) > 1 else zones_words(planned.zones)]
    site = site_of(club, planned)
    if site and len(club.sites) > 1:
        parts.append(plain(site))
    return ", ".join(parts)


def site_of(club: Club, planned: PlannedSession) -> str:
    """The site of a session by id; empty where the pitch is not known."""
    return club.pitch(planned.pitch).site if club.has("pitch", planned.pitch) else ""


def side_words(side: str | None) -> str:
    """A side by its bibs as people say it: `bibs green` is `green`, `own shirts` and others stay."""
    text = plain(side or "")
    return text.removeprefix("bibs ") or text


def plan_code(plan: WeekPlan) -> str:
    """Five letters and digits worked out from the plan: another plan has, but for a rare chance, another code.

    Plans are frozen, so the code of the very same one is worked out once: every card and calendar entry bears it.
    """
    return _codes.of(plan, make=lambda: _code_of(plan))


_codes = Remembered[str](keep=2)


def _code_of(plan: WeekPlan) -> str:
    digest = int.from_bytes(hashlib.sha256(plan.to_json().encode()).digest()[:8], "big")
    letters = "ABCDEFGHJKMNPQRSTVWXYZ23456789"
    code = ""
    for _ in range(5):
        digest, rest = divmod(digest, len(letters))
        code += letters[rest]
    return code


def plan_number(plan: WeekPlan) -> str:
    """`Plan 1 K7QX2`: the revision and the code."""
    return f"Plan {plan.revision} {plan_code(plan)}"
