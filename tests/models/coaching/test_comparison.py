from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.coaching.comparison import (
    Spread,
    compare,
    more_shots,
    session_spread,
    variance_ratio,
)
from rangeledger.schemas.errors import NotEnoughShotsError


def shots(
    spread: float, per_session: int, sessions: int = 4, seed: int = 1, carry: float = 80.0
) -> pl.DataFrame:
    """Normal carries of one wedge swing; each session has a centre of its own."""
    random = np.random.default_rng(seed)
    centre = carry * (1.0 + 0.015 * random.normal(size=sessions)).repeat(per_session)
    count = sessions * per_session
    return pl.DataFrame(
        {
            "player": "Ada Brook", "club": "54-wedge", "swing": "9:00", "ball": "premium",
            "session_id": [f"s{n // per_session}" for n in range(count)],
            "strike": "clean",
            "still_carry_m": centre * (1.0 + spread * random.normal(size=count)),
        }
    )  # fmt: skip


def test_variance_ratio_of_the_nist_handbook() -> None:
    # NIST/SEMATECH e-Handbook 1.3.5.9, ceramic strength (JAHANMI2.DAT), two batches of 240:
    # standard deviations 65.54909 and 61.85425, F = 1.123037, F CDF value 0.814808; from memory.
    ratio, _, _, smaller = variance_ratio(65.54909**2, 239, 61.85425**2, 239)
    assert ratio == pytest.approx(1.123037, abs=5e-6)
    assert 1.0 - smaller == pytest.approx(0.814808, abs=5e-6)


def test_f_interval_against_a_printed_table() -> None:
    # F(0.95; 10, 10) = 2.98, common tables of the F distribution
    _, low, high, _ = variance_ratio(1.0, 10, 1.0, 10, level=0.90)
    assert high == pytest.approx(2.98, abs=0.005)
    assert low == pytest.approx(1 / 2.98, abs=0.001)


def test_drift_between_sessions_does_not_widen_the_spread() -> None:
    found = session_spread(shots(0.05, 200))
    assert found.spread == pytest.approx(0.05, rel=0.05)
    assert (found.shots, found.sessions) == (800, 4)


def test_a_normal_sample_keeps_its_degrees_of_freedom() -> None:
    """The middle of seven: now and then four sessions differ by luck, and that counts."""
    found = [session_spread(shots(0.05, 500, seed=seed)).freedom for seed in range(7)]
    assert np.median(found) == pytest.approx(2000 - 4, rel=0.1)


@pytest.mark.parametrize("draws", [100, pytest.param(300, marks=pytest.mark.long)])
def test_the_interval_holds_the_true_ratio_as_often_as_it_says(draws: int) -> None:
    inside = 0
    for seed in range(draws):
        table = compare(shots(0.05, 8, seed=2 * seed), shots(0.07, 8, seed=2 * seed + 1))
        low, high = (
            table.filter(pl.col("measure") == "spread of carry").select("low", "high").row(0)
        )
        inside += low < 100 * (0.05 / 0.07 - 1) < high
    # 90 % of so many, three standard errors of a binomial share
    assert inside / draws == pytest.approx(0.90, abs=3 * (0.9 * 0.1 / draws) ** 0.5)


def test_a_clear_difference_is_told_and_needs_no_more_shots() -> None:
    row = compare(shots(0.03, 40, seed=3), shots(0.08, 40, seed=4)).row(0, named=True)
    assert row["verdict"] == "the first controls distance better"
    assert row["more_shots"] == 0
    assert row["probability_first_better"] > 0.99


def test_swapping_the_sides_swaps_the_answer() -> None:
    one, other = shots(0.05, 12, seed=5), shots(0.065, 12, seed=6)
    ahead, back = compare(one, other).row(0, named=True), compare(other, one).row(0, named=True)
    assert (1 + ahead["difference"] / 100) * (1 + back["difference"] / 100) == pytest.approx(1.0)
    assert ahead["probability_first_better"] + back["probability_first_better"] == pytest.approx(1)
    assert ahead["more_shots"] == back["more_shots"]


def test_hitting_the_shots_it_asks_for_settles_it() -> None:
    one, other = Spread(30, 3, 0.05, 27.0), Spread(30, 3, 0.06, 27.0)
    needed = more_shots(one, other)
    assert needed is not None
    assert needed > 0
    grown = (30 + needed) / 30
    later = [Spread(30 + needed, 3, s.spread, s.freedom * grown) for s in (one, other)]
    assert more_shots(*later) == 0
    fewer = (30 + needed - 2) / 30
    assert more_shots(*(Spread(28 + needed, 3, s.spread, s.freedom * fewer) for s in (one, other)))


def test_equal_ways_are_called_alike() -> None:
    same = Spread(40, 3, 0.05, 36.0)
    assert more_shots(same, same) is None


def test_the_difference_of_carry_is_found_with_its_doubt() -> None:
    table = compare(shots(0.05, 30, seed=7, carry=80.0), shots(0.05, 30, seed=8, carry=72.0))
    row = table.filter(pl.col("measure") == "carry").row(0, named=True)
    assert row["low"] < 100 * (80 / 72 - 1) < row["high"]
    assert row["verdict"] == "the first carries farther"


def test_without_a_common_club_carry_is_left_out() -> None:
    other = shots(0.05, 10).with_columns(club=pl.lit("7-iron"))
    assert compare(shots(0.05, 10), other)["measure"].to_list() == ["spread of carry", "mishits"]


def test_the_spread_of_side_tells_who_controls_direction() -> None:
    random = np.random.default_rng(11)

    def with_sides(seed: int, spread: float) -> pl.DataFrame:
        way = shots(0.05, 40, seed=seed)
        return way.with_columns(still_side_m=80.0 * spread * random.normal(size=way.height))

    table = compare(with_sides(12, 0.03), with_sides(13, 0.05))
    row = table.filter(pl.col("measure") == "spread of side").row(0, named=True)
    # 160 shots in 4 sessions: an error of 1 / sqrt(2 x 156) of each spread; three are allowed.
    assert row["first"] == pytest.approx(3.0, rel=0.17)
    assert row["second"] == pytest.approx(5.0, rel=0.17)
    assert row["low"] < 100.0 * (3.0 / 5.0 - 1.0) < row["high"]
    assert row["verdict"] == "the first controls direction better"
    none = with_sides(12, 0.0)
    assert "spread of side" not in compare(none, none)["measure"].to_list()


def test_too_few_shots_are_told() -> None:
    with pytest.raises(NotEnoughShotsError, match="two clean strikes"):
        compare(shots(0.05, 1), shots(0.05, 10))


def test_the_order_of_rows_does_not_matter() -> None:
    one, other = shots(0.05, 10, seed=9), shots(0.06, 10, seed=10)
    shuffled = one.sample(fraction=1.0, shuffle=True, seed=1)
    assert compare(shuffled, other).equals(compare(one, other))
