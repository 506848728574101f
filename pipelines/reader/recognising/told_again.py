"""Tables that give the shots of another table again, in other units or another order of columns."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl
from rangeledger.pipelines.reader.recognising.table_shots import TableShots

# Rounding of either table, as part of the value and in canonical units; common practice, no source.
_NEAR, _NEARLY_NOTHING = 0.002, 0.06
_FEWEST_SHOTS, _FEWEST_COLUMNS = 3, 3
_TELLING = (
    "ball_speed_mps", "clubhead_speed_mps", "launch_angle_deg", "spin_rate_rpm", "carry_m",
    "total_m",
)  # fmt: skip


def told_again(tables: Sequence[TableShots]) -> list[TableShots]:
    """Tables of which an earlier one has every shot, row by row.

    Parameters
    ----------
    tables : sequence of TableShots
        What the tables of an export gave, each with headings of its own.

    Returns
    -------
    list of TableShots
        Those that say nothing new; empty for an export that has one table.
    """
    return [
        table
        for place, table in enumerate(tables)
        if any(_is_same(table.frame, other.frame) for other in tables[:place])
    ]


def _is_same(one: pl.DataFrame, two: pl.DataFrame) -> bool:
    if one.height != two.height or one.height < _FEWEST_SHOTS:
        return False
    if not (one["club"].equals(two["club"]) and one["player"].equals(two["player"])):
        return False
    shared = [n for n in _TELLING if n in one.columns and n in two.columns]
    known = [n for n in shared if not one[n].null_count() and not two[n].null_count()]
    varied = [n for n in known if one[n].n_unique() > 1]
    return len(varied) >= _FEWEST_COLUMNS and all(_is_near(one[n], two[n]) for n in known)


def _is_near(one: pl.Series, two: pl.Series) -> bool:
    return bool(((one - two).abs() <= _NEAR * one.abs() + _NEARLY_NOTHING).all())
