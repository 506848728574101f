"""All fits of one player, from shots to the rows of every fit table.

The unit of refitting is the player, since a club's fit borrows from the player's other clubs.
`fit_player` is a pure function, so the same shots give the same fits whatever came first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import polars as pl


@dataclass(frozen=True, slots=True)
class PlayerFacts:
    """What a coach says of players, beside their shots.

    Parameters
    ----------
    hands : mapping of str to str
        `left` or `right` by player.
    handicaps : mapping of str to float
        Handicap by player [strokes], where it is known.
    dates : mapping of str to mapping of date to str
        Days before and after which a player's shots are held against each other, and what
        happened.
    """

    hands: Mapping[str, str] = field(default_factory=dict)
    handicaps: Mapping[str, float] = field(default_factory=dict)
    dates: Mapping[str, Mapping[date, str]] = field(default_factory=dict)


def fit_player(shots: pl.DataFrame, facts: PlayerFacts) -> dict[str, pl.DataFrame]:
    """All fits of one player.

    Parameters
    ----------
    shots : polars.DataFrame
        The player's canonical shots with columns `excluded` and `layout`, of their export; where
        they are known, `extras` of putts.
    facts : PlayerFacts
        What their coach says of players.

    Returns
    -------
    dict of str to polars.DataFrame
        Rows by table: ball_calibrations, session_winds, monitors, shot_fits, carry, dispersion,
        shot_distributions, carry_sessions, level_changes, shot_shapes, club_gaps,
        putting_start_lines, session_flags, wind_responses, wedge_grid. Distances in m, angles in
        deg.
    """
    flights, still = _flight_fits(shots)
    fits, struck = _carry_fits(still, facts)
    winds = _wind_fits(flights, struck)
    clubs = _club_fits(fits, struck, facts)
    return flights | fits | clubs | winds | _wedge_fits(fits, winds, struck)


def _flight_fits(shots: pl.DataFrame) -> tuple[dict[str, pl.DataFrame], pl.DataFrame]:
    """Ball calibration, session winds and monitors, and the shots brought to still air.

    Carries and ball speeds are those that the player's usual monitor would have read.
    """
    from rangeledger.models.calibration.ball_calibration import calibrate_ball
    from rangeledger.models.calibration.still_air import still_air
    from rangeledger.models.calibration.wind_recovery import recover_wind
    from rangeledger.models.sessions.monitor_offsets import monitor_offsets, without_offsets

    balls = calibrate_ball(shots.filter(~pl.col("excluded")))
    winds = recover_wind(shots, balls)
    still = shots.hstack(still_air(shots, balls, winds).drop("shot_id"))
    player = shots.select(pl.col("player").first()).item() if shots.height else None
    named = winds.with_columns(player=pl.lit(player, pl.String))
    monitors = monitor_offsets(still.filter(~pl.col("excluded")))
    fits = {"ball_calibrations": balls, "session_winds": named, "monitors": monitors}
    return fits, without_offsets(still, monitors)


def _carry_fits(
    still: pl.DataFrame, facts: PlayerFacts
) -> tuple[dict[str, pl.DataFrame], pl.DataFrame]:
    """Carry, dispersion, trend and strikes, and the used shots with their strikes."""
    from rangeledger.models.clubs.carry_model import CarryModel
    from rangeledger.models.sessions.carry_trend import CarryTrend
    from rangeledger.models.sessions.level_changes import level_changes

    used = still.filter(~pl.col("excluded"))
    model = CarryModel(handicaps=facts.handicaps).fit(used)
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
        "level_changes": level_changes(model, facts.dates),
    }
    return fits, used.join(strikes, on="shot_id", how="left", maintain_order="left")


def _club_fits(
    fits: dict[str, pl.DataFrame], struck: pl.DataFrame, facts: PlayerFacts
) -> dict[str, pl.DataFrame]:
    """Stock shapes, gaps between clubs, putts, and sessions that stand out."""
    from rangeledger.models.coaching.club_gaps import club_gaps
    from rangeledger.models.coaching.putt_breaks import with_breaks
    from rangeledger.models.coaching.putting_start_line import putting_start_line
    from rangeledger.models.coaching.shot_shape import shot_shape
    from rangeledger.models.sessions.session_flags import session_flags

    return {
        "shot_shapes": shot_shape(struck, handedness=facts.hands),
        "club_gaps": club_gaps(fits["shot_distributions"]),
        "putting_start_lines": putting_start_line(with_breaks(struck)),
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
