"""`rangeledger sql`."""

from __future__ import annotations

import subprocess
import sys

import pytest
from polars.testing import assert_frame_equal
from rangeledger.pipelines.main import app
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.published import published
from rangeledger.warehouse.query_rows import plain_rows, query_rows
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


@pytest.mark.parametrize(
    "query",
    [
        "SELECT player, club, shots, carry_yd, carry_sd_yd FROM carry_by_club ORDER BY ALL",
        "SELECT started_at, started_at::DATE AS day, excluded, shots FROM sessions ORDER BY ALL",
        "SELECT true AS yes, 1::UTINYINT AS one, 2.5::FLOAT AS f, NULL::BIGINT AS none",
        "SELECT player FROM carry_by_club WHERE false",
    ],
)
def test_rows_of_plain_types_are_those_that_the_longer_way_gives(
    query: str, made_home: Home
) -> None:
    with published(made_home) as connection:
        plain = plain_rows(connection.sql(query))
        assert plain is not None
        assert_frame_equal(plain, query_rows(connection.execute(query)))


@pytest.mark.parametrize("query", ["SELECT 1 AS a, 2 AS a", "SELECT INTERVAL 1 DAY AS a"])
def test_rows_that_a_frame_does_not_take_as_they_are_go_the_longer_way(
    query: str, made_home: Home
) -> None:
    with published(made_home) as connection:
        assert plain_rows(connection.sql(query)) is None
    assert CliRunner().invoke(app, ["--home", str(made_home.root), "sql", query]).exit_code == 0


def test_a_query_that_fails_amid_its_rows_tells_why(made_home: Home) -> None:
    late = "SELECT CAST(IF(range = 500000, 'q', '1') AS INTEGER) AS a FROM range(1000000)"
    answer = CliRunner().invoke(app, ["--home", str(made_home.root), "sql", late])
    assert "can't be answered: Conversion Error: Could not convert string 'q'" in answer.stderr
    assert answer.exit_code == 2


def test_a_plain_question_waits_for_no_library_that_it_does_not_need(made_home: Home) -> None:
    words = ["--home", str(made_home.root), "sql", "SELECT player, carry_yd FROM carry_by_club"]
    code = (
        "import sys; from rangeledger.pipelines.main import app\n"
        f"app({words!r}, standalone_mode=False)\n"
        "print({'pyarrow', 'numpy', 'scipy', 'pandas'} & set(sys.modules))"
    )
    ran = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert ran.stdout.splitlines()[-1] == "set()"
