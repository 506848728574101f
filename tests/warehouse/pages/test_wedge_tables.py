"""The wedge for each distance in the words and units of a page."""

from __future__ import annotations

import polars as pl
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.pages.player_rows import player_rows, with_round_metres
from rangeledger.warehouse.pages.units import METRES
from rangeledger.warehouse.pages.wedge_tables import wedge_rows, wedges_that_fit
from rangeledger.warehouse.published import published

from tests.made_home import ADA


def test_wedges_are_told_only_where_one_fits_and_in_the_units_of_the_page() -> None:
    notes = [
        "shorter than the shortest: 58-wedge 9:00 (54 yd)",
        None,
        "between 58-wedge full (80 yd) and 54-wedge full (100 yd)",
        "longer than the longest: 54-wedge full (100 yd)",
    ]
    grid = pl.DataFrame(
        {
            "target_m": [30.0, 50.0, 82.0, 110.0],
            "rank": [1] * 4,
            "club": ["58-wedge"] * 4,
            "swing": ["full"] * 4,
            "carry_m": [49.0, 50.0, 73.0, 91.0],
            "expected_miss_m": [20.0, 3.0, 9.0, 20.0],
            "hole_note": notes,
        }
    )
    rows = wedge_rows(grid, METRES)
    assert [row["note"] for row in wedges_that_fit(rows)] == [
        "",
        "between 58° wedge (73 m) and 54° wedge (91 m)",
    ]


def test_a_page_in_metres_has_round_metres(made_home: Home) -> None:
    with published(made_home) as connection:
        rows = player_rows(connection, ADA)
        round_metres = with_round_metres(rows, connection)
    assert round_metres.wedges.columns == rows.wedges.columns
    fitting = wedges_that_fit(wedge_rows(round_metres.wedges, METRES))
    assert fitting
    assert all(int(row["target"]) % 5 == 0 for row in fitting)
    # The choice for a distance hardly depends on the unit it is asked in: 55 m are 60.1 yd.
    best = pl.col("rank") == 1
    asked = round_metres.wedges.filter(best, pl.col("target_m") == 55.0).row(0, named=True)
    near = rows.wedges.filter(best, (pl.col("target_m") - 54.864).abs() < 0.001).row(0, named=True)
    assert (asked["club"], asked["swing"]) == (near["club"], near["swing"])
