"""What a measured shot would have done in the reference air without wind.

    still = measured + (computed in the reference air - computed in the day's air)

so that whatever the model gets wrong about the strike itself cancels. Only a tracked flight is
adjusted; one that an export computed from launch in calm air already is what we want.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import polars as pl
from numpy.typing import NDArray
from rangeledger.models.air.air_density import REFERENCE_AIR_DENSITY_KGM3
from rangeledger.models.arrays import FloatArray
from rangeledger.models.calibration.day_air import DayAir, ball_scales, day_air, flight_inputs
from rangeledger.models.calibration.launch_filling import GROUP, GROUP_KEYS, OWN, fill_launch
from rangeledger.models.flight.aerodynamics import DEFAULT, Aerodynamics
from rangeledger.models.flight.flight_sensitivity import FlightInputs, observe
from rangeledger.models.frame_arrays import numbers, texts

# Words of the column `still_basis`.
ADJUSTED: Final = "adjusted"
TYPICAL_LAUNCH: Final = "typical-launch"
ASSUMED_LAUNCH: Final = "assumed-launch"
FLIGHT_UNKNOWN: Final = "flight-unknown"
MODELLED_FLIGHT: Final = "modelled-flight"
AS_MEASURED: Final = "as-measured"
STILL_BASES: Final = {
    ADJUSTED: "Adjusted by the shot's own launch data",
    TYPICAL_LAUNCH: "Adjusted, with missing launch data taken from the group's typical launch",
    ASSUMED_LAUNCH: "Adjusted, with missing launch data taken from an ordinary shot with the club",
    FLIGHT_UNKNOWN: "Adjusted, though the export does not say that the flight was tracked",
    MODELLED_FLIGHT: "Not adjusted: the export computed the flight in calm air",
    AS_MEASURED: "Not adjusted: neither wind nor air are known, or the ball did not fly",
}

# Share of the adjustment that may be wrong, as a standard deviation. The first is what published
# sets of coefficients differ by in the effect of wind; the others are common practice, no source.
_MODEL_SD: Final = 0.10
_TYPICAL_LAUNCH_SD: Final = 0.20
_ASSUMED_LAUNCH_SD: Final = 0.30
_FLIGHT_UNKNOWN_SD: Final = 0.50
# Approximate slopes for the stated uncertainty only: drift per m/s of wind and second of flight,
# change of carry per relative change of density, hang time per root of the carry.
_DRIFT_PER_SECOND: Final = 0.50
_CARRY_PER_DENSITY: Final = 0.45
_HANG_TIME_PER_ROOT_CARRY: Final = 0.52


def still_air(
    shots: pl.DataFrame,
    calibration: pl.DataFrame | None = None,
    session_wind: pl.DataFrame | None = None,
    *,
    keys: Sequence[str] = GROUP_KEYS,
    aerodynamics: Aerodynamics = DEFAULT,
) -> pl.DataFrame:
    """Carry and side of each shot in still reference air.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots with canonical columns; `carry_m` and the key columns at least.
    calibration : polars.DataFrame or None
        Drag and lift scales as `calibrate_ball` gives them.
    session_wind : polars.DataFrame or None
        Winds as `recover_wind` gives them, for shots without a stated wind, and what it found
        out about flights of an unknown kind.
    keys : sequence of str
        Columns that make the group whose typical launch fills gaps.
    aerodynamics : Aerodynamics
        Set of drag and lift coefficients.

    Returns
    -------
    polars.DataFrame
        A row a shot in the order given: `shot_id` if there is one, `still_carry_m`,
        `still_side_m` [m], `still_se_m`, `still_side_se_m` [m], null where there is no carry,
        and `still_basis`, a word of `STILL_BASES`.

    Notes
    -----
    The result depends on the measured columns only, so doing it again changes nothing. The
    standard errors cover the adjustment, not the device: wind and density that are not quite
    known (slopes 0.5 T a m/s with T the hang time, 0.45 of the carry per relative change of
    density), 10 % of the adjustment for the model, more where the launch was filled in or the
    kind of flight is unknown. Shots of one session share most of it.

    Examples
    --------
    >>> import rangeledger as rl
    >>> from rangeledger.sample_exports import sample_folder
    >>> shots = rl.read_export(sample_folder() / "mountain-range.csv").shots
    >>> still = rl.still_air(shots)
    >>> still["still_carry_m"].mean() < shots["carry_m"].mean()  # the air is thin up there
    True
    """
    air = day_air(shots, session_wind)
    scales = ball_scales(shots, calibration)
    empty = np.full((shots.height, 5), np.nan)
    launches = fill_launch(shots, flight_inputs(shots, air, scales, empty), keys)
    inputs = flight_inputs(shots, air, scales, launches.values)
    kind = _flight_kind(shots, session_wind)
    basis = _basis(shots, air, kind, launches.basis, np.isnan(launches.values.sum(axis=1)))
    moves = np.isin(basis, [ADJUSTED, TYPICAL_LAUNCH, ASSUMED_LAUNCH, FLIGHT_UNKNOWN])
    effect, hang_time = _effect(inputs, moves, numbers(shots, "carry_m"), aerodynamics)
    return _table(shots, air, kind, basis, launches.basis, effect, hang_time)


def _flight_kind(shots: pl.DataFrame, session_wind: pl.DataFrame | None) -> NDArray[np.str_]:
    """Kind of flight as the export says, else as the session's flights show."""
    kind = texts(shots, "flight_basis", "unknown")
    if session_wind is None or "flights_tracked" not in session_wind.columns:
        return kind
    table = session_wind.select("session_id", pl.col("flights_tracked").cast(pl.Float64))
    joined = shots.select("session_id").join(
        table.unique("session_id"), on="session_id", how="left", maintain_order="left"
    )
    shown = numbers(joined, "flights_tracked")
    basis_from_flights = np.where(
        shown == 1.0, "measured", np.where(shown == 0.0, "modelled", "unknown")
    )
    return np.where(kind == "unknown", basis_from_flights, kind)


def _basis(
    shots: pl.DataFrame,
    air: DayAir,
    flight: NDArray[np.str_],
    launch_basis: NDArray[np.int64],
    no_launch: NDArray[np.bool_],
) -> NDArray[np.str_]:
    """The word for how each shot is treated."""
    launch = np.where(
        launch_basis == OWN,
        ADJUSTED,
        np.where(launch_basis == GROUP, TYPICAL_LAUNCH, ASSUMED_LAUNCH),
    )
    known = air.wind_stated | air.wind_recovered | air.air_stated
    no_carry = np.isnan(numbers(shots, "carry_m"))
    rolled = texts(shots, "club", "unknown") == "putter"
    word = np.where((launch == ADJUSTED) & (flight == "unknown"), FLIGHT_UNKNOWN, launch)
    word = np.where(no_launch | ~known | rolled | no_carry, AS_MEASURED, word)
    return np.where(flight == "modelled", MODELLED_FLIGHT, word)


def _effect(
    inputs: FlightInputs, moves: NDArray[np.bool_], carry_m: FloatArray, aerodynamics: Aerodynamics
) -> tuple[FloatArray, FloatArray]:
    """What still air adds to carry and side [m], and the hang time [s]."""
    effect = np.zeros((len(moves), 2))
    hang_time = _HANG_TIME_PER_ROOT_CARRY * np.sqrt(np.maximum(carry_m, 0.0))
    rows = np.flatnonzero(moves & ~np.isnan(carry_m))
    windy = inputs.rows(rows)
    still = windy._replace(
        air_density_kgm3=np.full(len(rows), REFERENCE_AIR_DENSITY_KGM3),
        head_wind_mps=np.zeros(len(rows)),
        cross_wind_mps=np.zeros(len(rows)),
    )
    computed = observe(windy, aerodynamics)
    difference = observe(still, aerodynamics)[:, :2] - computed[:, :2]
    effect[rows] = np.nan_to_num(difference)
    hang_time[rows] = np.nan_to_num(computed[:, 4])
    return effect, hang_time


def _table(
    shots: pl.DataFrame,
    air: DayAir,
    kind: NDArray[np.str_],
    basis: NDArray[np.str_],
    launch_basis: NDArray[np.int64],
    effect: FloatArray,
    hang_time: FloatArray,
) -> pl.DataFrame:
    """Assemble the tidy result."""
    carry, side = numbers(shots, "carry_m"), numbers(shots, "carry_side_m")
    share = np.where(
        launch_basis == OWN,
        _MODEL_SD,
        np.where(launch_basis == GROUP, _TYPICAL_LAUNCH_SD, _ASSUMED_LAUNCH_SD),
    )
    share = np.hypot(share, np.where(kind == "unknown", _FLIGHT_UNKNOWN_SD, 0.0))
    drift = _DRIFT_PER_SECOND * hang_time
    thin = _CARRY_PER_DENSITY * np.nan_to_num(carry) * air.density_sd
    se = np.sqrt((drift * air.head_sd_mps) ** 2 + thin**2 + (share * effect[:, 0]) ** 2)
    side_se = np.hypot(drift * air.cross_sd_mps, share * effect[:, 1])
    as_read = (basis == MODELLED_FLIGHT) | (texts(shots, "club", "unknown") == "putter")
    columns = {
        "still_carry_m": carry + effect[:, 0],
        "still_side_m": side + effect[:, 1],
        "still_se_m": np.where(as_read, 0.0, se),
        "still_side_se_m": np.where(as_read, 0.0, side_se),
    }
    frame = pl.DataFrame(columns).with_columns(
        pl.Series("still_basis", basis.astype(object), dtype=pl.String)
    )
    frame = frame.with_columns(pl.col(pl.Float64).fill_nan(None))
    flew = pl.col("still_carry_m").is_not_null()
    others = ("still_side_m", "still_se_m", "still_side_se_m")
    frame = frame.with_columns(pl.when(flew).then(pl.col(name)).alias(name) for name in others)
    no_side = pl.col("still_side_m").is_null()
    frame = frame.with_columns(still_side_se_m=pl.when(~no_side).then(pl.col("still_side_se_m")))
    if "shot_id" in shots.columns:
        frame = pl.concat([shots.select("shot_id"), frame], how="horizontal")
    return frame
