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
    from models.population import POPULATION

    version = POPULATION.model_version
    players = database.unfitted_players(connection, "" if everything else version)
    for player in players:
        if on_player is not None:
            on_player(player)
        shots = database.player_shots(connection, player)
        database.replace_fits(connection, player, fit_player(shots, settings), version)
    return players


def fit_player(shots: pl.DataFrame, settings: Settings) -> dict[str, pl.DataFrame]:
    """All fits of one player.

    Parameters
    ----------
    shots : polars.DataFrame
        The player's canonical shots with a column `excluded`.
    settings : Settings
        Settings of the home.

    Returns
    -------
    dict of str to polars.DataFrame
        Rows by table in schema `fits`.
    """
    still = _still(shots)
    fits, struck = _carry_fits(still)
    return fits | _shape_fits(struck, settings)


def _still(shots: pl.DataFrame) -> pl.DataFrame:
    return shots.with_columns(
        still_carry_m="carry_m",
        still_side_m="carry_side_m",
        still_se_m=pl.lit(0.0),
        still_basis=pl.lit("as-measured"),
    )


def _carry_fits(still: pl.DataFrame) -> tuple[dict[str, pl.DataFrame], pl.DataFrame]:
    """Carry, dispersion, trend and strikes, and the used shots with their strikes."""
    from models.carry_model import CarryModel
    from models.carry_trend import CarryTrend

    used = still.filter(~pl.col("excluded"))
    model = CarryModel().fit(used)
    strikes = model.strikes_.select("shot_id", "strike", "mishit_probability")
    shot_fits = still.select(
        "player", "shot_id", "still_carry_m", "still_side_m", "still_se_m", "still_basis"
    ).join(strikes, on="shot_id", how="left", maintain_order="left")
    fits = {
        "shot_fits": shot_fits,
        "carry": model.carry_by_club(),
        "dispersion": model.dispersion(shots=used),
        "shot_distributions": model.parameters_,
        "carry_sessions": CarryTrend(carry_model=model).fit(used).sessions_,
    }
    return fits, used.join(strikes, on="shot_id", how="left", maintain_order="left")


def _shape_fits(struck: pl.DataFrame, settings: Settings) -> dict[str, pl.DataFrame]:
    """Start direction, curve and stock shape."""
    from models.shot_shape import shot_shape

    return {"shot_shapes": shot_shape(struck, handedness=settings.hands)}
