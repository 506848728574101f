"""Shares of shots of later sessions: counted by hand, and close to what the ellipses say."""

from __future__ import annotations

import math

import polars as pl
import pytest
from rangeledger.models.clubs import held_out
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.held_out import forward_parameters, held_out_share
from rangeledger.models.clubs.shot_distribution import region_radius, squared_distance

from tests.models.other_players import Make, Season, make_season


def season(players: int, sessions: int, shots: int = 5, clubs: int = 8) -> pl.DataFrame:
    recipe = Season(sessions=sessions, shots=shots, clubs=clubs)
    return make_season(players, Make(), recipe, seed=5).shots


def test_each_session_is_judged_by_those_before() -> None:
    """One player refitted by hand before each session."""
    shots = season(1, 4, 8)
    inside = []
    for session in shots["session_id"].unique().sort()[1:]:
        parameters = CarryModel().fit(shots.filter(pl.col("session_id") < session)).parameters_
        radius = pl.Series("radius", region_radius(parameters, 0.8))
        chosen = shots.filter(pl.col("session_id") == session)
        wide = chosen.join(parameters.with_columns(radius), on="club")
        places = (wide[name].to_numpy() for name in ("still_carry_m", "still_side_m"))
        near = squared_distance(wide, *places) <= wide["radius"].to_numpy() ** 2
        inside.append(wide.select("club").with_columns(near=pl.Series(near)))
    by_hand = pl.concat(inside).group_by("club").agg(pl.col("near").mean()).sort("club")
    share = held_out_share(shots, [0.8])
    assert share["share_inside"].to_numpy() == pytest.approx(by_hand["near"].to_numpy())
    assert share["shots_held_out"].to_list() == [24] * 8


def test_shares_agree_with_the_levels_on_average() -> None:
    share = held_out_share(season(40, 5, 8), [0.5, 0.8, 0.9])
    means = share.group_by("level").agg(pl.col("share_inside").mean()).sort("level")
    assert means["share_inside"].to_list() == pytest.approx([0.5, 0.8, 0.9], abs=0.03)


def test_a_later_session_tells_nothing_of_an_earlier_one() -> None:
    """A last session 30 % short spoils its own share alone."""
    shots = season(1, 4, 20, clubs=1)
    last = pl.col("session_id") == "s003"
    short = pl.col("still_carry_m") * pl.when(last).then(0.7).otherwise(1.0)
    parameters, _ = forward_parameters(shots)
    spoiled, _ = forward_parameters(shots.with_columns(still_carry_m=short))
    assert spoiled.equals(parameters)
    share = held_out_share(shots.with_columns(still_carry_m=short), [0.9])["share_inside"][0]
    assert share < 0.7


def test_the_last_ten_of_many_sessions_are_judged() -> None:
    parameters, sessions = forward_parameters(season(1, 23, 2), most=10)
    assert sorted(parameters["judged"].unique()) == list(range(13, 23))
    assert sorted(sessions["session_id"]) == [f"s{number:03d}" for number in range(13, 23)]


def test_without_an_earlier_session_or_a_date_nothing_is_judged() -> None:
    one = season(1, 1, 10)
    assert held_out_share(one, [0.8]).height == 0
    table = CarryModel().fit(one).dispersion([0.8], shots=one)
    assert table["share_inside"].null_count() == table.height == 8
    undated = season(1, 3).with_columns(struck_at=pl.lit(None, pl.Datetime("ms", "UTC")))
    assert held_out_share(undated, [0.8]).height == 0
    assert held_out_share(undated.drop("struck_at"), [0.8]).height == 0


def test_parts_of_any_size_give_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    shots = season(3, 6, 8)
    whole, _ = forward_parameters(shots)
    monkeypatch.setattr(held_out, "PART_SHOTS", 300)
    parts, _ = forward_parameters(shots)
    order = ["player", "club", "swing", "ball", "judged"]
    assert parts.sort(order).equals(whole.sort(order))


def test_long_groups_are_learned_from_their_latest_shots() -> None:
    """Left out shots move a share by less than three times what chance leaves open.

    A scale learned from n shots is off by 1 / sqrt(2 n) of itself (from memory: any handbook, of
    normal errors), which moves the share p inside a region by (1 - p) ln(1 / (1 - p)) sqrt(2 / n).
    """
    shots, kept = season(2, 12, 300, clubs=1), 1500
    levels = [0.5, 0.8, 0.9]
    few, _ = forward_parameters(shots, most_of_group=kept)
    assert few["shots"].max() == kept
    held = held_out_share(shots, levels)
    capped = held_out_share(shots, levels, most_of_group=kept)
    for level in levels:
        bound = 3.0 * (1.0 - level) * math.log(1.0 / (1.0 - level)) * math.sqrt(2.0 / kept)
        one, two = (t.filter(level=level)["share_inside"].to_numpy() for t in (held, capped))
        assert abs(one - two).max() <= bound
    same, _ = forward_parameters(shots, most_of_group=300 * 11)
    assert same.equals(forward_parameters(shots)[0])


def test_dispersion_carries_the_share() -> None:
    shots = season(2, 2, 10)
    table = CarryModel().fit(shots).dispersion(shots=shots)
    assert table.height == 2 * 8 * 3
    assert table["share_inside"].is_between(0.0, 1.0).all()
    assert table["shots_held_out"].to_list() == [10] * 48
    assert CarryModel().fit(shots).dispersion()["share_inside"].null_count() == 48


def test_columns_of_the_shots_do_not_shadow_the_parameters() -> None:
    # A canonical shot has a carry_m of its own, as measured that day.
    plain = season(2, 3, 7)
    canonical = plain.with_columns(carry_m=pl.col("still_carry_m"), side_m=pl.col("still_side_m"))
    levels = [0.5, 0.9]
    assert held_out_share(canonical, levels).equals(held_out_share(plain, levels))
