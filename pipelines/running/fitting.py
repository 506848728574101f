"""From a player's shots to the rows of every fit table.

The unit of refitting is the player, since a club's fit borrows from the player's other clubs.
`fit_player` is a pure function of the player's shots and the settings, so the same lake gives
the same fits whatever was loaded first.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING

import polars as pl
from rangeledger.pipelines.faults import keep_fault
from rangeledger.pipelines.running.fit_faults import leave_fit_faults
from rangeledger.warehouse import database

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection
    from rangeledger.warehouse.home import Home
    from rangeledger.warehouse.settings import Settings

# The heavy part of a fit leaves the interpreter free, so that two use two processors.
_TOGETHER = 2


def fit_changed(
    home: Home,
    connection: DuckDBPyConnection,
    settings: Settings,
    *,
    everything: bool = False,
    on_player: Callable[[str], None] | None = None,
) -> list[str]:
    """Refit the players whose shots, decisions or models have changed.

    A player whose fit fails keeps the earlier one; the fault is kept, told in `status`, and the
    others go on.

    Returns
    -------
    list of str
        Players that were fitted, sorted.
    """
    from rangeledger.models.population import POPULATION

    version = POPULATION.model_version
    players = database.unfitted_players(connection, "" if everything else version)
    fitted, faults = [], {}
    for player, fits in _fits_of(connection, settings, players, on_player):
        try:
            _replace(connection, player, fits, version)
            fitted.append(player)
        except _FitError as failed:
            keep_fault(home, failed.fault, f"fitting {player}")
            faults[player] = type(failed.fault).__name__
    leave_fit_faults(home, faults)
    return fitted


class _FitError(Exception):
    """A player's fit failed, for a reason of its own."""

    def __init__(self, fault: Exception) -> None:
        super().__init__(str(fault))
        self.fault = fault


def _fits_of(
    connection: DuckDBPyConnection,
    settings: Settings,
    players: Sequence[str],
    on_player: Callable[[str], None] | None,
) -> Iterator[tuple[str, Future[dict[str, pl.DataFrame]]]]:
    """Fit players, a few at a time; the database is asked by this thread alone."""
    begun: deque[tuple[str, Future[dict[str, pl.DataFrame]]]] = deque()
    with ThreadPoolExecutor(_TOGETHER, thread_name_prefix="fit") as pool:
        for player in players:
            if on_player is not None:
                on_player(player)
            shots = database.player_shots(connection, player)
            begun.append((player, pool.submit(fit_player, shots, settings)))
            if len(begun) > _TOGETHER:
                yield begun.popleft()
        yield from begun


def _replace(
    connection: DuckDBPyConnection,
    player: str,
    fits: Future[dict[str, pl.DataFrame]],
    version: str,
) -> None:
    """Put a player's fits in place; what the disk or the database refuses is no fault of a fit."""
    import duckdb

    try:
        database.replace_fits(connection, player, fits.result(), version)
    except (duckdb.OperationalError, duckdb.InternalError, duckdb.FatalException, OSError):
        raise
    except Exception as error:
        raise _FitError(error) from error


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
    flights, still = _flight_fits(shots)
    fits, struck = _carry_fits(still)
    winds = _wind_fits(flights, struck)
    clubs = _club_fits(fits, struck, settings)
    return flights | fits | clubs | winds | _wedge_fits(fits, winds, struck)


def _flight_fits(shots: pl.DataFrame) -> tuple[dict[str, pl.DataFrame], pl.DataFrame]:
    """Ball calibration and session winds, and the shots brought to still air."""
    from rangeledger.models.calibration.ball_calibration import calibrate_ball
    from rangeledger.models.calibration.still_air import still_air
    from rangeledger.models.calibration.wind_recovery import recover_wind

    balls = calibrate_ball(shots.filter(~pl.col("excluded")))
    winds = recover_wind(shots, balls)
    still = shots.hstack(still_air(shots, balls, winds).drop("shot_id"))
    player = shots.select(pl.col("player").first()).item() if shots.height else None
    named = winds.with_columns(player=pl.lit(player, pl.String))
    return {"ball_calibrations": balls, "session_winds": named}, still


def _carry_fits(still: pl.DataFrame) -> tuple[dict[str, pl.DataFrame], pl.DataFrame]:
    """Carry, dispersion, trend and strikes, and the used shots with their strikes."""
    from rangeledger.models.clubs.carry_model import CarryModel
    from rangeledger.models.sessions.carry_trend import CarryTrend

    used = still.filter(~pl.col("excluded"))
    model = CarryModel().fit(used)
    strikes = model.strikes_.select("shot_id", "strike", "mishit_probability")
    shot_fits = still.select(
        "player",
        "shot_id",
        "still_carry_m",
        "still_side_m",
        "still_se_m",
        "still_side_se_m",
        "still_basis",
    ).join(strikes, on="shot_id", how="left", maintain_order="left")
    fits = {
        "shot_fits": shot_fits,
        "carry": model.carry_by_club(),
        "dispersion": model.dispersion(shots=used),
        "shot_distributions": model.parameters_,
        "carry_sessions": CarryTrend(carry_model=model).fit(used).sessions_,
    }
    return fits, used.join(strikes, on="shot_id", how="left", maintain_order="left")


def _club_fits(
    fits: dict[str, pl.DataFrame], struck: pl.DataFrame, settings: Settings
) -> dict[str, pl.DataFrame]:
    """Stock shapes, gaps between clubs, putts, and sessions that stand out."""
    from rangeledger.models.coaching.club_gaps import club_gaps
    from rangeledger.models.coaching.putting_start_line import putting_start_line
    from rangeledger.models.coaching.shot_shape import shot_shape
    from rangeledger.models.sessions.session_flags import session_flags

    return {
        "shot_shapes": shot_shape(struck, handedness=settings.hands),
        "club_gaps": club_gaps(fits["shot_distributions"]),
        "putting_start_lines": putting_start_line(struck),
        "session_flags": session_flags(struck),
    }


def _wind_fits(flights: dict[str, pl.DataFrame], struck: pl.DataFrame) -> dict[str, pl.DataFrame]:
    """How each club and swing answers to wind and air, by the ball that was hit most."""
    from rangeledger.models.calibration.launch_filling import typical_launches
    from rangeledger.models.calibration.wind_response import wind_response

    keys = ["player", "club", "swing"]
    clean = struck.filter(
        pl.col("strike").ne_missing("mishit"),
        pl.col("club") != "putter",
        pl.col("carry_m").is_not_null(),
    )
    balls = (
        flights["ball_calibrations"]
        .sort("shots_used", descending=True, maintain_order=True)
        .unique(["player", "club"], keep="first", maintain_order=True)
        .select("player", "club", "drag_scale", "lift_scale")
    )
    launches = typical_launches(clean, keys).join(
        balls, on=["player", "club"], how="left", maintain_order="left"
    )
    return {"wind_responses": wind_response(launches, keys=keys)}


# Wind of the wedge grid's columns on wind [m/s], the same as in the view wind_response.
_GRID_WIND_MPS = 5.0


def _wedge_fits(
    fits: dict[str, pl.DataFrame], winds: dict[str, pl.DataFrame], struck: pl.DataFrame
) -> dict[str, pl.DataFrame]:
    """The wedge grid, with the height and the wind sensitivity of each choice."""
    from rangeledger.models.calibration.wind_response import response_in
    from rangeledger.models.coaching.wedge_grid import wedge_grid

    keys = ["player", "club", "swing"]
    against = response_in(winds["wind_responses"], head_wind_mps=_GRID_WIND_MPS, keys=keys)
    across = response_in(winds["wind_responses"], cross_wind_mps=_GRID_WIND_MPS, keys=keys)
    heights = (
        struck.filter(pl.col("strike") == "clean")
        .group_by(keys, maintain_order=True)
        .agg(pl.col("apex_m").median())
    )
    flights = heights.join(
        against.select(*keys, headwind_change_m="carry_change_m"),
        on=keys, how="left", maintain_order="left",
    ).join(
        across.select(*keys, crosswind_side_m="side_change_m"),
        on=keys, how="left", maintain_order="left",
    )  # fmt: skip
    return {"wedge_grid": wedge_grid(fits["shot_distributions"], flights=flights)}
