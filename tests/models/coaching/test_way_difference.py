"""Which way carries farther: days in common, days apart, and least squares by hand."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.coaching.way_difference import way_difference

from tests.models.other_players import JUDGED_ON, Season, make_season


def cells(carry: dict[tuple[str, str], float], shots: int = 4) -> pl.DataFrame:
    """Shots of one player, so many with one carry a club and day."""
    rows = [
        ("Ada Brook", club, "full", session, "clean", metres)
        for (club, session), metres in carry.items()
        for _ in range(shots)
    ]
    names = ("player", "club", "swing", "session_id", "strike", "still_carry_m")
    return pl.DataFrame(rows, schema=names, orient="row")


def test_days_in_common_cancel() -> None:
    """Two days 10 % apart, both ways on each: the difference is 2 % for both, by construction."""
    first = cells({("7-iron", "s1"): 102.0, ("7-iron", "s2"): 112.2})
    second = cells({("7-iron", "s1"): 100.0, ("7-iron", "s2"): 110.0})
    found = way_difference(first, second)
    assert found is not None
    assert found.mean == pytest.approx(np.log(1.02))
    apart = way_difference(first.filter(pl.col("session_id") == "s1"),
                           second.filter(pl.col("session_id") == "s2"))  # fmt: skip
    assert apart is not None
    assert apart.standard_error > 1.4 * found.standard_error


def test_clubs_of_one_day_share_it() -> None:
    """Six clubs on one day against six on another: far from sqrt(6) times as sure as one club."""
    names = [f"{number}-iron" for number in range(3, 9)]
    one, six = (
        way_difference(
            cells({(name, "s1"): 100.0 for name in names[:count]}, 20),
            cells(
                {(name, "s2"): 102.0 - 4.0 * (k % 2) for k, name in enumerate(names[:count])}, 20
            ),
        )
        for count in (1, 6)
    )
    assert one is not None
    assert six is not None
    assert six.standard_error > 0.6 * one.standard_error


def test_equal_ways_are_told_apart_as_rarely_as_stated() -> None:
    """160 players of four makes that nothing was tuned on, every other day the other way."""
    wrong = []
    for place, make in enumerate(JUDGED_ON.values()):
        made = make_season(40, make, Season(sessions=6, clubs=3), seed=71 + place)
        strikes = CarryModel().fit(made.shots).strikes_["strike"]
        for player in made.shots.with_columns(strikes).partition_by("player"):
            even = pl.col("visit") % 2 == 0
            found = way_difference(player.filter(even), player.filter(~even))
            assert found is not None
            wrong.append(not found.quantile(0.05) <= 0.0 <= found.quantile(0.95))
    # Nominal 10 %; three errors of a binomial share are 0.07.
    assert np.mean(wrong) < 0.10 + 0.07


def test_no_common_club_no_answer() -> None:
    first, second = cells({("7-iron", "s1"): 100.0}), cells({("driver", "s1"): 200.0})
    assert way_difference(first, second) is None
