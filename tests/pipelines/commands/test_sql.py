"""`rangeledger sql`."""

from __future__ import annotations

from rangeledger.pipelines.main import app
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.made_home import ADA


def test_an_answer_without_rows_says_how_names_are_written(made_home: Home) -> None:
    def asked(player: str, *words: str):
        query = f"SELECT carry_yd FROM carry_in('{player}', '7-iron', headwind := 4)"
        return CliRunner().invoke(app, ["--home", str(made_home.root), "sql", query, *words])

    assert "No row answers that. Players and clubs are written out" in asked("ada").stderr
    assert asked("ada", "--format", "csv").stderr == ""
    assert asked(ADA).stderr == ""
    assert asked(ADA).exit_code == asked("ada").exit_code == 0
