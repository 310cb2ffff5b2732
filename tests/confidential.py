"""What of a club must not leave the confidential files, and a search of any written file for it.

Zipped parts (workbooks), document properties and plain files alike are read as text. Short codes that stand in any file
by chance (a digit, `no`) cannot be searched for as such; they are given with the words they would be printed with.
"""

from __future__ import annotations

import re
import zipfile
from html import unescape
from pathlib import Path

from scheduler.club.club import Club

DATE_FORMS = ("%Y-%m-%d", "%d/%m/%Y", "%d.%m.%Y", "%m/%d/%Y", "%Y%m%d")
LEAST_LENGTH = 4


def _dates(club: Club) -> list[str]:
    days = [player.born for player in club.players if player.born is not None]
    days += [row.injured for row in club.returns]
    days += [row.symptoms_ended for row in club.returns if row.symptoms_ended is not None]
    held = {date.isoformat() for date in club.dates}
    forms = [day.strftime(form) for day in days for form in DATE_FORMS if day.isoformat() not in held]
    return forms + [f"{day.day} {day:%B} {day.year}" for day in days if day.isoformat() not in held]


def _limits(club: Club) -> list[str]:
    found = []
    for player in club.players:
        own = player.limits
        found += ["no contact; no heading"] if own.no_contact and own.no_heading else []
        found += [f"max {own.max_minutes}"] if own.max_minutes is not None else []
    return found


def confidential_values(club: Club) -> list[str]:
    """Every confidential text of a club: birth and injury dates, limits, families, why, elsewhere, full names."""
    found = _dates(club) + _limits(club)
    found += [player.family for player in club.players] + [coach.family for coach in club.coaches]
    found += [row.why for row in club.absences] + [row.what for row in (*club.elsewhere, *club.free_play)]
    found += [player.name for player in club.players if player.name != player.called]
    found += ["kept apart from", "keeps apart"]
    found += ["newer", "settled", "ahead of"] if any(player.even_up for player in club.players) else []
    for row in club.carried:
        found += [f"{role} due {due}" for role, due in (("attack", row.attack), ("defend", row.defend)) if due]
    shown = {player.called for player in club.players} | {player.id for player in club.players}
    shown |= {club.name, *(team.id for team in club.teams), *(coach.name for coach in club.coaches)}
    return [text for text in dict.fromkeys(found) if len(text) >= LEAST_LENGTH and text not in shown]


def _parts(path: Path) -> dict[str, str]:
    """The readable parts of a file by name: a zip's members, else the file itself; marks removed, entities resolved."""
    if zipfile.is_zipfile(path):
        with zipfile.ZipFile(path) as package:
            raw = {f"{path.name}:{name}": package.read(name) for name in package.namelist()}
    else:
        raw = {path.name: path.read_bytes()}
    texts = {}
    for name, data in raw.items():
        text = unescape(data.decode("utf-8", "replace"))
        folded = re.sub(r"\r?\n[ \t]", "", text) if name.endswith(".ics") else text
        texts[name] = folded + "\n" + re.sub(r"<[^>]*>", "", folded)
    return texts


def find_in_file(path: Path, values: list[str]) -> list[str]:
    """`part: value` for every value found in any part of a file, whatever its case; empty where the file is clean."""
    found = []
    for name, text in _parts(path).items():
        low = text.casefold()
        for value in values:
            if re.search(rf"(?<!\w){re.escape(value.casefold())}(?!\w)", low):
                found.append(f"{name}: {value}")
    return found
