"""`rangeledger export`."""

from __future__ import annotations

import json
from pathlib import Path

import polars as pl
import pytest
from rangeledger.pipelines.main import app
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.made_home import ADA


def run(home: Home, *words: str | Path) -> tuple[int, str, str]:
    done = CliRunner().invoke(app, ["--home", str(home.root), "export", *map(str, words)])
    return done.exit_code, done.stdout, done.stderr


def test_models_go_to_the_file_or_folder_that_was_named(made_home: Home, tmp_path: Path) -> None:
    _, printed, _ = run(made_home, "--player", "ada")
    for place, file in ((tmp_path, "models.json"), (tmp_path / "new" / "ada.json", "new/ada.json")):
        code, told, _ = run(made_home, "--player", "ada", "--out", place)
        assert code == 0
        assert told.strip() == str(tmp_path / file)
        assert json.loads((tmp_path / file).read_text()) == json.loads(printed)


@pytest.mark.parametrize(("form", "read"), [("csv", pl.read_csv), ("parquet", pl.read_parquet)])
def test_rows_go_to_a_file_too(
    made_home: Home, tmp_path: Path, form: str, read: type[pl.DataFrame]
) -> None:
    assert run(made_home, "--out", tmp_path, "--format", form)[0] == 0
    assert run(made_home, "--out", tmp_path / f"by_its_ending.{form}")[0] == 0
    for name in ("models", "by_its_ending"):
        assert ADA in read(tmp_path / f"{name}.{form}")["player"].to_list()


def test_a_table_is_not_written(made_home: Home, tmp_path: Path) -> None:
    code, _, told = run(made_home, "--out", tmp_path, "--format", "table")
    assert code == 2
    assert "--format json, csv or parquet" in told


@pytest.mark.parametrize("command", ["export", "report"])
def test_an_empty_name_is_not_everybody(made_home: Home, tmp_path: Path, command: str) -> None:
    words = ["--home", str(made_home.root), command, "--player", "", "--out", str(tmp_path)]
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 2
    assert "Use one of: " in done.stderr
    assert list(tmp_path.iterdir()) == []
