"""No text anywhere calls a load figure a risk or predicts what will happen to a child.

Why: ratios and sums of planned load have shown no useful power to foretell injuries (Impellizzeri and others, Sports
Med 2020: c-statistic 0.574 against 0.544 for random loads and 0.5 for chance), so a figure here is a description.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LOAD = re.compile(r"\b(load|loads|monotony|strain|rpe|session minutes|week minutes|hours a week)\b", re.IGNORECASE)
VERDICT = re.compile(
    r"\b(risk\w*|injur\w*|predict\w*|foretell\w*|danger\w*|unsafe|safe|harm\w*|overtrain\w*|compliant|red zone)\b",
    re.IGNORECASE,
)
DENIALS = {"Figures describe load; they predict nothing."}


def sentences(text: str) -> Iterator[str]:
    """The sentences of a text, its lines joined where they belong to one paragraph."""
    for paragraph in re.split(r"\n\s*\n|\n\s*[-|]", text):
        yield from (part.strip() for part in re.split(r"(?<=[.;:!?])\s+(?=[A-Z])", " ".join(paragraph.split())))


def texts(path: Path) -> Iterator[str]:
    """Everything a file says: of Python its strings (documentation too), else the whole of it."""
    if path.suffix != ".py":
        yield path.read_text(encoding="utf-8")
        return
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value
        elif isinstance(node, ast.JoinedStr):
            yield "".join(part.value if isinstance(part, ast.Constant) else "x" for part in node.values)


def offences(text: str) -> list[str]:
    return [one for one in sentences(text) if LOAD.search(one) and VERDICT.search(one) and one not in DENIALS]


FILES = sorted(
    [*ROOT.glob("*.md"), ROOT / "cli.py", *ROOT.glob("examples/*.md"), *ROOT.glob("examples/*/*.md"),
     *ROOT.glob("constraints/*.py"), *ROOT.glob("scheduler/**/*.py"), *ROOT.glob("scheduler/**/*.j2")]
)  # fmt: skip


def test_no_text_calls_a_load_a_risk() -> None:
    assert len(FILES) > 150
    found = [f"{path.relative_to(ROOT)}: {one}" for path in FILES for text in texts(path) for one in offences(text)]
    assert found == []


@pytest.mark.parametrize(
    "text",
    [
        "A week load above 1000 puts a child at risk.",
        "Monotony of 2.0\npredicts injuries.",
        "At an RPE of 9 it is unsafe.",
        "So many hours a week are a danger.",
    ],
)
def test_the_search_is_not_blind(text: str) -> None:
    assert offences(text) != []
