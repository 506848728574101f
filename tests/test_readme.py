from __future__ import annotations

import pytest
from rangeledger.pipelines.main import COMMANDS, app
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.readme import README, Shown, shown, tidy

TEXT = README.read_text(encoding="utf-8")


@pytest.mark.slow
@pytest.mark.prefect
@pytest.mark.parametrize("part", shown(TEXT), ids=lambda part: part.command[:60])
def test_the_readme_shows_what_its_commands_print(
    part: Shown, demo_home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Where tests run side by side, each process is told the width of the terminal.
    monkeypatch.delenv("COLUMNS", raising=False)
    answer = CliRunner().invoke(app, ["--home", str(demo_home.root), *part.words])
    assert answer.exit_code == 0, answer.output
    assert tidy(answer.stdout) == tidy(part.output)


def test_there_are_at_least_five_queries() -> None:
    assert sum(part.words[0] == "sql" for part in shown(TEXT)) >= 5


def test_every_command_is_named_in_the_readme() -> None:
    missing = [name for name in COMMANDS if f"rangeledger {name}" not in TEXT]
    assert missing == []


def test_the_readme_opens_with_the_job_and_stays_readable() -> None:
    lines = TEXT.splitlines()
    assert lines[0].startswith("# ")
    first = TEXT.split("\n\n")[1]
    assert "\n#" not in first
    assert 40 < len(first.split()) < 160
    assert len(lines) <= 200
