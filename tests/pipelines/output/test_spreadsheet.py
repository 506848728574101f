from __future__ import annotations

import polars as pl
import pytest
from rangeledger.pipelines.main import app
from rangeledger.pipelines.output.spreadsheet import safe_for_spreadsheets
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner


@pytest.mark.parametrize("begins", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "＝1+1"])
def test_text_that_begins_a_formula_is_kept_as_text(begins: str) -> None:
    rows = pl.DataFrame({"club": [begins, "7-iron", None, "a=b"], "carry_m": [-1.5, 2.0, 3.0, 4.0]})
    safe = safe_for_spreadsheets(rows)
    assert safe["club"].to_list() == ["'" + begins, "7-iron", None, "a=b"]
    assert safe["carry_m"].to_list() == [-1.5, 2.0, 3.0, 4.0]


def test_a_heading_is_kept_from_being_a_formula_too() -> None:
    assert safe_for_spreadsheets(pl.DataFrame({"=1+1": ["a"]})).columns == ["'=1+1"]


def test_the_command_escapes_when_told_and_only_csv(published_home: Home) -> None:
    asked = ["--home", str(published_home.root), "sql", "SELECT '=1+1' AS a, -2.5 AS b"]
    csv = [*asked, "--format", "csv"]
    assert CliRunner().invoke(app, csv).stdout == "a,b\n=1+1,-2.5\n"
    assert CliRunner().invoke(app, [*csv, "--for-spreadsheet"]).stdout == "a,b\n'=1+1,-2.5\n"
    refused = CliRunner().invoke(app, [*asked, "--for-spreadsheet"])
    assert refused.exit_code == 2
    assert "Add --format csv" in refused.stderr
