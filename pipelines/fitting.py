"""From a player's shots to the rows of every fit table.

The unit of refitting is the player, since a club's fit borrows from the player's other clubs.
`fit_player` is a pure function of the player's shots and the settings, so the same lake gives
the same fits whatever was loaded first.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import polars as pl

from warehouse import database

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

    from warehouse.home import Settings

MODEL_VERSION = "1"


def fit_changed(
    connection: DuckDBPyConnection,
    settings: Settings,
    *,
    everything: bool = False,
    on_player: Callable[[str], None] | None = None,
) -> list[str]:
    """Refit the players whose shots, decisions or models have changed.

    Returns
    -------
    list of str
        Players that were fitted, sorted.
    """
    version = "" if everything else MODEL_VERSION
    players = database.unfitted_players(connection, version)
    for player in players:
        if on_player is not None:
            on_player(player)
        shots = database.player_shots(connection, player)
        database.replace_fits(connection, player, fit_player(shots, settings), MODEL_VERSION)
    return players


def fit_player(shots: pl.DataFrame, _settings: Settings) -> dict[str, pl.DataFrame]:
    """All fits of one player.

    Parameters
    ----------
    shots : polars.DataFrame
        The player's canonical shots with a column `excluded`.
    _settings : Settings

    Returns
    -------
    dict of str to polars.DataFrame
        Rows by table in schema `fits`.
    """
    keys = ["player", "club", "swing", "ball"]
    used = shots.filter(~pl.col("excluded") & pl.col("carry_m").is_not_null())
    c = pl.col("carry_m")
    carry = used.group_by(keys, maintain_order=True).agg(
        pl.len().alias("shots"),
        pl.col("session_id").n_unique().alias("sessions"),
        c.median().alias("carry_m"),
        (1.4826 * (c - c.median()).abs().median()).alias("carry_sd_m"),
        c.quantile(0.1).alias("carry_p10_m"),
        c.quantile(0.9).alias("carry_p90_m"),
        (pl.col("session_id").n_unique() == 1).alias("provisional"),
    )
    return {"carry": carry}
