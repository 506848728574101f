"""The bag of a player from the database."""

from __future__ import annotations

from collections.abc import Iterator

import duckdb
import numpy as np
import pytest
from rangeledger.schemas.errors import NotEnoughShotsError, UsageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.pages.bag import all_players, bag_of, player_named
from rangeledger.warehouse.pages.day_rules import by_hand_words, day_rules, rule_cells
from rangeledger.warehouse.pages.units import METRES, YARDS
from rangeledger.warehouse.published import published

from tests.made_home import ADA, BAG, HOSTILE


@pytest.fixture(scope="module")
def database(made_home: Home) -> Iterator[duckdb.DuckDBPyConnection]:
    with published(made_home) as connection:
        yield connection


def test_clubs_come_longest_first_with_their_own_launch(
    database: duckdb.DuckDBPyConnection,
) -> None:
    bag = bag_of(database, ADA)
    carries = [club.pattern.carry_m for club in bag]
    assert carries == sorted(carries, reverse=True)
    assert {(club.pattern.club, club.pattern.swing) for club in bag} == {b[:2] for b in BAG}
    iron = next(club for club in bag if club.pattern.club == "7-iron")
    # The invented launch: 50.5 m/s, 17 deg, 6700 rpm; spreads of 24 shots, three standard errors.
    assert iron.launch.stock.ball_speed_mps == pytest.approx(50.5, abs=0.8)
    assert iron.launch.stock.launch_angle_deg == pytest.approx(17.0, abs=0.8)
    assert iron.launch.stock.spin_rate_rpm == pytest.approx(6700.0, rel=0.06)
    assert iron.launch.shots >= 18
    assert (iron.shots, iron.sessions) == (24, 4)


@pytest.mark.parametrize("asked", [ADA, "ADA BROOK", "ada", "broo"])
def test_players_are_found_by_name_or_beginning(
    database: duckdb.DuckDBPyConnection, asked: str
) -> None:
    assert player_named(database, asked) == ADA


def test_all_players_by_name(database: duckdb.DuckDBPyConnection) -> None:
    assert all_players(database) == sorted([ADA, HOSTILE])


@pytest.mark.parametrize("asked", [None, "zz"])
def test_unclear_names_list_who_there_is(
    database: duckdb.DuckDBPyConnection, asked: str | None
) -> None:
    with pytest.raises(UsageError, match=ADA):
        player_named(database, asked)


def test_a_ball_that_was_never_hit(database: duckdb.DuckDBPyConnection) -> None:
    with pytest.raises(NotEnoughShotsError, match="'range'"):
        bag_of(database, ADA, "range")


def test_day_rules_agree_with_the_view_of_wind_response(
    database: duckdb.DuckDBPyConnection,
) -> None:
    # Two codings: our own flights of the stock launch, and the fitted polynomial of the view
    # (stated to be within 0.6 yd of the full flight for carry, 0.4 yd for side).
    rules = day_rules(METRES, "ball")
    for club in bag_of(database, ADA):
        row = database.execute(
            "SELECT headwind_carry_m, tailwind_carry_m, abs(crosswind_side_m), cold_carry_m "
            "FROM wind_response WHERE player = $1 AND club = $2 AND swing = $3",
            [ADA, club.pattern.club, club.pattern.swing],
        ).fetchone()
        cells = [cell.replace("−", "-") for cell in rule_cells(club, rules, METRES)][:4]
        # Rounded to whole metres, and launches averaged in different ways.
        np.testing.assert_allclose([float(cell) for cell in cells], row, atol=1.5)


def test_a_wind_read_by_hand_does_more_than_one_of_a_weather_report(
    database: duckdb.DuckDBPyConnection,
) -> None:
    """The laws' ratio at 13 m: 1.28 of a wind at 2 m against 1.05 of one at 10 m, a fifth more."""
    club = bag_of(database, ADA)[0]
    report, by_hand = (
        float(rule_cells(club, day_rules(METRES, height), METRES)[0].replace("−", "-"))
        for height in ("weather", "player")
    )
    assert by_hand / report == pytest.approx(1.24, abs=0.08)
    told = by_hand_words(club, METRES)
    assert f"5 m/s head is −{-by_hand:.0f}, not −{-report:.0f}, with the driver" in told


def test_customary_rules_go_with_yards() -> None:
    words = [rule.words for rule in day_rules(YARDS)]
    assert words == ["10 mph head", "10 mph tail", "10 mph cross", "20 °F colder", "1,000 ft up"]
