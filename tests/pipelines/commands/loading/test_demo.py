"""`rangeledger demo`, run again in its own home."""

from __future__ import annotations

import pytest
from rangeledger.pipelines.main import app
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

pytestmark = [pytest.mark.prefect, pytest.mark.slow]


def test_it_ends_with_narrow_tables_of_carry_and_what_to_ask_next(demo_home: Home) -> None:
    answer = CliRunner().invoke(app, ["--home", str(demo_home.root), "demo"])
    assert answer.exit_code == 0
    assert "in this home already" in answer.stderr
    tables, _, rest = answer.stdout.partition("The database: ")
    assert tables.count("carry in still air") == 5
    assert max(map(len, tables.splitlines())) <= 100
    assert "rangeledger --home" in rest
