"""A week folder appears whole or not at all, and the former one is never lost."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from scheduler.errors import FolderExists
from scheduler.folder.swap import before_of, finish, recover, refuse_existing, write_whole

ROOT = Path(__file__).resolve().parents[2]
FILES = ("plan.json", "a.txt", "b.txt", "c.txt")


def fill(text: str, folder: Path) -> None:
    for name in FILES:
        (folder / name).write_text(text)


def whole(folder: Path) -> str:
    """The one text that every file of a whole folder holds."""
    assert sorted(file.name for file in folder.iterdir()) == sorted(FILES), folder
    texts = {(folder / name).read_text() for name in FILES}
    assert len(texts) == 1, texts
    return texts.pop()


def beside(folder: Path) -> set[str]:
    return {path.name for path in folder.parent.iterdir()}


def write(folder: Path, text: str, replace: bool = False) -> None:
    write_whole(folder, lambda new: fill(text, new), replace=replace)


def test_an_existing_folder_is_refused_and_untouched(tmp_path: Path) -> None:
    folder = tmp_path / "week"
    write(folder, "1")
    with pytest.raises(FolderExists, match="--replace"):
        write(folder, "2")
    assert whole(folder) == "1"
    assert beside(folder) == {"week"}


def test_one_old_copy_is_kept(tmp_path: Path) -> None:
    folder = tmp_path / "week"
    for text in ("1", "2", "3"):
        write(folder, text, replace=True)
    assert (whole(folder), whole(before_of(folder))) == ("3", "2")
    assert beside(folder) == {"week", "week.before"}


def test_an_error_while_filling_changes_nothing(tmp_path: Path) -> None:
    folder = tmp_path / "week"
    write(folder, "1")

    def broken(new: Path) -> None:
        (new / "a.txt").write_text("half")
        raise RuntimeError("out of paper")

    with pytest.raises(RuntimeError, match="out of paper"):
        write_whole(folder, broken, replace=True)
    assert whole(folder) == "1"
    assert beside(folder) == {"week"}


def test_a_folder_that_is_no_week_folder_is_left_alone(tmp_path: Path) -> None:
    folder = tmp_path / "week"
    folder.mkdir()
    (folder / "holiday.jpg").write_text("x")
    with pytest.raises(FolderExists, match="not a week folder"):
        write(folder, "1", replace=True)
    assert (folder / "holiday.jpg").read_text() == "x"
    file = tmp_path / "notes"
    file.write_text("mine")
    with pytest.raises(FolderExists):
        refuse_existing(file, replace=True)


@pytest.mark.parametrize(
    ("there", "after"),
    [
        # the states between the four renames of a replacement, and what recovery makes of each
        ({"week": "2", "week.before": "1", ".week.part-9": "3"}, {"week": "2", "week.before": "1"}),
        ({"week": "2", "week.before": "1", ".week.ready": "3"}, {"week": "2", "week.before": "1"}),
        ({"week": "2", ".week.gone": "1", ".week.ready": "3"}, {"week": "2", "week.before": "1"}),
        ({"week.before": "2", ".week.gone": "1", ".week.ready": "3"}, {"week": "3", "week.before": "2"}),
        ({"week": "3", "week.before": "2", ".week.gone": "1"}, {"week": "3", "week.before": "2"}),
        ({".week.ready": "1"}, {"week": "1"}),
    ],
)
def test_recovery_from_every_state_between_two_renames(
    there: dict[str, str], after: dict[str, str], tmp_path: Path
) -> None:
    for name, text in there.items():
        (tmp_path / name).mkdir()
        fill(text, tmp_path / name)
    recover(tmp_path / "week")
    assert {path.name: whole(path) for path in tmp_path.iterdir()} == after


def test_a_reader_finishes_but_deletes_nothing(tmp_path: Path) -> None:
    for name, text in {".week.ready": "3", ".week.gone": "1", ".week.part-1": "x"}.items():
        (tmp_path / name).mkdir()
        fill(text, tmp_path / name)
    finish(tmp_path / "week")
    assert {path.name for path in tmp_path.iterdir()} == {"week", ".week.gone", ".week.part-1"}


WRITER = """
import sys, pathlib
from scheduler.folder.swap import write_whole
folder, number = pathlib.Path(sys.argv[1]), int(sys.argv[2])
def fill(new):
    for name in ("plan.json", "a.txt", "b.txt", "c.txt"):
        (new / name).write_text(str(number))
print("ready", flush=True)
while True:
    number += 1
    write_whole(folder, fill, replace=True)
"""


def test_a_kill_at_any_moment_leaves_the_old_or_the_new(tmp_path: Path) -> None:
    """50 writers are killed at random moments; each time one whole folder and at most one whole old copy remain."""
    folder = tmp_path / "week"
    write(folder, "0")
    moments = random.Random(7)
    last = 0
    for _ in range(50):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(folder), str(last)], cwd=ROOT, stdout=subprocess.PIPE
        )
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"ready\n"
        time.sleep(moments.uniform(0, 0.02))
        writer.kill()
        writer.wait()
        writer.stdout.close()
        finish(folder)  # what any reader does first
        now = int(whole(folder))
        assert now >= last
        recover(folder)
        assert int(whole(folder)) == now
        if now > 0:
            assert int(whole(before_of(folder))) == now - 1
        assert beside(folder) <= {"week", "week.before"}
        last = now
    assert last > 0
