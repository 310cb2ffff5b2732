"""Types, lint and format are part of the tests, so that one command says whether the tree is clean."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.mark.parametrize(
    "arguments",
    [
        ["ruff", "check", "--no-cache", "."],
        ["ruff", "format", "--check", "--no-cache", "."],
        ["mypy", "--cache-dir", "/dev/null", "-p", "scheduler", "-p", "constraints", "-m", "cli"],
    ],
    ids=["lint", "format", "types"],
)
def test_tree_is_clean(arguments: list[str]) -> None:
    done = subprocess.run([sys.executable, "-m", *arguments], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_modules_and_functions_stay_short() -> None:
    """About 250 lines a module and 40 a function are the aim; these are the hard ends."""
    import ast

    for folder in ("scheduler", "constraints"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            text = path.read_text()
            assert len(text.splitlines()) <= 300, path
            for node in ast.walk(ast.parse(text)):
                if isinstance(node, ast.FunctionDef):
                    assert (node.end_lineno or 0) - node.lineno < 60, f"{path}: {node.name}"


def test_no_module_is_named_for_nothing() -> None:
    banned = {"utils", "util", "helpers", "misc", "common", "stuff"}
    for folder in ("scheduler", "constraints"):
        for path in (ROOT / folder).rglob("*.py"):
            assert path.stem not in banned, path
