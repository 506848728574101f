"""The players' models as a feed for simulators, and back.

The feed is plain JSON; `schemas/simulator_feed.schema.json` describes it. Every name carries its
unit. Numbers are in still air: no wind, 75 degF, 30.00 inHg, 50 % humidity, sea level.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from rangeledger.models.air.air_density import REFERENCE_AIR_DENSITY_KGM3
from rangeledger.models.clubs.shot_pattern import ShotPattern
from rangeledger.models.constants import (
    REFERENCE_HUMIDITY_PCT,
    REFERENCE_PRESSURE_HPA,
    REFERENCE_TEMP_C,
)
from rangeledger.models.flight.day_flight import Launch
from rangeledger.models.flight.launch_spread import LAUNCH_COLUMNS, LaunchSpread
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.pages.bag import BagClub, bag_of, one_ball_each, player_among

if TYPE_CHECKING:
    import polars as pl
    from duckdb import DuckDBPyConnection

FORMAT = "rangeledger-simulator-feed"
VERSION = 1
_LABELS = ("club", "swing", "ball")


def feed_of(connection: DuckDBPyConnection, players: Sequence[str]) -> dict[str, Any]:
    """The feed of players.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        Opened database.
    players : sequence of str
        Names as the database has them.

    Returns
    -------
    dict
        As the schema says; each ball of a club is a model of its own.
    """
    entries = []
    for player in players:
        balls = connection.execute(
            "SELECT DISTINCT ball FROM shot_distribution WHERE player = $1 ORDER BY ball", [player]
        ).fetchall()
        bags = [club for (ball,) in balls for club in bag_of(connection, player, ball)]
        entries.append({"player": player, "clubs": [_club(entry) for entry in bags]})
    return {
        "format": FORMAT,
        "version": VERSION,
        "reference_air": {
            "air_temp_c": REFERENCE_TEMP_C,
            "air_pressure_hpa": REFERENCE_PRESSURE_HPA,
            "humidity_pct": REFERENCE_HUMIDITY_PCT,
            "altitude_m": 0.0,
            "air_density_kgm3": float(REFERENCE_AIR_DENSITY_KGM3),
        },
        "players": entries,
    }


def _club(entry: BagClub) -> dict[str, Any]:
    pattern = asdict(entry.pattern)
    return {
        **{word: pattern.pop(word) for word in _LABELS},
        "shots": entry.shots,
        "sessions": entry.sessions,
        "landing": pattern,
        "launch": {
            "shots": entry.launch.shots,
            "mean": dict(zip(LAUNCH_COLUMNS, entry.launch.mean.tolist(), strict=True)),
            "drag_scale": entry.launch.stock.drag_scale,
            "lift_scale": entry.launch.stock.lift_scale,
            "covariance_columns": list(LAUNCH_COLUMNS),
            "covariance": entry.launch.covariance.tolist(),
        },
    }


def feed_json(feed: dict[str, Any]) -> str:
    """The feed as JSON text; every number is one that JSON has."""
    return json.dumps(feed, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def feed_rows(feed: dict[str, Any]) -> pl.DataFrame:
    """The feed as rows, one a player, club, swing and ball.

    Parameters
    ----------
    feed : dict
        As `feed_of` gives it.

    Returns
    -------
    polars.DataFrame
        Launch columns begin with `launch_`; their covariances are named for both parts.
    """
    import polars as pl

    rows = []
    for entry in feed["players"]:
        for club in entry["clubs"]:
            launch, covariance = club["launch"], club["launch"]["covariance"]
            pairs = [(i, j) for i in range(len(LAUNCH_COLUMNS)) for j in range(i + 1)]
            rows.append(
                {"player": entry["player"]}
                | {key: club[key] for key in (*_LABELS, "shots", "sessions")}
                | club["landing"]
                | {f"mean_{name}": value for name, value in launch["mean"].items()}
                | {name: launch[name] for name in ("drag_scale", "lift_scale")}
                | {
                    f"covariance_{LAUNCH_COLUMNS[i]}_{LAUNCH_COLUMNS[j]}": covariance[i][j]
                    for i, j in pairs
                }
            )
    return pl.DataFrame(rows, infer_schema_length=None)


def bag_in_feed(path: Path, player: str | None, ball: str | None) -> tuple[str, list[BagClub]]:
    """A player's bag from an exported feed.

    Parameters
    ----------
    path : pathlib.Path
        JSON file of `rangeledger export`.
    player : str or None
        Name or its beginning, in any case; None where the feed has one player.
    ball : str or None
        Kind of ball; None takes for each club the same one as the home would.

    Returns
    -------
    name : str
        The player.
    bag : list of BagClub
        Models as they were exported, longest first.

    Raises
    ------
    UsageError
        If the file is no such feed, or does not have the player.
    """
    try:
        feed = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        raise UsageError(f"{path}: there is no such file. Check the path.") from error
    except (OSError, UnicodeDecodeError, json.JSONDecodeError) as error:
        raise UsageError(f"{path}: it can't be read as JSON. Export the models anew.") from error
    if not isinstance(feed, dict) or (feed.get("format"), feed.get("version")) != (FORMAT, VERSION):
        raise UsageError(f"{path}: it is not a feed of version {VERSION}. Export the models anew.")
    try:
        return _bag_of(feed["players"], player, ball, path)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise UsageError(
            f"{path}: a part of the feed is missing or of another kind. Export the models anew."
        ) from error


def _bag_of(
    players: list[dict[str, Any]], player: str | None, ball: str | None, path: Path
) -> tuple[str, list[BagClub]]:
    """The bag of the one player who is meant."""
    clubs_of = {str(entry["player"]): entry["clubs"] for entry in players}
    name = player_among(list(clubs_of), player)
    hit = one_ball_each([club for club in clubs_of[name] if ball in (None, club["ball"])])
    if not hit:
        raise UsageError(f"{path}: {name} has no club with the ball '{ball}'. Leave --ball out.")
    bag = [_bag_club(club) for club in hit]
    return name, sorted(bag, key=lambda club: (-club.pattern.carry_m, club.pattern.name))


def _bag_club(club: dict[str, Any]) -> BagClub:
    pattern = ShotPattern(**{word: club[word] for word in _LABELS}, **club["landing"])
    launch = club["launch"]
    stock = Launch(
        **launch["mean"], drag_scale=launch["drag_scale"], lift_scale=launch["lift_scale"]
    )
    covariance = np.array(launch["covariance"], dtype=float)
    spread = LaunchSpread(stock, covariance, launch["shots"])
    return BagClub(pattern, spread, club["shots"], club["sessions"])
