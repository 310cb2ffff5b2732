"""What the README prints is what the program prints. `python -m tests.test_readme` writes the printed parts anew."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from cli import main
from constraints import RULES
from scheduler import errors

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
OUTPUT = re.compile(
    r"(<!-- output: evenweek (?P<command>[^\n]*) -->\n)```\n(?P<printed>.*?)```\n<!-- end -->", re.DOTALL
)
RULES_PART = re.compile(r"<!-- rules -->\n(?P<rules>.*?)<!-- end -->", re.DOTALL)


def rules_table() -> str:
    rows = [f"| {r.name} | {'firm' if r.firm else 'wish'} | {r.words} | {r.source} |\n" for r in RULES]
    return "| rule | firm or wish | holds | source |\n| --- | --- | --- | --- |\n" + "".join(rows)


def printed(command: str, folder: Path) -> str:
    """Stdout of a command run in the root; what it writes goes to `folder`, shown as the README's reader sees it."""
    arguments = shlex.split(command)
    arguments = [str(ROOT / word) if word.startswith("examples/") else word for word in arguments]
    if arguments[0] == "plan":
        arguments += ["-o", str(folder / "week")]
    result = CliRunner().invoke(main, arguments)
    shown = result.stdout.replace(str(folder / "week"), "week-folder").replace(str(ROOT) + "/", "")
    return shown if shown.endswith("\n") else shown + "\n"


def test_rules_of_the_readme_are_the_rules() -> None:
    found = RULES_PART.search(README.read_text())
    assert found is not None
    assert found["rules"] == rules_table()


def test_readme_has_output() -> None:
    assert OUTPUT.search(README.read_text()) is not None


@pytest.mark.parametrize("part", list(OUTPUT.finditer(README.read_text())), ids=lambda part: part["command"])
def test_output_of_the_readme_is_real(part: re.Match[str], tmp_path: Path) -> None:
    assert part["printed"] == printed(part["command"], tmp_path)


def test_every_command_stands_in_the_readme() -> None:
    text = README.read_text()
    for name in main.commands:
        assert f"`evenweek {name}" in text, name


def test_exit_codes_of_the_readme() -> None:
    """0 done, 2 usage, 3 input, 4 no plan, 5 out of time, 6 breaches; 1 never on purpose but for our own defect."""
    codes = {int(code) for code in re.findall(r"^\| (\d) \|", README.read_text(), re.MULTILINE)}
    assert codes == {0, 2, 3, 4, 5, 6}
    assert errors.InputFaults.exit_code == 3
    assert errors.UsageFault.exit_code == 2


def test_ci_runs_the_readme_test_command() -> None:
    commands = [line for line in README.read_text().splitlines() if line.startswith("python3 -m venv")]
    assert len(commands) == 2
    assert commands[1] in (ROOT / ".ci" / "run").read_text().splitlines()


def rewrite() -> None:
    import tempfile

    text = README.read_text()
    text = RULES_PART.sub(lambda _: f"<!-- rules -->\n{rules_table()}<!-- end -->", text)

    def fresh(part: re.Match[str]) -> str:
        with tempfile.TemporaryDirectory() as folder:
            return f"{part[1]}```\n{printed(part['command'], Path(folder))}```\n<!-- end -->"

    README.write_text(OUTPUT.sub(fresh, text))


if __name__ == "__main__":
    rewrite()
