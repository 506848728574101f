"""The same visit in other units, another zone, to fewer digits, under a name or none."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from rangeledger.warehouse import database
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

from tests.shots import START, make_shots
from tests.warehouse.test_database import put

YARD, MILE_AN_HOUR = 0.9144, 0.44704  # exactly (NIST SP 811, appendix B.8)
UNITS = {"yd": ("m", YARD), "ft": ("m", 0.3048), "mph": ("m/s", MILE_AN_HOUR),
         "km/h": ("m/s", 1 / 3.6)}  # fmt: skip
COUNT = 40


def printed(values: np.ndarray, unit: str, decimals: int) -> list[float]:
    """Values [SI] as an export prints them in a unit, read back."""
    size = UNITS[unit][1] if unit in UNITS else 1.0
    return (np.round(values / size, decimals) * size).tolist()


def visit(length: str, speed: str, decimals: int, count: int = COUNT, **constant: object):
    """One visit of 7-irons, printed in some units."""
    chance = np.random.default_rng(7)
    carry, launch = chance.normal(140, 5, COUNT), chance.normal(17, 1.2, COUNT)
    measured = {
        "ball_speed_mps": printed(chance.normal(52, 1, COUNT), speed, decimals),
        "launch_angle_deg": printed(launch, "deg", 1),
        "spin_rate_rpm": printed(chance.normal(6500, 300, COUNT), "rpm", 0),
        "carry_side_m": printed(chance.normal(0, 5, COUNT), length, decimals),
        "apex_m": printed(chance.normal(27, 2, COUNT), length, decimals),
    }
    given = {name: values[:count] for name, values in measured.items()} | constant
    return make_shots(printed(carry, length, decimals)[:count], **given)


def struck(step: timedelta = timedelta(), every: int = 37) -> list[object]:
    return [START + step + timedelta(seconds=every * n) for n in range(COUNT)]


def counted(home: Home) -> tuple[int, int]:
    with database.open_ledger(home) as connection:
        rows = connection.execute(
            "SELECT (SELECT count(*) FROM shots), (SELECT count(*) FROM sessions)"
        ).fetchall()
    return rows[0]


PRINTED = [
    ("yd", "mph", 1), ("ft", "km/h", 1), ("m", "m/s", 2), ("yd", "mph", 0), ("yd", "km/h", 2),
]  # fmt: skip
ZONES = [0.0, 2.0, -7.0, 5.75]


@pytest.mark.parametrize(
    ("length", "speed", "decimals", "hours"),
    [
        # The suite has each unit and each zone, the coarsest print in the oddest zone.
        pytest.param(*unit, hours, marks=() if (place + 1) % 4 == at else pytest.mark.long)
        for place, unit in enumerate(PRINTED)
        for at, hours in enumerate(ZONES)
    ],
)
def test_a_visit_in_other_units_and_another_zone_counts_once(
    home: Home, length: str, speed: str, decimals: int, hours: float
) -> None:
    put(home, 1, visit("m", "m/s", 1, struck_at=struck()))
    again = struck(timedelta(hours=hours))
    put(home, 2, visit(length, speed, decimals, struck_at=again, source_file="e" * 64,
                       session_id="s2"))  # fmt: skip
    assert counted(home) == (COUNT, 1)


def test_times_to_the_minute_and_to_the_second_are_the_same_times(home: Home) -> None:
    at = struck(every=97)
    put(home, 1, visit("m", "m/s", 1, struck_at=at))
    minutes = [moment.replace(second=0) for moment in at]
    put(home, 2, visit("yd", "mph", 1, struck_at=minutes, source_file="e" * 64))
    assert counted(home) == (COUNT, 1)


@pytest.mark.parametrize("day", [None, START.replace(hour=0) - timedelta(hours=2)])
@pytest.mark.parametrize("newest_first", [True, False])
def test_a_copy_without_times_or_with_a_day_alone_is_the_same_visit(
    home: Home, day: object, newest_first: bool
) -> None:
    timed = visit("yd", "mph", 1, struck_at=struck())
    other = visit("m", "m/s", 1, struck_at=[day] * COUNT, source_file="e" * 64, session_id="s2")
    for number, shots in enumerate([other, timed] if newest_first else [timed, other], 1):
        put(home, number, shots)
    assert counted(home) == (COUNT, 1)
    if day is None:
        with database.open_ledger(home) as connection:
            rows = connection.execute("SELECT count(struck_at) FROM shots").fetchall()
        assert rows == [(COUNT,)]


def test_another_visit_with_the_same_club_is_another(home: Home) -> None:
    put(home, 1, visit("m", "m/s", 1, struck_at=struck()))
    chance = np.random.default_rng(8)
    other = visit("m", "m/s", 1, struck_at=struck(), source_file="e" * 64).with_columns(
        pl.Series("carry_m", printed(chance.normal(140, 5, COUNT), "m", 1)),
        pl.Series("ball_speed_mps", printed(chance.normal(52, 1, COUNT), "m/s", 1)),
        pl.Series("spin_rate_rpm", printed(chance.normal(6500, 300, COUNT), "rpm", 0)),
    )
    put(home, 2, other)
    assert counted(home) == (2 * COUNT, 1)


def test_one_corrected_value_among_many_leaves_the_shot_the_same(home: Home) -> None:
    first = visit("m", "m/s", 1, struck_at=struck())
    put(home, 1, first)
    put(home, 2, visit("m", "m/s", 1, struck_at=struck(), source_file="e" * 64).with_columns(
        pl.when(pl.col("shot_number") == 3).then(135.5).otherwise("carry_m").alias("carry_m")
    ))  # fmt: skip
    assert counted(home) == (COUNT, 1)
    with database.open_ledger(home) as connection:
        found = connection.execute("SELECT carry_m FROM shots WHERE shot_number = 3").fetchall()
    assert found == [(135.5,)]


@pytest.mark.parametrize("names", [("Ada Brook", "unknown"), ("unknown", "Ada Brook")])
def test_named_once_and_once_not_is_one_visit_of_the_player(
    home: Home, names: tuple[str, str]
) -> None:
    put(home, 1, visit("m", "m/s", 1, struck_at=struck(), player=names[0]))
    put(home, 2, visit("yd", "mph", 1, struck_at=struck(), player=names[1],
                       source_file="e" * 64, session_id="s2"))  # fmt: skip
    assert counted(home) == (COUNT, 1)
    with database.open_ledger(home) as connection:
        found = connection.execute("SELECT DISTINCT player, source_file FROM shots").fetchall()
    assert found == [("Ada Brook", "e" * 64)]


def test_the_order_of_loading_does_not_matter_to_what_is_the_same(home: Home) -> None:
    put(home, 1, visit("m", "m/s", 1, struck_at=struck(), player="unknown"))
    put(home, 2, visit("yd", "mph", 1, count=12, struck_at=struck()[:12], source_file="e" * 64))
    put(home, 3, visit("ft", "km/h", 1, struck_at=struck(timedelta(hours=1)),
                       source_file="d" * 64))  # fmt: skip
    tables = ("same_shots", "replaced_shots", "placed_shots", "counted_players", "versions")

    def told() -> list[object]:
        with database.open_ledger(home) as connection:
            return [connection.execute(f"FROM ledger.{t} ORDER BY ALL").fetchall() for t in tables]

    one_by_one = told()
    home.ledger.unlink()
    assert told() == one_by_one
    assert counted(home) == (COUNT, 1)


def test_putts_that_start_on_their_line_come_again_like_the_others(home: Home) -> None:
    chance = np.random.default_rng(3)
    speed = printed(chance.normal(2.0, 0.3, COUNT), "m/s", 2)
    start = np.where(np.arange(COUNT) % 5 == 0, 0.0, chance.normal(0, 1, COUNT).round(1)).tolist()
    putts = {
        "club": "putter", "ball_speed_mps": speed, "launch_direction_deg": start,
        "struck_at": struck(),
    }  # fmt: skip
    none: list[float | None] = [None] * COUNT
    for number, letter in ((1, "a"), (2, "b")):
        put(home, number, make_shots(none, source_file=letter * 64, **putts))  # type: ignore[arg-type]
    assert counted(home) == (COUNT, 1)


@pytest.mark.parametrize("column", ["monitor", "wind_height"])
def test_what_measured_and_where_a_wind_was_taken_change_what_fits_are_made_from(
    home: Home, tmp_path: Path, column: str
) -> None:
    found = []
    for place, word in enumerate(("player", "ball")):
        other = open_home(Home(tmp_path / f"home-{place}"))
        put(other, 1, make_shots([140.0, 150.0], **{column: word}))
        with database.open_ledger(other) as connection:
            query = "SELECT fingerprint FROM ledger.counted_players"
            found.append(connection.execute(query).fetchall())
    assert found[0] != found[1]
