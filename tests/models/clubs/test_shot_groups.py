"""Shots numbered by player, group, session: any order in, one order out."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.shot_groups import group_shots, require_columns, sum_by
from rangeledger.schemas.errors import UsageError

from tests.models.synthetic_players import make_players

ROWS = [
    ("b", "7-iron", "s2", 1, 140.0),
    ("a", "driver", "s1", 2, 200.0),
    ("a", "driver", "s1", 1, 210.0),
    ("a", "7-iron", "s3", 1, 130.0),
    ("a", "driver", "s3", 2, 205.0),
    ("a", "putter", "s1", 3, 3.0),
]


def table(rows: list[tuple]) -> pl.DataFrame:
    names = ["player", "club", "session_id", "shot_number", "still_carry_m"]
    return pl.DataFrame(rows, schema=names, orient="row").with_columns(
        swing=pl.lit("full"), ball=pl.lit("premium")
    )


def test_numbers_by_hand() -> None:
    groups = group_shots(table(ROWS))
    assert groups.keys.select("player", "club", "shots", "sessions").rows() == [
        ("a", "7-iron", 1, 1), ("a", "driver", 3, 2), ("b", "7-iron", 1, 1),
    ]  # fmt: skip
    assert groups.row.tolist() == [3, 2, 1, 4, 0]
    assert groups.group_of_shot.tolist() == [0, 1, 1, 1, 2]
    assert groups.cell_of_shot.tolist() == [0, 1, 1, 2, 3]
    assert groups.visit_of_cell.tolist() == [1, 0, 1, 2]
    assert groups.player_of_group.tolist() == [0, 0, 1]
    assert groups.middle_carry().tolist() == [130.0, 205.0, 140.0]
    assert np.isnan(groups.side).all()


def test_parts_are_whole_players_numbered_anew() -> None:
    learn, _, _ = make_players(9, 12, 3, seed=1)
    whole = group_shots(learn)
    parts = list(whole.parts(200))
    assert len(parts) > 1
    assert np.concatenate([part.row for part in parts]).tolist() == whole.row.tolist()
    assert pl.concat([part.keys for part in parts]).equals(whole.keys)
    for part in parts:
        alone = group_shots(learn.filter(pl.col("player").is_in(part.keys["player"].to_list())))
        for name in ("cell_of_shot", "group_of_cell", "visit_of_cell", "player_of_group"):
            assert getattr(part, name).tolist() == getattr(alone, name).tolist()


def test_sums() -> None:
    assert sum_by(np.array([0, 2, 2]), np.array([1.0, 2.0, 3.0]), 4).tolist() == [1, 0, 5, 0]


def test_missing_columns_are_named_in_one_sentence() -> None:
    with pytest.raises(UsageError, match="needs the columns a, b, which"):
        require_columns(pl.DataFrame({"c": [1]}), ("a", "b", "c"), "A question")
