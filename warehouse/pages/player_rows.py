"""What the pages read from the database: one frame a view, its columns named."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import polars as pl

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_CLUB = "club, swing, ball"
_QUERIES = {
    "carry": f"""
        SELECT {_CLUB}, shots, sessions, carry_m, carry_se_m, carry_sd_m, carry_within_sd_m,
               carry_p10_m, carry_p90_m, side_m, side_sd_m, mishit_rate, provisional, fitted_at,
               model_version
        FROM carry_by_club WHERE player = $1 ORDER BY carry_m DESC, club, swing, ball""",
    "ellipses": f"""
        SELECT {_CLUB}, level, centre_carry_m, centre_side_m, half_axis_long_m,
               half_axis_short_m, angle_deg, shots_held_out, share_inside
        FROM dispersion WHERE player = $1 ORDER BY club, swing, ball, level""",
    "shots": f"""
        SELECT {_CLUB}, still_carry_m, still_side_m, strike
        FROM shots WHERE player = $1 AND NOT excluded AND still_carry_m IS NOT NULL
        ORDER BY session_id, shot_number""",
    "trend": f"""
        SELECT {_CLUB}, session_id, started_at, shots, carry_m, carry_sd_m,
               level_m, level_low_m, level_high_m, change_m, change_low_m, change_high_m, changed
        FROM carry_trend WHERE player = $1 ORDER BY club, swing, ball, started_at, session_id""",
    "changes": """
        SELECT since, what, sessions_before, sessions_after, change, change_low, change_high,
               changed, provisional
        FROM level_changes WHERE player = $1 ORDER BY since, kind""",
    "monitors": """
        SELECT monitor, reference, apart, told
        FROM monitors WHERE player = $1 ORDER BY reference DESC, monitor""",
    "sessions": """
        SELECT session_id, started_at, shots, clubs, air_temp_c, altitude_m, wind_source,
               head_wind_mps, cross_wind_mps, excluded
        FROM sessions WHERE player = $1 ORDER BY started_at, session_id""",
    "shape": """
        SELECT club, shots, start_direction_deg, start_direction_sd_deg, curve_deg, curve_sd_deg,
               share_curving_left, share_straight, share_curving_right, stock_shape,
               share_stock_shape, share_stock_low, share_stock_high, two_way, width_m
        FROM shot_shape WHERE player = $1 ORDER BY club""",
    "gaps": """
        SELECT ball, longer_club, shorter_club, gap_m, gap_low_m, gap_high_m,
               overlap_probability, verdict
        FROM club_gaps WHERE player = $1 ORDER BY ball, longer_carry_m DESC""",
    "wedges": """
        SELECT ball, target_m, rank, club, swing, carry_m, expected_miss_m, hole_note
        FROM wedge_grid WHERE player = $1 ORDER BY ball, target_m, rank""",
    "flags": f"""
        SELECT {_CLUB}, session_id, started_at, probability, cause
        FROM session_flags WHERE player = $1 ORDER BY started_at, session_id, club, swing""",
    # A database of an earlier version tells nothing by break.
    "putting": "SELECT * FROM putting_start_line WHERE player = $1",
}

ALL_ROWS = tuple(_QUERIES)

# Views that a database may lack, whole or in part, with the columns of an empty answer.
_LATER: dict[str, tuple[str, dict[str, Any]]] = {
    "trend": (
        "carry_trend",
        {"club": pl.String, "swing": pl.String, "ball": pl.String, "session_id": pl.String,
         "started_at": pl.Datetime, "shots": pl.Int32, "carry_m": pl.Float64,
         "carry_sd_m": pl.Float64, "level_m": pl.Float64, "level_low_m": pl.Float64,
         "level_high_m": pl.Float64, "change_m": pl.Float64, "change_low_m": pl.Float64,
         "change_high_m": pl.Float64, "changed": pl.Boolean},
    ),
    "changes": (
        "level_changes",
        {"since": pl.Datetime, "what": pl.String, "sessions_before": pl.Int32,
         "sessions_after": pl.Int32, "change": pl.Float64, "change_low": pl.Float64,
         "change_high": pl.Float64, "changed": pl.Boolean, "provisional": pl.Boolean},
    ),
    "monitors": (
        "monitors",
        {"monitor": pl.String, "reference": pl.Boolean, "apart": pl.Boolean, "told": pl.String},
    ),
    "shape": (
        "shot_shape",
        {"club": pl.String, "shots": pl.Int32, "start_direction_deg": pl.Float64,
         "start_direction_sd_deg": pl.Float64, "curve_deg": pl.Float64,
         "curve_sd_deg": pl.Float64, "share_curving_left": pl.Float64,
         "share_straight": pl.Float64, "share_curving_right": pl.Float64,
         "stock_shape": pl.String, "share_stock_shape": pl.Float64,
         "share_stock_low": pl.Float64, "share_stock_high": pl.Float64, "two_way": pl.Boolean,
         "width_m": pl.Float64},
    ),
    "wedges": (
        "wedge_grid",
        {"ball": pl.String, "target_m": pl.Float64, "rank": pl.Int32, "club": pl.String,
         "swing": pl.String, "carry_m": pl.Float64, "expected_miss_m": pl.Float64,
         "hole_note": pl.String},
    ),
    "flags": (
        "session_flags",
        {"club": pl.String, "swing": pl.String, "ball": pl.String, "session_id": pl.String,
         "started_at": pl.Datetime, "probability": pl.Float64, "cause": pl.String},
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class PlayerRows:
    """Frames of one player, lengths in metres.

    Parameters
    ----------
    player : str
        Name as the database has it.
    carry, ellipses, shots, trend, changes, monitors, sessions, shape, gaps, wedges, flags, putting
        polars.DataFrame: rows of the views, with the columns of the queries above.
    """

    player: str
    carry: pl.DataFrame
    ellipses: pl.DataFrame
    shots: pl.DataFrame
    trend: pl.DataFrame
    changes: pl.DataFrame
    monitors: pl.DataFrame
    sessions: pl.DataFrame
    shape: pl.DataFrame
    gaps: pl.DataFrame
    wedges: pl.DataFrame
    flags: pl.DataFrame
    putting: pl.DataFrame


def usual_ball(carry: pl.DataFrame) -> str:
    """The ball that was hit most.

    Parameters
    ----------
    carry : polars.DataFrame
        Rows of carry_by_club.

    Returns
    -------
    str
        Kind of ball, empty where there are no rows.
    """
    if carry.is_empty():
        return ""
    totals = carry.group_by("ball").agg(pl.col("shots").sum()).sort("shots", "ball")
    return str(totals["ball"][-1])


def player_rows(
    connection: DuckDBPyConnection, player: str, only: Collection[str] = ALL_ROWS
) -> PlayerRows:
    """Read what the pages show of a player.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Opened database.
    player : str
        Name as the database has it.
    only : collection of str
        Frames that are needed; the others stay without rows and columns.

    Returns
    -------
    PlayerRows
    """
    frames = dict.fromkeys(set(_QUERIES) - set(only), pl.DataFrame())
    there = _columns_there(connection)
    for name in only:
        query = _QUERIES[name]
        if name in _LATER and not set(_LATER[name][1]) <= there.get(_LATER[name][0], set()):
            frames[name] = pl.DataFrame(schema=_LATER[name][1])
        else:
            frames[name] = connection.execute(query, [player]).pl()
    return PlayerRows(player=player, **frames)


# Distances of a page in metres: round ones, as far as those in yards go.
_ROUND_M = range(30, 121, 5)


def with_round_metres(rows: PlayerRows, connection: DuckDBPyConnection) -> PlayerRows:
    """The same with wedges for round distances in metres instead of yards.

    Parameters
    ----------
    rows : PlayerRows
        What was read of the player.
    connection : duckdb.DuckDBPyConnection
        Opened database.

    Returns
    -------
    PlayerRows
    """
    from rangeledger.models.coaching.wedge_grid import wedge_grid

    models = connection.execute(
        "SELECT * FROM shot_distribution WHERE player = $1", [rows.player]
    ).pl()
    wedges = wedge_grid(models, targets_m=list(_ROUND_M)).select(rows.wedges.columns)
    return replace(rows, wedges=wedges.sort("ball", "target_m", "rank"))


def _columns_there(connection: DuckDBPyConnection) -> dict[str, set[str]]:
    """Columns of the views that a database may lack, asked once: the catalog is slow to read."""
    views = [view for view, _ in _LATER.values()]
    rows = connection.execute(
        "SELECT table_name, list(column_name) FROM duckdb_columns() "
        "WHERE list_contains($1, table_name) GROUP BY table_name", [views],
    ).fetchall()  # fmt: skip
    return {str(view): set(columns) for view, columns in rows}
