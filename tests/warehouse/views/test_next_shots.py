"""The SQL macro that draws next shots, against draws of the same distribution in Python."""

from __future__ import annotations

from collections.abc import Iterator

import duckdb
import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.shot_distribution import carry_below, draw_next_shots
from rangeledger.warehouse.home import Home
from scipy import stats

from tests.made_home import ADA
from tests.two_samples import energy_test

CLUB = "9-iron"


@pytest.fixture(scope="module")
def database(made_home: Home) -> Iterator[duckdb.DuckDBPyConnection]:
    with duckdb.connect(str(made_home.database), read_only=True) as connection:
        yield connection


def drawn(database: duckdb.DuckDBPyConnection, shots: int, seed: int = 1) -> pl.DataFrame:
    return database.execute(
        "SELECT * FROM next_shots($1, $2, shots := $3, seed := $4)", [ADA, CLUB, shots, seed]
    ).pl()


def fitted(database: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    return database.execute(
        "SELECT * FROM shot_distribution WHERE player = $1 AND club = $2", [ADA, CLUB]
    ).pl()


def test_landings_have_the_fitted_distribution(database: duckdb.DuckDBPyConnection) -> None:
    sql = drawn(database, 3000).select("carry_m", "side_m").to_numpy()
    python = draw_next_shots(fitted(database), 3000, random_state=5)
    assert energy_test(sql, python.select("carry_m", "side_m").to_numpy()).p_value > 0.01


def test_carry_follows_the_distribution_function(database: duckdb.DuckDBPyConnection) -> None:
    # The fitted distribution function, solved elsewhere; Kolmogorov's distance of 20,000 draws
    # stays below 1.63 / sqrt(n) = 0.0115 in 99 of 100 cases.
    parameters = fitted(database)
    carry = np.sort(drawn(database, 20_000)["carry_m"].to_numpy())
    below = [float(carry_below(parameters, np.array([value]))[0]) for value in carry[::200]]
    assert np.abs(np.array(below) - np.arange(0, 20_000, 200) / 20_000).max() < 0.0115


def test_mishits_come_at_their_rate_and_scatter_as_a_t(
    database: duckdb.DuckDBPyConnection,
) -> None:
    (row,) = fitted(database).to_dicts()
    shots = drawn(database, 40_000, seed=4)
    missed = shots.filter(pl.col("strike") == "mishit")
    rate = row["mishit_rate"]
    error = np.sqrt(rate * (1.0 - rate) / 40_000)
    assert missed.height / 40_000 == pytest.approx(rate, abs=3.0 * error)
    scaled = (missed["side_m"].to_numpy() - row["side_m"]) / row["mishit_side_scale_m"]
    assert stats.kstest(scaled, stats.t(3).cdf).pvalue > 0.001


def test_same_seed_same_shots_and_the_columns_promised(
    database: duckdb.DuckDBPyConnection,
) -> None:
    assert drawn(database, 50).equals(drawn(database, 50))
    assert not drawn(database, 50).equals(drawn(database, 50, seed=2))
    assert drawn(database, 5).columns == [
        "player", "club", "swing", "ball", "shot_number",
        "carry_m", "carry_yd", "side_m", "side_yd", "strike",
    ]  # fmt: skip
    assert drawn(database, 7)["shot_number"].to_list() == [1, 2, 3, 4, 5, 6, 7]


def test_the_macro_is_commented(database: duckdb.DuckDBPyConnection) -> None:
    found = database.execute(
        "SELECT comment FROM duckdb_functions() WHERE function_name = 'next_shots'"
    ).fetchone()
    assert found is not None
    assert "landing points" in found[0]


@pytest.mark.parametrize("alias", ["a", "c", "d", "t", "x", "z"])
@pytest.mark.parametrize("named", ["{0}.player, {0}.club", "player, club"])
def test_columns_can_be_arguments_of_the_macros_under_any_alias(
    database: duckdb.DuckDBPyConnection, alias: str, named: str
) -> None:
    asked = f"(SELECT DISTINCT player, club FROM carry_by_club) AS {alias}"
    given = named.format(alias)
    carries = database.execute(
        f"SELECT count(*) FROM {asked}, LATERAL (FROM carry_in({given}, headwind := 2)) AS found"
    ).fetchone()
    shots = database.execute(
        f"SELECT count(*) FROM {asked}, LATERAL (FROM next_shots({given}, shots := 3)) AS found"
    ).fetchone()
    groups = database.execute("SELECT count(*), 3 * count(*) FROM carry_by_club").fetchone()
    assert carries is not None
    assert shots is not None
    assert (carries[0], shots[0]) == groups


def test_each_row_can_ask_the_macro_for_its_own_wind(database: duckdb.DuckDBPyConnection) -> None:
    row = database.execute(
        "SELECT sum(c.carry_m - still.carry_m < 0) = count(*) FROM sessions AS s,"
        " LATERAL (FROM carry_in(s.player, $1, headwind := 1 + abs(s.head_wind_mps))) AS c,"
        " LATERAL (FROM carry_in(s.player, $1)) AS still"
        " WHERE c.swing = still.swing AND c.ball = still.ball",
        [CLUB],
    ).fetchone()
    assert row == (True,)
