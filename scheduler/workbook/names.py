"""Who and what can be referred to, and turning what a cell says into ids, with the nearest name where none fits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from scheduler.workbook.rows import Findings, Row, Table, near


def fold(name: str) -> str:
    """A name without regard to case and blanks."""
    return " ".join(name.casefold().split())


@dataclass
class Names:
    """The ids of one kind of thing. `what` is the trade word, `sheet` where they stand."""

    what: str
    sheet: str
    ids: list[str] = field(default_factory=list)
    _found: dict[str, str] = field(default_factory=dict)
    _also: dict[str, str | None] = field(default_factory=dict)

    def add(self, key: str, other: str = "") -> bool:
        """Take in an id and another name for it; False where the id is there already (in any case)."""
        if fold(key) in self._found:
            return False
        self._found[fold(key)] = key
        self.ids.append(key)
        if other and fold(other) != fold(key):
            self._also[fold(other)] = None if fold(other) in self._also else key
        return True

    def find(self, name: str) -> str | None:
        """The id of a name: the id itself in any case, or another name that only one bears."""
        return self._found.get(fold(name)) or self._also.get(fold(name))


def names_of(table: Table | None, what: str, sheet: str, key: str, other: str, findings: Findings,
             repeated: bool = False) -> Names:  # fmt: skip
    """The ids of a table, blank ids read as the other name; a second row of one id is a fault unless `repeated`."""
    names = Names(what, sheet)
    rows: dict[str, Row] = {}
    for row in table.rows if table else ():
        name = row.get(key) or row.get(other)
        if not name:
            continue
        if not names.add(name, row.get(other, "")) and not repeated:
            first = rows[fold(name)].at(key if row.get(key) else other)
            cell = key if row.get(key) else other
            row.bad.add("id")
            hint = "give each its own"
            if cell == other != key:
                hint = f"give both an id of their own in {row.sheet.by_key[key].heading}"
            findings.add(row, cell, f"{what} '{name}' stands in {first} too, {hint}")
        rows.setdefault(fold(name), row)
    return names


def _unknown(row: Row, key: str, name: str, kinds: tuple[Names, ...], several: bool) -> str:
    column = row.sheet.by_key[key]
    sheets = " or ".join(dict.fromkeys(kind.sheet for kind in kinds))
    whats = " or ".join(dict.fromkeys(kind.what for kind in kinds))
    if column.private:
        return f"{column.heading}: names a {whats} that is not in {sheets}, write the id as it stands there"
    known = [known for kind in kinds for known in kind.ids]
    hint = near(name, known)
    listed = [part.strip() for part in name.split(",")] if several else [name]
    if len(listed) > 1 and any(kind.find(part) is not None for kind in kinds for part in listed):
        hint = f", separate several with ; such as {'; '.join(listed)}"
    elif not hint and len(listed) > 1:
        hint = ", separate several with ;"
    elif not hint and not known:
        hint = f", fill in {sheets} first"
    elif not hint:
        hint = f", write one as it stands there, such as {known[0]}"
    return f"{column.heading}: there is no {whats} '{name}' in {sheets}{hint}"


def refer(row: Row, key: str, findings: Findings, *kinds: Names) -> str | None:
    """The id a one-name cell refers to; None where blank or, with a fault, unknown."""
    name = row.get(key)
    if not name:
        return None
    found = next((known for kind in kinds if (known := kind.find(name)) is not None), None)
    if found is None:
        row.bad.add(key)
        findings.add(row, key, _unknown(row, key, name, kinds, several=False))
    return found


def refer_all(row: Row, key: str, findings: Findings, *kinds: Names) -> tuple[str, ...]:
    """The ids a list cell refers to, in order; unknown ones are faults."""
    found: list[str] = []
    for name in row.get(key, ()):
        known = next((known for kind in kinds if (known := kind.find(name)) is not None), None)
        if known is None:
            row.bad.add(key)
            findings.add(row, key, _unknown(row, key, name, kinds, several=True))
        else:
            found.append(known)
    return tuple(dict.fromkeys(found))


def called_names(given: Iterable[tuple[str, str, str]]) -> dict[str, str | None]:
    """Card names by id from (id, full name, name asked for): the first word, letters of what follows added on a clash.

    `Ivo Kane` and `Ivo Kovacs` become `Ivo Ka` and `Ivo Ko`. None where nothing but asking for a name can settle it.
    """
    entries = list(given)
    names: dict[str, str | None] = {key: asked for key, _, asked in entries if asked}
    taken = {fold(asked) for _, _, asked in entries if asked}
    open_ones = [(key, name.split()) for key, name, asked in entries if not asked]
    firsts: dict[str, list[tuple[str, list[str]]]] = {}
    for key, words in open_ones:
        firsts.setdefault(fold(words[0]), []).append((key, words))
    for same in firsts.values():
        for key, words in same:
            names[key] = _settled(words, [other for other_key, other in same if other_key != key], taken)
    return names


def _settled(words: list[str], others: list[list[str]], taken: set[str]) -> str | None:
    rest = "".join(words[1:])
    rests = ["".join(other[1:]).casefold() for other in others]
    if not others and fold(words[0]) not in taken:
        return words[0]
    if not rest:
        return words[0] if "" not in rests and fold(words[0]) not in taken else None
    for length in range(1, len(rest) + 1):
        cut = rest[:length]
        if all(not other.startswith(cut.casefold()) for other in rests) and fold(f"{words[0]} {cut}") not in taken:
            return f"{words[0]} {cut}"
    full = " ".join(words)
    return full if rest.casefold() not in rests and fold(full) not in taken else None
