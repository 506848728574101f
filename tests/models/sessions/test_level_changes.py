"""Changes of level: noticed at the stated rate, named days, and rows in tables."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl
import pytest
from rangeledger.models.clubs.carry_model import CarryModel
from rangeledger.models.sessions.level_changes import FAMILY_RATE, level_changes

from tests.models.other_players import JUDGED_ON, START, Make, Season, make_season, name_of

QUIET = Make(carry_drift=0.008)


def noticed(make: Make, season: Season, seed: int, players: int = 60) -> pl.DataFrame:
    made = make_season(players, make, season, seed=seed)
    return level_changes(CarryModel().fit(made.shots))


def test_a_steady_player_is_rarely_said_to_have_changed() -> None:
    """200 players of four makes that nothing was tuned on; three errors of a binomial share."""
    told = sum(
        noticed(make, Season(sessions=8, clubs=4), 31 + place, 50).height
        for place, make in enumerate(JUDGED_ON.values())
    )
    assert told / 200 <= FAMILY_RATE + 3.0 * (FAMILY_RATE * (1.0 - FAMILY_RATE) / 200) ** 0.5


@pytest.mark.parametrize(("after", "bar"), [(1, 0.4), (2, 0.7), (3, 0.8)])
def test_a_step_of_four_per_cent_is_noticed(after: int, bar: float) -> None:
    """Players whose days differ by 0.8 %; the bars stand for how soon it is told."""
    found = noticed(QUIET, Season(sessions=10, step=0.04, after=after), 41)
    assert found.height / 60 > bar
    assert (found["change"].abs() - 4.0).abs().median() < 1.0
    assert found["changed"].all()
    one = found.filter(pl.col("sessions_after") == 1)
    assert one["provisional"].all()
    assert not found.filter(pl.col("sessions_after") > 1)["provisional"].any()


def test_before_and_after_a_named_day() -> None:
    """Four sessions after a step of 5 %; the interval holds it in about 90 of 100 players."""
    made = make_season(60, QUIET, Season(sessions=9, step=0.05, after=4), seed=51)
    day = (START + timedelta(weeks=4, days=3)).date()
    told = {name_of(number): {day: "lesson"} for number in range(60)}
    found = level_changes(CarryModel().fit(made.shots), told).filter(pl.col("kind") == "date")
    assert found.height == 60
    assert found["what"].unique().to_list() == ["lesson"]
    assert found.select("sessions_before", "sessions_after").unique().row(0) == (5, 4)
    truth = pl.Series(100.0 * made.step)
    sign = truth.sign()
    near = found["change"] * sign
    assert near.mean() == pytest.approx(5.0, abs=0.5)
    size = 100.0 * 0.05 * sign
    inside = (found["change_low"] <= size) & (size <= found["change_high"])
    assert inside.mean() > 0.8


def test_a_day_without_sessions_on_both_sides_says_nothing() -> None:
    made = make_season(2, QUIET, Season(sessions=3), seed=61)
    model = CarryModel().fit(made.shots)
    for day in (date(2020, 1, 1), date(2030, 1, 1)):
        assert level_changes(model, {name_of(0): {day: "new club"}}).height == 0
    one = make_season(2, QUIET, Season(sessions=1), seed=62)
    assert level_changes(CarryModel().fit(one.shots)).height == 0


def test_without_dates_nothing_is_noticed() -> None:
    made = make_season(3, QUIET, Season(sessions=6, step=0.1), seed=63)
    undated = made.shots.with_columns(struck_at=pl.lit(None, pl.Datetime("ms", "UTC")))
    assert level_changes(CarryModel().fit(undated)).height == 0
