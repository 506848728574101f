"""Sessions, levels and changes in tables."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.sessions.carry_trend import CarryTrend
from rangeledger.schemas.errors import UsageError

from tests.models.synthetic_players import Recipe, make_players

START = datetime(2024, 4, 1, 9, 0, tzinfo=UTC)


def dated(shots: pl.DataFrame) -> pl.DataFrame:
    """Return shots with their sessions a week apart."""
    week = pl.col("session_id").str.slice(-2).cast(pl.Int64)
    return shots.with_columns(struck_at=pl.lit(START) + pl.duration(weeks=week))


@pytest.fixture(scope="module")
def shots() -> pl.DataFrame:
    learn, _, _ = make_players(3, 80, 8, seed=51)
    return dated(learn)


@pytest.fixture(scope="module")
def trend(shots: pl.DataFrame) -> CarryTrend:
    return CarryTrend().fit(shots)


def test_one_row_a_club_and_session_in_time(trend: CarryTrend) -> None:
    table = trend.sessions_
    assert table.height == 3 * 8 * 8
    assert table.null_count().sum_horizontal()[0] == 0
    assert table.group_by("player", "club").agg(pl.col("started_at").is_sorted()).to_series(2).all()
    assert (table["level_low_m"] < table["level_m"]).all()
    assert (table["level_m"] < table["level_high_m"]).all()


def test_current_level_is_the_level_at_the_last_session(trend: CarryTrend) -> None:
    last = trend.sessions_.group_by("player", "club", maintain_order=True).last()
    for end in ("m", "low_m", "high_m"):
        assert last[f"level_{end}"].equals(last[f"current_level_{end}"].alias(f"level_{end}"))


def test_session_mean_leaves_mishits_out(shots: pl.DataFrame, trend: CarryTrend) -> None:
    clean = shots.filter(~pl.col("truly_mishit"))
    truth = clean.group_by("player", "club", "session_id").agg(pl.col("still_carry_m").mean())
    both = trend.sessions_.join(truth, on=["player", "club", "session_id"])
    ratio = (both["session_carry_m"] / both["still_carry_m"]).to_numpy()
    assert np.sqrt(((ratio - 1.0) ** 2).mean()) < 0.01


def test_any_row_order_and_a_model_fitted_before(shots: pl.DataFrame, trend: CarryTrend) -> None:
    shuffled = shots.sample(fraction=1.0, shuffle=True, seed=2)
    assert CarryTrend().fit(shuffled).sessions_.equals(trend.sessions_)
    given = CarryTrend(carry_model=CarryModel().fit(shots)).fit(shots)
    assert given.sessions_.equals(trend.sessions_)


def test_one_player_alone_gives_the_same(shots: pl.DataFrame, trend: CarryTrend) -> None:
    chosen = pl.col("player") == "player-00001"
    alone = CarryTrend().fit(shots.filter(chosen))
    assert alone.sessions_.equals(trend.sessions_.filter(chosen))


def longer_from(shots: pl.DataFrame, when: datetime, factor: float) -> pl.DataFrame:
    longer = pl.when(pl.col("struck_at") >= when).then(factor).otherwise(1.0)
    return shots.with_columns(pl.col("still_carry_m") * longer)


def test_a_real_gain_is_claimed_and_none_is_not() -> None:
    learn, _, _ = make_players(12, 200, 10, seed=52, recipe=Recipe(carry_drift=0.008))
    shots = dated(learn)
    for factor in (1.0, 1.08):
        longer = longer_from(shots, START + timedelta(weeks=5), factor)
        found = CarryTrend().fit(longer).sessions_.filter(pl.col("started_at") == START)
        assert found.height == 96
        if factor == 1.0:
            assert found["changed"].mean() < 0.1
        else:
            assert found["changed"].mean() > 0.9
            assert (found["change_low_m"] > 0.0).mean() > 0.9
            # 8 % of what it was is 7.4 % of what it is
            assert (found["change_m"] / found["current_level_m"]).mean() == pytest.approx(
                1.0 - 1.0 / factor, abs=0.01
            )


def test_a_steady_gain_is_found_since_the_first_session() -> None:
    learn, _, _ = make_players(6, 400, 20, seed=53, recipe=Recipe(carry_drift=0.005))
    shots = dated(learn)
    week = (pl.col("struck_at") - START).dt.total_days() / 7.0
    growing = shots.with_columns(pl.col("still_carry_m") * (1.0 + 0.006 * week))
    found = CarryTrend().fit(growing).sessions_.filter(pl.col("started_at") == START)
    assert found["changed"].all()
    assert (found["change_low_m"] > 0.0).all()
    still = CarryTrend().fit(shots).sessions_.filter(pl.col("started_at") == START)
    assert still["changed"].mean() < 0.1


def test_a_change_is_the_level_now_less_the_level_then(trend: CarryTrend) -> None:
    table = trend.sessions_
    rise = table["current_level_m"] - table["level_m"]
    np.testing.assert_allclose(table["change_m"], rise, atol=0.01)
    assert (table["change_low_m"] <= table["change_m"] + 1e-9).all()
    assert (table["change_m"] <= table["change_high_m"] + 1e-9).all()
    last = table.group_by("player", "club", maintain_order=True).last()
    np.testing.assert_allclose(last["change_high_m"], 0.0, atol=1e-6)
    assert not last["changed"].any()


def test_sessions_without_a_date_have_no_level(shots: pl.DataFrame) -> None:
    undated = pl.col("session_id") == "learn-03"
    some = shots.with_columns(pl.when(~undated).then("struck_at").alias("struck_at"))
    table = CarryTrend().fit(some).sessions_
    assert table.filter(undated)["level_m"].null_count() == 24
    assert table.filter(undated)["session_carry_m"].null_count() == 0
    assert table.filter(~undated)["level_m"].null_count() == 0
    none = CarryTrend().fit(shots.with_columns(struck_at=pl.lit(None, pl.Datetime("ms", "UTC"))))
    assert none.sessions_["level_m"].null_count() == none.sessions_.height == 192
    assert none.sessions_["changed"].null_count() == 192


def test_a_missing_column_is_named(shots: pl.DataFrame) -> None:
    with pytest.raises(UsageError, match="struck_at"):
        CarryTrend().fit(shots.drop("struck_at"))
