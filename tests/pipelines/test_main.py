from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from rangeledger.pipelines.main import COMMANDS, app, main
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.readme import README

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
    code = "import sys, rangeledger.pipelines.main; print([m for m in sys.modules])"
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


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--ball-speed-mps", "53,5"], "--ball-speed-mps '53,5' is not a number; write 53.5."),
        (["--ball-speed-mps", "fast"], "--ball-speed-mps 'fast' is not a number."),
        (["--wind-height", "roof"], "--wind-height: 'roof' is not one of"),
    ],
)
def test_a_wrong_value_is_told_in_a_sentence(words: list[str], sentence: str) -> None:
    launch = ["--ball-speed-mps", "50", "--launch-angle-deg", "15", "--spin-rate-rpm", "5000"]
    answer = run.invoke(app, ["flight", *launch, *words])
    assert answer.exit_code == 2
    assert answer.stderr.startswith(f"rangeledger: {sentence}")


def test_a_value_beyond_its_limit_is_told_with_the_limit() -> None:
    answer = run.invoke(app, ["simulate", "--shots", "-3"])
    assert answer.exit_code == 2
    assert answer.stderr == "rangeledger: --shots -3 can't be; give at least 1.\n"


def test_a_machine_without_unix_locks_is_told_in_a_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("rangeledger.pipelines.main.os.name", "nt")
    with pytest.raises(SystemExit, match="3"):
        main()
    assert capsys.readouterr().err.startswith("rangeledger: Linux or another Unix is needed")


def test_the_version_is_told() -> None:
    answer = run.invoke(app, ["--version"])
    assert answer.exit_code == 0
    assert answer.output.startswith("rangeledger ")


@pytest.mark.parametrize("words", [["report"], ["export"], ["target", "HOLE"], ["sql", "SELECT 1"]])
def test_a_home_without_a_database_is_wrong_usage(words: list[str], home: Home) -> None:
    hole = README.parent / "sample_exports" / "courses" / "alder_meadow_3.toml"
    answer = run.invoke(
        app, ["--home", str(home.root), *(str(hole) if w == "HOLE" else w for w in words)]
    )
    assert answer.exit_code == 2
    assert "Run 'rangeledger ingest' or 'rangeledger demo' first" in answer.stderr


def test_a_reader_that_goes_away_is_no_fault(tmp_path: Path) -> None:
    call = f"{sys.executable} -m rangeledger --home {tmp_path} status; echo ended $? >&2"
    told = subprocess.run(
        ["sh", "-c", f"({call}) | true"], capture_output=True, text=True, check=True
    )
    assert told.stderr.strip().endswith("ended 0")


def test_an_empty_home_is_not_the_folder_at_hand(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    answer = run.invoke(app, ["--home", "", "status"])
    assert answer.exit_code == 2
    assert "--home is empty" in answer.stderr
    assert list(tmp_path.iterdir()) == []
