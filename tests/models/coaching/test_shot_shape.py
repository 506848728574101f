"""Shapes of invented patterns whose truth is known, and the words of the trade."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.coaching.shot_shape import shape_words, shot_shape
from rangeledger.schemas.errors import UsageError


def pattern(
    start: float, curve: np.ndarray | float, shots: int = 400, club: str = "driver", seed: int = 1
) -> pl.DataFrame:
    """Return shots that start about a direction and curve by an angle, noise 1 deg each."""
    rng = np.random.default_rng(seed)
    begin = start + rng.standard_normal(shots)
    end = np.radians(begin + curve + rng.standard_normal(shots))
    return pl.DataFrame(
        {"launch_direction_deg": begin, "still_carry_m": 200.0 * np.cos(end),
         "still_side_m": 200.0 * np.sin(end)}
    ).with_columns(player=pl.lit("a"), club=pl.lit(club), swing=pl.lit("full"))  # fmt: skip


def row(shots: pl.DataFrame, **options: dict) -> dict:
    return shot_shape(shots, **options).row(0, named=True)


def test_one_dependable_fade() -> None:
    found = row(pattern(-3.0, 4.0), handedness={"a": "right"})
    # Four standard errors of 400 shots.
    assert found["start_direction_deg"] == pytest.approx(-3.0, abs=0.2)
    assert found["curve_deg"] == pytest.approx(4.0, abs=0.2)
    assert found["curve_sd_deg"] == pytest.approx(1.0, abs=0.15)
    assert found["curve_se_deg"] == pytest.approx(0.05, abs=0.01)
    assert found["stock_shape"] == "pull-fade"
    # A normal about 4 deg with 1 deg is above 1 deg in 99.87 of 100 shots (table of the normal).
    assert found["share_stock_shape"] == pytest.approx(0.9987, abs=0.005)
    assert found["share_stock_low"] < found["share_stock_shape"] <= found["share_stock_high"]
    assert found["share_other_shape"] < 0.01
    assert not found["two_way"]
    # One curve: nothing to gain by leaving shots out.
    assert found["width_gain_m"] is None
    assert found["width_m"] > 0.0


def test_a_straight_shape_counts_the_straight_shots() -> None:
    """A normal about 0 with 1 deg lies within 1 deg in 68.27 of 100 shots (table of the normal)."""
    found = row(pattern(0.0, 0.0, shots=6_000))
    assert found["stock_shape"] == "straight"
    assert found["share_stock_shape"] == found["share_straight"] == pytest.approx(0.683, abs=0.018)
    shares = ("share_straight", "share_curving_left", "share_curving_right")
    assert sum(found[name] for name in shares) == pytest.approx(1.0)


def test_the_shape_is_named_by_the_curve_that_comes_most_often() -> None:
    """Half the shots curve left by 2 deg, three in ten are straight, two in ten curve right."""
    turns = np.select([np.arange(400) % 10 < 5, np.arange(400) % 10 < 8], [-2.0, 0.0], 4.0)
    shots = pattern(0.0, 0.0)
    end = np.radians(shots["launch_direction_deg"].to_numpy() + turns)
    shots = shots.with_columns(still_carry_m=200.0 * np.cos(end), still_side_m=200.0 * np.sin(end))
    found = row(shots, handedness={"a": "right"})
    assert abs(found["curve_deg"]) < 1.0
    assert found["stock_shape"] == "draw"
    assert found["share_stock_shape"] == pytest.approx(0.5)


def test_a_miss_to_both_sides_costs_fairway() -> None:
    """Half +6 deg and half -6 deg: width of both about 200 sin(12 deg) and more, of one 80 % of
    a normal with 1.41 deg: 2 x 1.2816 x 1.414 deg x 200 m = 12.7 m."""
    both = np.where(np.arange(400) % 5 < 3, 6.0, -6.0)
    found = row(pattern(0.0, both))
    assert found["two_way"]
    assert found["share_other_shape"] == pytest.approx(0.4, abs=0.001)
    assert found["share_other_low"] < 0.4 < found["share_other_high"]
    assert found["width_stock_m"] == pytest.approx(12.7, abs=1.5)
    assert found["width_m"] > 40.0
    assert found["width_gain_m"] == pytest.approx(found["width_m"] - found["width_stock_m"])
    assert 0.0 < found["width_gain_se_m"] < 3.0


@pytest.mark.parametrize("shots", [600, pytest.param(6_000, marks=pytest.mark.long)])
def test_the_error_of_the_gain_is_how_much_the_gain_varies(shots: int) -> None:
    """Fresh players of one pattern differ by the error that each of them states."""
    both = np.where(np.arange(shots) % 5 < 3, 4.0, -4.0)
    found = [row(pattern(0.0, both, shots=shots, seed=seed)) for seed in range(40)]
    gains = [one["width_gain_m"] for one in found]
    stated = [one["width_gain_se_m"] for one in found]
    # The spread of 40 draws is known to 1 / sqrt(80) = 11 %: three of these.
    assert np.mean(stated) == pytest.approx(np.std(gains, ddof=1), rel=0.33)


def test_mirroring_mirrors_the_shape() -> None:
    right, left = row(pattern(2.0, 3.0)), row(mirrored(pattern(2.0, 3.0)))
    assert left["start_direction_deg"] == pytest.approx(-right["start_direction_deg"])
    assert left["curve_deg"] == pytest.approx(-right["curve_deg"])
    assert left["share_curving_left"] == right["share_curving_right"]
    assert left["width_m"] == pytest.approx(right["width_m"])


def mirrored(shots: pl.DataFrame) -> pl.DataFrame:
    return shots.with_columns(-pl.col("launch_direction_deg"), -pl.col("still_side_m"))


@pytest.mark.parametrize(
    ("start", "curve", "right_handed", "left_handed", "unknown"),
    [
        (0.0, 0.0, "straight", "straight", "straight"),
        (3.0, 0.0, "push", "pull", "starts right"),
        (-3.0, 0.0, "pull", "push", "starts left"),
        (0.0, 3.0, "fade", "draw", "curves right"),
        (3.0, -4.0, "push-draw", "pull-fade", "starts right, curves left"),
        (-3.0, 4.0, "pull-fade", "push-draw", "starts left, curves right"),
        (0.0, 9.0, "slice", "hook", "curves right"),
        (0.0, -9.0, "hook", "slice", "curves left"),
    ],
)
def test_words(
    start: float, curve: float, right_handed: str, left_handed: str, unknown: str
) -> None:
    """Common practice of the trade, no source."""
    assert shape_words(start, curve, "right") == right_handed
    assert shape_words(start, curve, "left") == left_handed
    assert shape_words(start, curve, None) == unknown


def test_row_order_does_not_matter() -> None:
    shots = pl.concat([pattern(1.0, 2.0), pattern(0.0, -3.0, club="7-iron", seed=2)])
    shuffled = shots.sample(fraction=1.0, shuffle=True, seed=3)
    assert shot_shape(shuffled).equals(shot_shape(shots))


def test_mishits_putts_partial_swings_and_gaps_are_left_out() -> None:
    shots = pattern(0.0, 3.0, shots=50).with_columns(strike=pl.lit("clean"))
    topped = pattern(0.0, -30.0, shots=20, seed=4).with_columns(strike=pl.lit("mishit"))
    partial = shots.with_columns(swing=pl.lit("9:00"), launch_direction_deg=20.0)
    putts = shots.with_columns(club=pl.lit("putter"))
    blind = shots.with_columns(launch_direction_deg=pl.lit(None, dtype=pl.Float64))
    table = shot_shape(pl.concat([shots, topped, partial, putts, blind]))
    assert table.equals(shot_shape(shots))
    assert shot_shape(partial)["shots"].to_list() == [50]


def test_few_shots_and_none() -> None:
    found = row(pattern(0.0, 3.0, shots=1))
    assert found["curve_sd_deg"] is None
    assert found["width_m"] is None
    assert shot_shape(pattern(0.0, 3.0).clear()).height == 0


def test_a_missing_column_is_named() -> None:
    with pytest.raises(UsageError, match="launch_direction_deg"):
        shot_shape(pattern(0.0, 1.0).drop("launch_direction_deg"))


def test_the_same_shots_give_the_same_shapes_to_the_last_digit() -> None:
    """Clubs and days enough for the order of a sum to tell, asked again and again."""
    days = pl.int_range(pl.len()).floordiv(17).cast(pl.String)
    clubs = [pattern(-1.0, 2.0, 200, f"{n}-iron", seed=n).with_columns(session_id=days)
             for n in range(2, 10)]  # fmt: skip
    shots = pl.concat(clubs)
    first = shot_shape(shots)
    assert all(shot_shape(shots).equals(first) for _ in range(20))
