"""Names typed on the command line turned into ids, with close ones suggested where none fits."""

from __future__ import annotations

import difflib
from collections.abc import Mapping

from scheduler.club.club import Club
from scheduler.errors import UsageFault


def fold(name: str) -> str:
    """A name without regard to case and blanks."""
    return " ".join(name.casefold().split())


def known(text: str, names: Mapping[str, str], what: str, sheet: str) -> str:
    """The id behind a name in any case; UsageFault with up to three close names."""
    folded = {fold(name): key for name, key in names.items()}
    if fold(text) in folded:
        return folded[fold(text)]
    shown = {fold(name): name for name in names}
    close = [shown[near] for near in difflib.get_close_matches(fold(text), list(folded), n=3, cutoff=0.5)]
    hint = f", did you mean {' or '.join(close)}?" if close else f"; write one as it stands on the sheet {sheet}"
    raise UsageFault(f"there is no {what} '{text}'{hint}")


def people(club: Club, text: str) -> tuple[str, ...]:
    """The players and coaches a name stands for: an id, a full name, a card name, or every player of a team."""
    asked = fold(text)
    teams = [team.id for team in club.teams if fold(team.id) == asked]
    everybody = [(row.id, row.name) for row in club.players] + [(row.id, row.name) for row in club.coaches]
    ids = [key for key, _ in everybody if fold(key) == asked]
    names = [key for key, name in everybody if fold(name) == asked]
    names += [player.id for player in club.players if fold(player.called) == asked and player.id not in names]
    found = ids or names
    if len(found) > 1:
        listed = " or ".join(_which(club, key) for key in found[:4])
        raise UsageFault(f"'{text}' may be {listed}; write the id")
    if found:
        return (found[0],)
    if teams:
        return tuple(player.id for player in club.players if player.team == teams[0])
    every = {name: key for key, name in everybody} | {key: key for key, _ in everybody}
    every |= {player.called: player.id for player in club.players}
    known(text, every, "player, coach or team", "Players, Coaches or Teams")
    return ()


def _which(club: Club, key: str) -> str:
    return f"{key} ({club.player(key).team})" if club.has("player", key) else key


def pitch_zones(club: Club, text: str) -> tuple[str, tuple[int, ...]]:
    """`North`, `North:2` or `North:1;2` as a pitch and zones; a pitch's own name may hold a colon."""
    names = {pitch.id: pitch.id for pitch in club.pitches}
    if fold(text) in {fold(name) for name in names}:
        return known(text, names, "pitch", "Pitches"), ()
    name, colon, listed = text.rpartition(":")
    pitch = known(name if colon else text, names, "pitch", "Pitches")
    if not colon:
        return pitch, ()
    most = club.pitch(pitch).zones
    words = listed.replace(",", ";").replace(" ", ";").split(";")
    zones = {int(word) for word in words if word.isdecimal()}
    if not zones or not all(word.isdecimal() for word in words if word) or not zones <= set(range(1, most + 1)):
        raise UsageFault(f"--closed {text}: {pitch} has the zones 1 to {most}, write for example {pitch}:1;{most}")
    return pitch, tuple(sorted(zones))
