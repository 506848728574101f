"""Shares of held-out shots: counted by hand, and close to what the ellipses say."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.held_out import held_out_parameters, held_out_share
from rangeledger.models.clubs.shot_distribution import region_radius, squared_distance

from tests.models.synthetic_players import make_players


def test_each_session_is_judged_by_the_others() -> None:
    """One player refitted by hand without each session."""
    shots, _, _ = make_players(1, 30, 3, seed=5)
    inside = []
    for session in shots["session_id"].unique():
        left_out = pl.col("session_id") == session
        parameters = CarryModel().fit(shots.filter(~left_out)).parameters_
        radius = pl.Series("radius", region_radius(parameters, 0.8))
        wide = shots.filter(left_out).join(parameters.with_columns(radius), on="club")
        places = (wide[name].to_numpy() for name in ("still_carry_m", "still_side_m"))
        near = squared_distance(wide, *places) <= wide["radius"].to_numpy() ** 2
        inside.append(wide.select("club").with_columns(near=pl.Series(near)))
    by_hand = pl.concat(inside).group_by("club").agg(pl.col("near").mean()).sort("club")
    share = held_out_share(shots, [0.8])
    assert share["share_inside"].to_numpy() == pytest.approx(by_hand["near"].to_numpy())
    assert share["shots_held_out"].to_list() == [30] * 8


def test_shares_agree_with_the_levels_on_average() -> None:
    shots, _, _ = make_players(60, 30, 4, seed=6)
    share = held_out_share(shots, [0.5, 0.8, 0.9])
    means = share.group_by("level").agg(pl.col("share_inside").mean()).sort("level")
    assert means["share_inside"].to_numpy() == pytest.approx(np.array([0.5, 0.8, 0.9]), abs=0.02)


def test_many_sessions_are_left_out_in_blocks() -> None:
    shots, _, _ = make_players(1, 46, 23, seed=7)
    parameters, folds = held_out_parameters(shots, most_folds=10)
    assert sorted(parameters["fold"].unique()) == list(range(10))
    assert folds["session_id"].n_unique() == 23


def test_one_session_can_not_be_held_out() -> None:
    shots, _, _ = make_players(1, 10, 1, seed=8)
    assert held_out_share(shots, [0.8]).height == 0
    table = CarryModel().fit(shots).dispersion([0.8], shots=shots)
    assert table["share_inside"].null_count() == table.height == 8


def test_dispersion_carries_the_share() -> None:
    shots, _, _ = make_players(2, 20, 2, seed=9)
    table = CarryModel().fit(shots).dispersion(shots=shots)
    assert table.height == 2 * 8 * 3
    assert table["share_inside"].is_between(0.0, 1.0).all()
    assert table["shots_held_out"].to_list() == [20] * 48
    assert CarryModel().fit(shots).dispersion()["share_inside"].null_count() == 48


def test_columns_of_the_shots_do_not_shadow_the_parameters() -> None:
    # A canonical shot has a carry_m of its own, as measured that day.
    plain, _, _ = make_players(2, 20, 3, seed=7)
    canonical = plain.with_columns(carry_m=pl.col("still_carry_m"), side_m=pl.col("still_side_m"))
    levels = [0.5, 0.9]
    assert held_out_share(canonical, levels).equals(held_out_share(plain, levels))
