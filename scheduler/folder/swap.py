"""A folder that appears whole or not at all, and a former one that is never lost, whenever the program is ended.

Beside a folder `week` there may stand, while it is being written: `.week.part-*` (half written, worthless),
`.week.ready` (whole, not yet in its place), `.week.gone` (an older copy on its way out) and `week.before` (the one
old copy that is kept). Every step from one state to the next is a single rename:

1. part -> ready        the new folder is whole from here on
2. before -> gone       makes room for the old copy
3. week -> before       from here until step 4 there is no `week`, but `ready` and `before` are both whole
4. ready -> week        done; `gone` is then deleted

`recover` finishes or undoes whatever an ended run left behind and is called before every write; before reading,
`finish` takes step 4 where it is missing.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

from scheduler.errors import FolderExists

PLAN_FILE = "plan.json"


def before_of(folder: Path) -> Path:
    """Where the one old copy of a week folder is kept."""
    return folder.with_name(f"{folder.name}.before")


def _ready(folder: Path) -> Path:
    return folder.with_name(f".{folder.name}.ready")


def _gone(folder: Path) -> Path:
    return folder.with_name(f".{folder.name}.gone")


def is_week_folder(folder: Path) -> bool:
    """Whether a folder is one that this program wrote (or an empty one, in which nothing can be lost)."""
    return folder.is_dir() and ((folder / PLAN_FILE).is_file() or not any(folder.iterdir()))


def refuse_existing(folder: Path, *, replace: bool = False) -> None:
    """Raise FolderExists where the week folder may not be written: it is there, or something else bears its name."""
    recover(folder)
    if not (folder.exists() or folder.is_symlink()):
        return
    if not replace:
        text = f"{folder} is there already; add --replace to put the new week in its place (the old one is kept aside)"
        raise FolderExists(text)
    for found in (folder, before_of(folder)):
        if found.exists() and not is_week_folder(found):
            raise FolderExists(f"{found} is not a week folder and is left alone; choose another folder with -o")


def finish(folder: Path) -> None:
    """Put a whole new folder in its place where a run was ended just before that; all that a reader may do."""
    ready = _ready(folder)
    if not folder.exists() and is_week_folder(ready):
        _rename(ready, folder)


def recover(folder: Path) -> None:
    """Bring the place of a week folder into a whole state after a run that was ended half way; harmless otherwise."""
    if not folder.parent.is_dir():
        return
    finish(folder)  # ended between steps 3 and 4, or just before a first folder took its place
    ready, gone, before = _ready(folder), _gone(folder), before_of(folder)
    if ready.exists():
        _drop(ready, folder)  # ended before step 3: the old folder still stands, and the new one is made again
    if gone.exists():
        if before.exists():
            _drop(gone, folder)
        else:
            os.rename(gone, before)  # ended between steps 2 and 3: the old copy goes back
    for part in sorted(folder.parent.glob(f".{_escaped(folder.name)}.part-*")):
        _delete(part)


def write_whole(folder: Path, fill: Callable[[Path], None], *, replace: bool = False) -> None:
    """Let `fill` write into an empty folder, then put that in the place of `folder`; on any error nothing changes.

    Raises FolderExists where the folder is there and `replace` is not set. One run a folder at a time.
    """
    refuse_existing(folder, replace=replace)
    folder.parent.mkdir(parents=True, exist_ok=True)
    part = folder.with_name(f".{folder.name}.part-{os.getpid()}")
    part.mkdir()
    try:
        fill(part)
        os.rename(part, _ready(folder))
    except BaseException:
        _delete(part)
        raise
    _take_place(folder)


def _take_place(folder: Path) -> None:
    ready, gone, before = _ready(folder), _gone(folder), before_of(folder)
    if folder.exists():
        if before.exists():
            os.rename(before, gone)
        os.rename(folder, before)
    _rename(ready, folder)
    if gone.exists():
        _drop(gone, folder)


def _rename(ready: Path, folder: Path) -> None:
    try:
        os.rename(ready, folder)
    except FileNotFoundError:
        if not folder.exists():  # else a reader has just finished the work in our place
            raise


def _drop(whole: Path, folder: Path) -> None:
    """Delete a whole folder; it is called worthless first, so that half of it is never taken for the whole."""
    part = folder.with_name(f".{folder.name}.part-{os.getpid()}-old")
    os.rename(whole, part)
    _delete(part)


def _delete(part: Path) -> None:
    shutil.rmtree(part, ignore_errors=True)


def _escaped(name: str) -> str:
    return "".join(f"[{letter}]" if letter in "*?[" else letter for letter in name)
