"""Spread of start lines: chi-square tables, counted putts, and sessions set up askew."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.coaching.hole_capture import start_line_tolerance_deg
from rangeledger.models.coaching.putting_start_line import against_rule, putting_start_line
from rangeledger.schemas.errors import UsageError
from scipy import special


def putts(
    count: int, sd: float, sessions: int = 1, seed: int = 1, askew: float = 0.0
) -> pl.DataFrame:
    rng = np.random.default_rng(seed)
    session = np.arange(count) % sessions
    angle = askew * session + sd * rng.standard_normal(count)
    return pl.DataFrame(
        {"session_id": [f"s{i}" for i in session], "launch_direction_deg": angle}
    ).with_columns(player=pl.lit("a"), club=pl.lit("putter"))


EXACT = (0.0, 0.0, 0.0)


def row(shots: pl.DataFrame, device_noise_deg: tuple[float, float, float] = EXACT) -> dict:
    return putting_start_line(shots, device_noise_deg).row(0, named=True)


def truly_holed(sd: float, bias: float, speed: float) -> float:
    """Closed form: a normal start line about a direction, within the tolerance."""
    tolerance = float(start_line_tolerance_deg(5 * 0.3048, speed))
    return float(special.ndtr((tolerance - bias) / sd) - special.ndtr((-tolerance - bias) / sd))


def test_interval_of_a_spread() -> None:
    """Chi-square table, 20 degrees of freedom: 31.410 (5 %) and 10.851 (95 %)."""
    found = row(putts(21, 1.0))
    assert found["start_sd_low_deg"] / found["start_sd_deg"] == pytest.approx(
        (20 / 31.410) ** 0.5, abs=1e-4
    )
    assert found["start_sd_high_deg"] / found["start_sd_deg"] == pytest.approx(
        (20 / 10.851) ** 0.5, abs=1e-4
    )


def test_shares_of_many_putts_are_counted_shares() -> None:
    angles = putts(200_000, 1.2)
    found = row(angles)
    for pace, speed in (("dead_weight", 0.0), ("firm", 0.5), ("hard", 0.9)):
        tolerance = float(start_line_tolerance_deg(5 * 0.3048, speed))
        counted = (angles["launch_direction_deg"].abs() < tolerance).mean()
        assert found[f"share_holed_{pace}"] == pytest.approx(counted, abs=0.004)


def test_one_degree_from_five_feet() -> None:
    """Normal table: P(|Z| < 2.03) = 0.9576 dead weight, P(|Z| < 1.36) = 0.826 at 0.9 m/s."""
    angle = np.array([-1.0, 1.0] * 50_000)
    exact = putts(100_000, 1.0).with_columns(launch_direction_deg=pl.Series(angle))
    found = row(exact)
    assert found["share_holed_dead_weight"] == pytest.approx(0.9576, abs=5e-4)
    assert found["share_holed_hard"] == pytest.approx(0.826, abs=2e-3)


def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """90 % of 400 players of 15 putts: three standard errors are 4.5 points."""
    players = [putts(15, 1.0, sessions=3, seed=i).with_columns(player=pl.lit(f"p{i:03d}"))
               for i in range(400)]  # fmt: skip
    table = putting_start_line(pl.concat(players))
    inside = pl.lit(1.0).is_between(pl.col("start_sd_low_deg"), pl.col("start_sd_high_deg"))
    assert table.select(inside.mean()).item() == pytest.approx(0.9, abs=0.045)


def test_a_device_set_up_askew_does_not_widen_the_spread() -> None:
    straight, askew = (row(putts(300, 0.8, sessions=3, askew=a)) for a in (0.0, 2.0))
    assert askew["start_sd_deg"] == pytest.approx(straight["start_sd_deg"])
    assert askew["start_direction_deg"] == pytest.approx(straight["start_direction_deg"] + 2.0)


def test_a_pull_costs_putts() -> None:
    """Closed form; brought to the middle the same spread would hole seven of a hundred more."""
    pulled = putts(100_000, 1.0).with_columns(pl.col("launch_direction_deg") - 0.7)
    truth = truly_holed(1.0, -0.7, 0.5)
    assert row(pulled)["share_holed_firm"] == pytest.approx(truth, abs=0.003)
    assert truth < truly_holed(1.0, 0.0, 0.5) - 0.05


@pytest.mark.parametrize(
    ("bias", "noise", "setup"),
    [(0.0, 0.0, 0.0), (-0.7, 0.0, 0.0), (0.0, 0.5, 0.0), (0.5, 0.25, 0.2), (0.0, 0.0, 0.3)],
)
def test_shares_hold_the_truth_whatever_pull_and_device(
    bias: float, noise: float, setup: float
) -> None:
    """At least 90 % of 300 players: three standard errors are 5 points. Own spread 0.7 degrees."""
    rng = np.random.default_rng(9)
    players = []
    for i in range(300):
        session = np.arange(40) % 4
        off = setup * rng.standard_normal(4)[session] + noise * rng.standard_normal(40)
        players.append(pl.DataFrame({
            "player": f"p{i:03d}", "club": "putter", "session_id": [f"s{s}" for s in session],
            "launch_direction_deg": bias + 0.7 * rng.standard_normal(40) + off,
        }))  # fmt: skip
    table = putting_start_line(pl.concat(players))
    truth = pl.lit(truly_holed(0.7, bias, 0.5))
    inside = truth.is_between(pl.col("share_holed_firm_low"), pl.col("share_holed_firm_high"))
    assert table.select(inside.mean()).item() > 0.85


def test_a_misread_line_is_left_out_and_other_clubs_do_not_count() -> None:
    shots = putts(40, 1.0)
    misread = shots.head(1).with_columns(launch_direction_deg=60.0)
    irons = shots.with_columns(club=pl.lit("7-iron"), launch_direction_deg=9.0)
    blind = shots.with_columns(launch_direction_deg=pl.lit(None, dtype=pl.Float64))
    table = putting_start_line(pl.concat([shots, misread, irons, blind]).sample(
        fraction=1.0, shuffle=True, seed=1))  # fmt: skip
    assert table.equals(putting_start_line(shots))


def putts_by_break(count: int, seed: int = 1) -> pl.DataFrame:
    """So many putts of each break about a line of its own, pulled 0.3 degrees; a sixth untold."""
    lines = {"left-to-right": -2.3, "right-to-left": 1.7, "straight": -0.3, None: 0.0}
    told = [
        putts(count if name else count // 2, 0.8, sessions=3, seed=seed + place).with_columns(
            pl.col("launch_direction_deg") + line, pl.lit(name, dtype=pl.String).alias("break")
        )
        for place, (name, line) in enumerate(lines.items())
    ]
    return pl.concat(told)


def test_putts_of_each_break_are_told_apart_from_all() -> None:
    """Closed form: 0.8 about each line; all together 0.8 and the spread of the lines."""
    table = putting_start_line(putts_by_break(20_000), EXACT)
    assert table["break"].to_list() == ["all", "left-to-right", "right-to-left", "straight"]
    assert table["putts"].to_list() == [70_000, 20_000, 20_000, 20_000]
    mixed = (0.8**2 + (2 * (2.3**2 + 1.7**2 + 0.3**2) / 7) - (2 * -0.9 / 7) ** 2) ** 0.5
    assert table["start_sd_deg"].to_list() == pytest.approx([mixed, 0.8, 0.8, 0.8], rel=0.02)
    assert table["start_direction_deg"].to_list()[1:] == pytest.approx([-2.3, 1.7, -0.3], abs=0.03)


def test_a_level_green_tells_nothing_of_putts_that_break() -> None:
    table = putting_start_line(putts_by_break(2_000), EXACT)
    shares = table.select(pl.col("^share_holed.*$"))
    assert shares[1:3].null_count().row(0) == (2,) * 9
    assert shares[[0, 3]].null_count().row(0) == (0,) * 9
    assert shares["share_holed_firm"][3] == pytest.approx(truly_holed(0.8, -0.3, 0.5), abs=0.02)


def test_all_putts_are_what_they_were_without_a_break() -> None:
    shots = putts_by_break(50)
    alone = putting_start_line(shots.drop("break"))
    assert alone["break"].to_list() == ["all"]
    assert putting_start_line(shots).head(1).equals(alone)


def test_one_putt_and_none() -> None:
    found = row(putts(1, 1.0))
    assert (
        found["start_sd_deg"] is found["share_holed_firm"] is found["against_rule_of_thumb"] is None
    )
    assert putting_start_line(putts(3, 1.0).clear()).height == 0


@pytest.mark.parametrize(
    ("sd", "words"),
    [(0.4, "within half a degree"), (0.8, "between half a degree and one degree"),
     (1.5, "beyond one degree")],
)  # fmt: skip
def test_rule_of_thumb(sd: float, words: str) -> None:
    """Common practice, no source."""
    assert against_rule(sd) == words


def test_a_missing_column_is_named() -> None:
    with pytest.raises(UsageError, match="launch_direction_deg"):
        putting_start_line(putts(3, 1.0).drop("launch_direction_deg"))
