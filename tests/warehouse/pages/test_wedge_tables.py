"""The wedge for each distance in the words and units of a page."""

from __future__ import annotations

import polars as pl

from warehouse.pages.units import METRES
from warehouse.pages.wedge_tables import wedge_rows, wedges_that_fit


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
