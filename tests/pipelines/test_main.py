from __future__ import annotations

import re
import subprocess
import sys

import pytest
from typer.testing import CliRunner

from pipelines.main import COMMANDS, app
from tests.readme import README
from warehouse.home import Home

run = CliRunner()
# The contract's section 5, and what it leaves to us.
PROMISED = (
    "demo ingest inspect sql fit status rebuild flight compare watch serve target report simulate"
)


def test_the_promised_commands_are_there() -> None:
    assert set(PROMISED.split()) <= set(COMMANDS)


def test_help_lists_every_command_with_its_line() -> None:
    text = run.invoke(app, ["--help"]).output
    for name, (_, line) in COMMANDS.items():
        assert re.search(rf"^  {name}\s+{re.escape(line.split()[0])}", text, re.MULTILINE)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(name: str) -> None:
    answer = run.invoke(app, [name, "--help"])
    assert answer.exit_code == 0
    assert "Example" in answer.output
    assert f"rangeledger {name}" in answer.output or f" {name}" in answer.output


@pytest.mark.parametrize(
    "words", [["nonsense"], ["sql"], ["ingest", "--format", "xml"], ["--hom", "x", "status"]]
)
def test_wrong_usage_is_exit_code_2(words: list[str]) -> None:
    answer = run.invoke(app, words)
    assert answer.exit_code == 2
    assert "Traceback" not in answer.output


def test_an_error_is_one_plain_sentence(home: Home) -> None:
    answer = run.invoke(app, ["--home", str(home.root), "sql", "SELECT 1"])
    assert answer.exit_code == 2
    assert answer.stderr.startswith("rangeledger: There is no database")


def test_a_path_that_does_not_exist_is_wrong_usage(home: Home) -> None:
    answer = run.invoke(app, ["--home", str(home.root), "ingest", "nowhere.csv"])
    assert answer.exit_code == 2
    assert "Name a file or a folder that exists" in answer.stderr


def test_starting_the_command_line_imports_nothing_heavy() -> None:
    code = "import sys, pipelines.main; print([m for m in sys.modules])"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout
    heavy = ["prefect", "great_expectations", "pandas", "sklearn", "numba", "scipy", "polars"]
    assert [name for name in heavy if f"'{name}'" in loaded] == []


@pytest.mark.parametrize(
    "words", [["target", "hole.toml"], ["simulate"], ["flight", "--ball-speed-mps", "50"]]
)
def test_conditions_that_can_not_be_are_refused_by_name(words: list[str]) -> None:
    if words[0] == "target":
        words[1] = str(README.parent / "sample_exports" / "courses" / "alder_meadow_3.toml")
    if words[0] == "flight":
        words += ["--launch-angle-deg", "15", "--spin-rate-rpm", "5000"]
    answer = run.invoke(app, [*words, "--wind-speed-mps", "99"])
    assert answer.exit_code == 2
    assert "--wind-speed-mps 99 can't be; give 0 to 40 m/s" in answer.stderr
