"""What a target plan needs: the ball in place, the day's air, the player's clubs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from rangeledger.models.air.air_conditions import air_density_of
from rangeledger.models.air.wind_profile import noted_profile
from rangeledger.models.flight.day_flight import Conditions
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.hole_geometry import LIE_OF_GROUND, Ground, Hole
from rangeledger.models.strategy.lay_up import GoOrLayUp, go_or_lay_up
from rangeledger.models.strategy.strokes_surface import ground_grid
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.models.strategy.target_choice import TargetChoice
from rangeledger.models.strategy.tee_shot import StockShape, fairway_by_aim
from rangeledger.pipelines.holes.course_words import lie_of
from rangeledger.pipelines.holes.target_rows import fairway_rows
from rangeledger.pipelines.holes.target_words import shape_words
from rangeledger.schemas.columns import WIND_HEIGHTS
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import YARD_M
from rangeledger.warehouse.pages.bag import bag_of, player_named
from rangeledger.warehouse.published import published

if TYPE_CHECKING:
    import polars as pl
    from duckdb import DuckDBPyConnection
    from rangeledger.warehouse.home import Home

# Distances left at which going and laying up are compared [yd].
_FIRST_YD, _STEP_YD, _BEYOND_YD = 140, 20, 40


def placed(hole: Hole, distance_left_yd: float | None, lie: str | None) -> Hole:
    """The hole with the ball where the user says.

    Parameters
    ----------
    hole : Hole
        As in its file.
    distance_left_yd : float or None
        Distance left to the flag, on the line of play [yd]; None leaves the ball.
    lie : str or None
        Lie of the ball; None takes the ground there, or the file's.

    Returns
    -------
    Hole

    Raises
    ------
    UsageError
        If the line of play is never so far from the flag, or the lie is unknown.
    """
    if lie is not None:
        lie_of(lie, "--lie")
    if distance_left_yd is None:
        return hole.played_from(hole.ball, lie or hole.lie)
    try:
        spot = hole.spot_at_distance_left(distance_left_yd * YARD_M)
    except UsageError as error:
        raise UsageError(
            f"Hole '{hole.name}' has no spot {distance_left_yd:g} yd from the flag on its line; "
            "give a smaller --distance-left-yd."
        ) from error
    ground = Ground(int(hole.ground(spot)))
    return hole.played_from(spot, lie or LIE_OF_GROUND.get(ground, "rough"))


def day_conditions(
    hole: Hole,
    wind_speed_mps: float,
    wind_from_deg: float,
    air: Sequence[float | None],
    wind_height: str = WIND_HEIGHTS[0],
) -> Conditions:
    """Wind and air of the day on a hole.

    Parameters
    ----------
    hole : Hole
        The hole; the wind is told from its line between ball and flag.
    wind_speed_mps : float
        Wind speed [m/s].
    wind_from_deg : float
        Where it comes from, 0 in the face on that line [deg].
    air : sequence of float or None
        Temperature [degC], station pressure [hPa], humidity [%], altitude [m]; None where
        unknown.
    wind_height : str
        Where the wind was taken, one of `WIND_HEIGHTS`.

    Returns
    -------
    Conditions
        Told from the along axis of the hole, from which aims are counted.
    """
    density = air_density_of(*(np.nan if value is None else value for value in air))
    return Conditions(
        wind_speed_mps=wind_speed_mps,
        wind_from_deg=wind_from_deg + float(np.degrees(hole.flag_aim_rad)),
        air_density_kgm3=float(density.air_density_kgm3),
        landing_height_m=hole.flag_rise_m,
        wind_profile=noted_profile(wind_height),
    )


def options_of(home: Home, player: str | None, ball: str | None) -> tuple[str, list[Option]]:
    """A player and the clubs and swings to choose from.

    Parameters
    ----------
    home : Home
        Where the database is.
    player : str or None
        Name; None where there is one player.
    ball : str or None
        Kind of ball.

    Returns
    -------
    player : str
        The name as the database has it.
    options : list of Option

    Raises
    ------
    UsageError
        If the player is unknown.
    NotEnoughShotsError
        If the player has no club models.
    """
    with published(home) as connection:
        name = player_named(connection, player)
        return name, [club.option for club in bag_of(connection, name, ball)]


def stock_shape_of(connection: DuckDBPyConnection, player: str, club: str) -> StockShape | None:
    """What a club's stock shape alone is, where its shots show two curves.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Opened database.
    player, club : str
        As the database has them.

    Returns
    -------
    StockShape or None
        None where one curve explains the shots as well.
    """
    row = connection.execute(_STOCK_SHAPE_SQL, [player, club]).fetchone()
    if row is None or row[1] is None:
        return None
    return StockShape(str(row[0]), float(row[1]), float(row[2]))


def fairway_answer(
    connection: DuckDBPyConnection,
    player: str | None,
    choice: TargetChoice,
    conditions: Conditions,
) -> tuple[pl.DataFrame, str]:
    """The fairway by aim for the best choice, with one shape and with both.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Opened database.
    player : str or None
        Name; None where there is one player.
    choice : TargetChoice
        What was found.
    conditions : Conditions
        Wind and air.

    Returns
    -------
    rows : polars.DataFrame
        One row an aim; none on a hole without fairway.
    words : str
        Which of the two the player hits now.
    """
    best = choice.options[0]
    club = best.option.pattern.club
    shape = stock_shape_of(connection, player_named(connection, player), club)
    by_aim = fairway_by_aim(choice.hole, choice.surface, best.option, conditions, stock_shape=shape)
    rows = fairway_rows(choice.hole, best, by_aim)
    mown = bool(choice.hole.of(Ground.FAIRWAY))
    return rows if mown else rows.clear(), shape_words(club, shape)


# Shots curve from where they start to where they land; those of the other side are left out.
_STOCK_SHAPE_SQL = """
WITH shape AS (
    SELECT *, share_curving_right > share_curving_left AS to_right FROM shot_shape
    WHERE player = $1 AND club = $2 AND width_gain_m IS NOT NULL
), shot AS (
    SELECT still_side_m AS side, degrees(atan2(still_side_m, still_carry_m))
        - launch_direction_deg AS curve
    FROM shots WHERE player = $1 AND club = $2 AND strike = 'clean' AND NOT excluded
)
SELECT stock_shape,
    (SELECT median(side) FILTER (WHERE (curve > 0) = to_right) - median(side) FROM shot),
    width_stock_m / width_m
FROM shape
"""


def lay_ups(
    hole: Hole, options: Sequence[Option], table: StrokesToHoleOut, conditions: Conditions
) -> list[GoOrLayUp]:
    """Going against laying up at each distance left on the line of play.

    Parameters
    ----------
    hole : Hole
        The hole.
    options : sequence of Option
        The player's clubs.
    table : StrokesToHoleOut
        Strokes to hole out.
    conditions : Conditions
        Wind and air.

    Returns
    -------
    list of GoOrLayUp
        From 140 yd, or well inside the reach of a short hitter, to a little beyond the longest
        club, every 20 yd, as far as the hole goes, each from the fairway, and among them the
        ball as it lies, where that is not on the tee.
    """
    longest = max(option.pattern.carry_m for option in options)
    most = min(longest / YARD_M + _BEYOND_YD, hole.distance_m / YARD_M - _STEP_YD)
    first = min(_FIRST_YD, int(0.65 * longest / YARD_M) // _STEP_YD * _STEP_YD)
    distances = [yards * YARD_M for yards in range(first, int(most) + 1, _STEP_YD)]
    if hole.lie == "fairway":
        distances = [far for far in distances if abs(far - hole.distance_m) > 0.5]
    spots = [hole.played_from(hole.spot_at_distance_left(far), "fairway") for far in distances]
    if hole.lie != "tee":
        spots = sorted([*spots, hole], key=lambda spot: spot.distance_m)
    grid = ground_grid(hole, reach_m=hole.distance_m + longest)
    return go_or_lay_up(spots, options, table, conditions, grid=grid)
