"""The SQL macro against the full flight, and the view of common conditions against the macro."""

from __future__ import annotations

import itertools

import duckdb
import numpy as np
import pytest
from rangeledger.models.air.air_conditions import air_density_of
from rangeledger.models.air.wind_profile import speed_and_from
from rangeledger.models.flight.trajectory import fly
from rangeledger.warehouse.home import Home

pytestmark = [pytest.mark.prefect, pytest.mark.slow]
PLAYER, YARD_M = "Tamsin Orrelle", 0.9144
CONDITIONS = list(itertools.product((-12, -5, 0, 7), (-8, 0, 6), (-5, 15, 40), (0, 1200, 2500)))


@pytest.fixture(scope="module")
def published(demo_home: Home) -> duckdb.DuckDBPyConnection:
    return duckdb.connect(str(demo_home.database), read_only=True)


@pytest.mark.parametrize(
    ("club", "swing"), [("driver", "full"), ("7-iron", "full"), ("54-wedge", "9:00")]
)
def test_the_macro_is_within_a_yard_of_the_full_flight(
    published: duckdb.DuckDBPyConnection, club: str, swing: str
) -> None:
    launch = published.execute(
        "SELECT median(ball_speed_mps), median(launch_angle_deg),"
        " coalesce(median(launch_direction_deg), 0),"
        " median(spin_rate_rpm), coalesce(median(spin_axis_deg), 0) FROM shots"
        " WHERE player = $1 AND club = $2 AND swing = $3 AND strike = 'clean'",
        [PLAYER, club, swing],
    ).fetchone()
    scales = published.execute(
        "SELECT drag_scale, lift_scale FROM ball_calibration WHERE player = $1 AND club = $2"
        " ORDER BY shots_used DESC LIMIT 1",
        [PLAYER, club],
    ).fetchone()
    assert launch is not None
    assert scales is not None
    head, cross, temp, up = (np.array(values, float) for values in zip(*CONDITIONS, strict=True))
    speed, origin = speed_and_from(head, cross)
    density = air_density_of(temp, np.full(len(head), np.nan), np.full(len(head), 50.0), up)
    ball = {"drag_scale": scales[0], "lift_scale": scales[1]}
    windy = fly(*launch, air_density_kgm3=density.air_density_kgm3, wind_speed_mps=speed,
                wind_from_deg=origin, **ball)  # fmt: skip
    still = fly(*launch, **ball)
    for number, condition in enumerate(CONDITIONS):
        answer = published.execute(
            "SELECT carry_m, side_m FROM carry_in($1, $2, $3, $4, $5, $6)"
            " WHERE swing = $7 AND ball = 'premium'",
            [PLAYER, club, *condition, swing],
        ).fetchone()
        base = published.execute(
            "SELECT carry_m, side_m FROM carry_by_club"
            " WHERE player = $1 AND club = $2 AND swing = $3 AND ball = 'premium'",
            [PLAYER, club, swing],
        ).fetchone()
        assert answer is not None
        assert base is not None
        change = np.subtract(answer, base)
        full = (windy.carry_m[number] - still.carry_m,
                windy.carry_side_m[number] - still.carry_side_m)  # fmt: skip
        assert change == pytest.approx(full, abs=1.0 * YARD_M), condition


def test_in_reference_air_the_macro_gives_the_still_air_carry(
    published: duckdb.DuckDBPyConnection,
) -> None:
    row = published.execute(
        "SELECT a.carry_yd - b.carry_yd, a.side_yd - b.side_yd, a.carry_sd_yd - b.carry_sd_yd"
        " FROM carry_in($1, 'driver') AS a"
        " JOIN carry_by_club AS b USING (player, club, swing, ball)",
        [PLAYER],
    ).fetchall()
    assert row
    assert np.allclose(row, 0.0, atol=1e-9)


def test_beyond_its_range_the_macro_holds_the_conditions(
    published: duckdb.DuckDBPyConnection,
) -> None:
    asked = "SELECT carry_m FROM carry_in($1, 'driver', $2, 0, 20, 0)"
    at_limit = published.execute(asked, [PLAYER, 12]).fetchall()
    assert published.execute(asked, [PLAYER, 40]).fetchall() == at_limit


@pytest.mark.parametrize(
    ("conditions", "held"),
    [
        ("12, -12, 40, 2500", None),
        ("20, 0, 20, 0", "wind held at 12 m/s along"),
        ("0, -15, -30, -50",
         "wind held at -12 m/s across; air held at -5 degC; altitude held at 0 m"),
    ],
)  # fmt: skip
def test_the_macro_says_which_conditions_it_holds(
    published: duckdb.DuckDBPyConnection, conditions: str, held: str | None
) -> None:
    rows = published.execute(f"SELECT held FROM carry_in($1, 'driver', {conditions})", [PLAYER])
    assert rows.fetchall() == [(held,)]


@pytest.mark.parametrize(
    "conditions", ["NULL, 0, 20, 0", "0, NULL, 20, 0", "0, 0, NULL, 0", "0, 0, 20, NULL"]
)
def test_an_unknown_condition_leaves_the_answer_unknown(
    published: duckdb.DuckDBPyConnection, conditions: str
) -> None:
    rows = published.execute(
        "SELECT carry_m, carry_yd, side_yd, carry_sd_yd, side_sd_yd, held"
        f" FROM carry_in($1, 'driver', {conditions})",
        [PLAYER],
    )
    assert rows.fetchall() == [(None,) * 6]


def test_the_view_says_what_the_macro_says(published: duckdb.DuckDBPyConnection) -> None:
    view = published.execute(
        "SELECT headwind_carry_yd, tailwind_carry_yd, crosswind_side_yd, warm_carry_yd,"
        " altitude_carry_yd FROM wind_response WHERE player = $1 AND club = '7-iron'",
        [PLAYER],
    ).fetchone()
    still = "(SELECT {0} FROM carry_in($1, '7-iron'))"
    conditions = ["5, 0, 23.888888888888889, 0", "-5, 0, 23.888888888888889, 0",
                  "0, 5, 23.888888888888889, 0", "0, 0, 33.888888888888889, 0",
                  "0, 0, 23.888888888888889, 1000"]  # fmt: skip
    columns = ["carry_yd", "carry_yd", "side_yd", "carry_yd", "carry_yd"]
    macro = [
        published.execute(
            f"SELECT {column} - {still.format(column)} FROM carry_in($1, '7-iron', {condition})",
            [PLAYER],
        ).fetchone()
        for condition, column in zip(conditions, columns, strict=True)
    ]
    assert view == pytest.approx([row[0] for row in macro if row], abs=1e-9)


def test_common_rules_of_the_trade_hold_widely(published: duckdb.DuckDBPyConnection) -> None:
    # Common practice, no source: head wind 1 % a mph, helping half of that, 10-15 yd of drift in
    # 10 mph on a full shot, 2 yd per 10 F, 1.0-1.2 % per 1,000 ft. Wide bands: rules of thumb.
    for club in ("driver", "7-iron"):
        row = published.execute(
            "SELECT headwind_carry_yd / carry_yd / 11.18, tailwind_carry_yd / carry_yd / 11.18,"
            " crosswind_side_yd * 10 / 11.18, warm_carry_yd / 1.8,"
            " altitude_carry_yd / carry_yd / 3.281"
            " FROM wind_response JOIN carry_by_club USING (player, club, swing)"
            " WHERE player = $1 AND club = $2 AND ball = 'premium'",
            [PLAYER, club],
        ).fetchone()
        assert row is not None
        assert -0.016 < row[0] < -0.004
        assert 0.002 < row[1] < 0.012
        assert 7 < row[2] < 20
        assert 0.5 < row[3] < 4
        assert 0.006 < row[4] < 0.020
