"""Gaps and overlaps against closed forms and counted draws."""

from __future__ import annotations

import polars as pl
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.clubs.shot_distribution import draw_next_shots
from rangeledger.models.coaching.club_gaps import club_gaps
from scipy import stats

from tests.models.synthetic_players import make_players


def bag(*clubs: tuple[str, float], **changes: float | str) -> pl.DataFrame:
    """Return parameters of clubs with given carries, spread 5 m, nothing else."""
    rows = [
        {
            "player": "a", "club": club, "swing": "full", "ball": "premium", "shots": 50,
            "sessions": 5, "carry_m": carry, "side_m": 0.0, "carry_se_m": 0.5, "side_se_m": 1.0,
            "within_carry_sd_m": 5.0, "within_side_sd_m": 6.0, "within_correlation": 0.0,
            "between_carry_sd_m": 0.0, "between_side_sd_m": 1.0, "degrees_of_freedom": 1e9,
            "mishit_rate": 0.0, "mishit_shortfall_m": 20.0, "mishit_long_share": 0.05,
            "mishit_side_scale_m": 8.0, "side_known": True, "model_version": "test",
        } | changes
        for club, carry in clubs
    ]  # fmt: skip
    return pl.DataFrame(rows)


def test_overlap_of_two_normals() -> None:
    """P(N(-10, 2 x 25.25) > 0), closed form."""
    table = club_gaps(bag(("7-iron", 140.0), ("8-iron", 130.0)))
    expected = stats.norm.sf(10.0 / (2.0 * 25.25) ** 0.5)
    assert table["overlap_probability"][0] == pytest.approx(expected, abs=1e-3)
    assert table["gap_m"][0] == 10.0
    assert table["gap_se_m"][0] == pytest.approx(0.5**0.5)


def test_overlap_with_mishits_is_what_draws_show() -> None:
    clubs = bag(("7-iron", 140.0), ("8-iron", 130.0), mishit_rate=0.1, degrees_of_freedom=30.0)
    longer, shorter = (
        draw_next_shots(clubs[i], 100_000, random_state=i)["carry_m"] for i in (0, 1)
    )
    overlap = club_gaps(clubs)["overlap_probability"][0]
    # Three standard errors of the count.
    assert overlap == pytest.approx((shorter > longer).mean(), abs=0.004)


def test_drift_that_clubs_share_does_not_blur_their_order() -> None:
    still, drifting = (
        club_gaps(bag(("7-iron", 140.0), ("8-iron", 130.0), between_carry_sd_m=drift))
        for drift in (0.0, 3.0)
    )
    assert drifting["overlap_probability"][0] < still["overlap_probability"][0] + 0.02


def test_verdicts() -> None:
    """Lofts of 7-, 8- and 9-iron suggest about 10 m each at this length."""
    table = club_gaps(
        bag(("7-iron", 140.0), ("8-iron", 120.0), ("9-iron", 118.0), ("pitching-wedge", 107.0))
    )
    assert table["longer_club"].to_list() == ["7-iron", "8-iron", "9-iron"]
    assert table["verdict"].to_list() == ["large", "small", "usual"]
    assert table["expected_gap_m"].is_between(8.0, 13.0).all()


def test_unsure_gaps_are_not_called() -> None:
    table = club_gaps(bag(("7-iron", 140.0), ("8-iron", 120.0), carry_se_m=6.0))
    assert table["verdict"].to_list() == ["usual"]


def test_unknown_lofts_have_no_verdict_and_balls_stay_apart() -> None:
    clubs = pl.concat([
        bag(("7-iron", 140.0), ("old faithful", 130.0)),
        bag(("8-iron", 126.0), ball="range"),
    ])  # fmt: skip
    table = club_gaps(clubs)
    assert table.select("longer_club", "shorter_club").rows() == [("7-iron", "old faithful")]
    assert table["verdict"].to_list() == table["expected_gap_m"].to_list() == [None]


def test_no_neighbours_give_an_empty_table() -> None:
    assert club_gaps(bag(("7-iron", 140.0))).height == 0
    assert club_gaps(bag(("7-iron", 140.0), swing="9:00")).height == 0


def test_a_fitted_bag() -> None:
    learn, _, _ = make_players(2, 40, 4, seed=61)
    table = club_gaps(CarryModel().fit(learn).parameters_)
    assert table.height == 14
    assert (table["gap_m"] > 0.0).all()
    assert table["overlap_probability"].is_between(0.0, 0.5).all()
