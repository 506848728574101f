"""How the carry of a group answers to wind and air, as a polynomial that SQL can add up.

For each group the typical shot is flown through a grid of conditions, and the change of its
carry, side, apex and spread against still reference air is fitted by monomials

    head_wind^a  cross_wind^b  (air temperature - 23.9 degC)^c  altitude^d

without a constant, so that in the reference air every change is exactly nothing. A row of the
result is one monomial of one group with the coefficient of each quantity: multiply and sum.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from functools import cache
from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.air.air_conditions import air_density_of
from rangeledger.models.air.air_density import REFERENCE_AIR_DENSITY_KGM3
from rangeledger.models.arrays import FloatArray, IntArray
from rangeledger.models.calibration.launch_filling import CLUB, GROUP, OWN, fill_launch
from rangeledger.models.calibration.measurement_noise import LAUNCH
from rangeledger.models.calibration.true_launch import usual_spread
from rangeledger.models.constants import REFERENCE_HUMIDITY_PCT, REFERENCE_TEMP_C
from rangeledger.models.flight.aerodynamics import DEFAULT, Aerodynamics
from rangeledger.models.flight.flight_sensitivity import FlightInputs, derivatives, observe
from rangeledger.models.frame_arrays import numbers

RESPONSE_KEYS: Final = ("player", "club", "swing")

# Range of conditions the polynomial is good for.
GREATEST_WIND_MPS: Final = 12.0
TEMP_RANGE_C: Final = (-5.0, 40.0)
ALTITUDE_RANGE_M: Final = (0.0, 2500.0)

# Quantities: changes of carry, side and apex, and of the spread of carry and side as a share.
QUANTITIES: Final = (
    "carry_change_m",
    "side_change_m",
    "apex_change_m",
    "carry_sd_change",
    "side_sd_change",
)
POWERS: Final = ("head_wind_power", "cross_wind_power", "air_temp_power", "altitude_power")

# Up to the third power of the winds and the second of temperature and altitude, four in all.
_TERMS: Final[IntArray] = np.array(
    [
        powers
        for powers in itertools.product(range(4), range(4), range(3), range(3))
        if 0 < sum(powers) <= 4 and powers[0] + powers[1] <= 3 and powers[2] + powers[3] <= 2
    ]
)
_NODES: Final = (5, 5, 3, 3)
_GROUPS_AT_ONCE: Final = 100
_BASIS_WORDS: Final = {OWN: "typical-launch", GROUP: "typical-launch", CLUB: "assumed-launch"}


def wind_response(
    launches: pl.DataFrame,
    *,
    keys: Sequence[str] = RESPONSE_KEYS,
    aerodynamics: Aerodynamics = DEFAULT,
) -> pl.DataFrame:
    """Coefficients of the change of carry, side, apex and spread with wind and air.

    Parameters
    ----------
    launches : polars.DataFrame
        A row a group: keys, `club`, the typical launch as `typical_launches` gives it and, where
        known, `carry_m` (to find a missing ball speed), `drag_scale` and `lift_scale`.
    keys : sequence of str
        Columns that make a group.
    aerodynamics : Aerodynamics
        Set of drag and lift coefficients.

    Returns
    -------
    polars.DataFrame
        A row a monomial of a group: keys, `head_wind_power`, `cross_wind_power`,
        `air_temp_power`, `altitude_power` [1], a coefficient for each of `carry_change_m`,
        `side_change_m`, `apex_change_m` [m per unit of the monomial], `carry_sd_change` and
        `side_sd_change` [1 per unit of the monomial], and `launch_basis`. Groups without a
        launch that could be flown are left out.

    Notes
    -----
    Head wind against and cross wind to the right are positive [m/s]; temperature counts from
    23.9 degC, altitude [m] from sea level at 50 % humidity. The spread multiplies: sd in the
    conditions = sd in still air x (1 + change); it is propagated from the launch spread of the
    group. Within +-12 m/s head and cross together, -5 to 40 degC and 0 to 2,500 m the sum is
    within 0.6 yd of the full flight for carry, 0.4 yd for side and apex, and 0.04 for the
    spreads (see the tests); outside, a polynomial runs away: hold the conditions at the limits.
    """
    inputs, sd, basis = _typical_shots(launches)
    fit = _least_squares()
    coefficients = np.full((launches.height, len(_TERMS), len(QUANTITIES)), np.nan)
    flown = np.flatnonzero(~np.isnan(np.stack(inputs[:5]).sum(axis=0)))
    for start in range(0, len(flown), _GROUPS_AT_ONCE):
        rows = flown[start : start + _GROUPS_AT_ONCE]
        changes = _changes(inputs.rows(rows), sd[rows], aerodynamics)
        coefficients[rows] = fit @ changes
    return _table(launches.select(keys), coefficients, basis, flown)


def _typical_shots(launches: pl.DataFrame) -> tuple[FlightInputs, FloatArray, IntArray]:
    """Inputs of the typical shots in reference air, their launch spread, where it comes from."""
    n = launches.height
    drag, lift = (
        np.log(np.where(np.isnan(value), 1.0, value))
        for value in (numbers(launches, "drag_scale"), numbers(launches, "lift_scale"))
    )
    blank, calm = np.full(n, np.nan), np.zeros(n)
    density = np.full(n, REFERENCE_AIR_DENSITY_KGM3)
    blank_inputs = FlightInputs(blank, blank, blank, blank, blank, density, calm, calm, drag, lift)
    filled = fill_launch(launches.with_row_index("group_row"), blank_inputs, ["group_row"])
    inputs = blank_inputs._replace(
        **dict(zip(LAUNCH, np.ascontiguousarray(filled.values.T), strict=True))
    )
    spread = np.stack([numbers(launches, f"{name}_sd") for name in LAUNCH], axis=-1)
    usual = usual_spread(filled.values)
    return inputs, np.where(spread > 0.2 * usual, spread, usual), filled.basis


def _conditions() -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Chebyshev grid of head wind, cross wind, temperature and altitude."""
    ranges = ((-GREATEST_WIND_MPS, GREATEST_WIND_MPS),) * 2 + (TEMP_RANGE_C, ALTITUDE_RANGE_M)
    axes = []
    for (low, high), count in zip(ranges, _NODES, strict=True):
        # Stretched so that the outermost nodes lie on the limits.
        nodes = np.cos(np.pi * (np.arange(count) + 0.5) / count) / np.cos(np.pi * 0.5 / count)
        axes.append(0.5 * (low + high) + 0.5 * (high - low) * nodes)
    head, cross, temp, altitude = (grid.ravel() for grid in np.meshgrid(*axes, indexing="ij"))
    return head, cross, temp, altitude


def _monomials(conditions: tuple[FloatArray, ...]) -> FloatArray:
    """Value of each monomial in each condition, shape (conditions, terms)."""
    head, cross, temp, altitude = conditions
    values = np.stack([head, cross, temp - REFERENCE_TEMP_C, altitude], axis=-1)
    return np.asarray(np.prod(values[:, None, :] ** _TERMS, axis=-1), dtype=np.float64)


@cache
def _least_squares() -> FloatArray:
    """Matrix that turns changes at the conditions into coefficients; the same for every group."""
    return np.asarray(np.linalg.pinv(_monomials(_conditions())))


def _changes(shots: FlightInputs, sd: FloatArray, aerodynamics: Aerodynamics) -> FloatArray:
    """Changes of the quantities against still air, shape (groups, conditions, quantities)."""
    head, cross, temp, altitude = _conditions()
    density = air_density_of(temp, np.nan, REFERENCE_HUMIDITY_PCT, altitude).air_density_kgm3
    still_first = (
        np.append(REFERENCE_AIR_DENSITY_KGM3, density),
        np.append(0.0, head),
        np.append(0.0, cross),
    )
    groups, conditions = len(sd), len(head) + 1
    spread_out = FlightInputs(*(np.repeat(column, conditions) for column in shots))
    inputs = spread_out._replace(
        air_density_kgm3=np.tile(still_first[0], groups),
        head_wind_mps=np.tile(still_first[1], groups),
        cross_wind_mps=np.tile(still_first[2], groups),
    )
    results = observe(inputs, aerodynamics)[:, :3].reshape(groups, conditions, 3)
    slopes = derivatives(inputs, LAUNCH, aerodynamics)[:, :2]
    spread = np.sqrt(np.sum((slopes * np.repeat(sd, conditions, axis=0)[:, None]) ** 2, axis=-1))
    spread = spread.reshape(groups, conditions, 2)
    moved = results[:, 1:] - results[:, :1]
    wider = spread[:, 1:] / spread[:, :1] - 1.0
    return np.concatenate([moved, wider], axis=-1)


def _table(
    groups: pl.DataFrame, coefficients: FloatArray, basis: IntArray, flown: IntArray
) -> pl.DataFrame:
    """Assemble the tidy result, a row a monomial of a group."""
    rows = np.repeat(flown, len(_TERMS))
    powers = np.tile(_TERMS, (len(flown), 1))
    values = coefficients[flown].reshape(-1, len(QUANTITIES))
    columns: dict[str, object] = {
        name: powers[:, k].astype(np.int32) for k, name in enumerate(POWERS)
    }
    columns |= {name: values[:, k] for k, name in enumerate(QUANTITIES)}
    columns["launch_basis"] = pl.Series(
        [_BASIS_WORDS[int(basis[row])] for row in rows], dtype=pl.String
    )
    return pl.concat([groups[rows.astype(np.uint32)], pl.DataFrame(columns)], how="horizontal")


def response_in(
    response: pl.DataFrame,
    head_wind_mps: float = 0.0,
    cross_wind_mps: float = 0.0,
    air_temp_c: float = REFERENCE_TEMP_C,
    altitude_m: float = 0.0,
    *,
    keys: Sequence[str] = RESPONSE_KEYS,
) -> pl.DataFrame:
    """Change of each quantity of each group in given conditions.

    Parameters
    ----------
    response : polars.DataFrame
        Coefficients as `wind_response` gives them.
    head_wind_mps : float
        Head wind, against positive [m/s].
    cross_wind_mps : float
        Cross wind, to the right positive [m/s].
    air_temp_c : float
        Air temperature [degC].
    altitude_m : float
        Height above sea level [m].
    keys : sequence of str
        Columns that make a group.

    Returns
    -------
    polars.DataFrame
        A row a group: keys, changes of carry, side and apex [m] and of the spreads [1].

    Notes
    -----
    Conditions beyond the range of `wind_response` are held at its limits.
    """
    reach = GREATEST_WIND_MPS
    conditions = (
        float(np.clip(head_wind_mps, -reach, reach)),
        float(np.clip(cross_wind_mps, -reach, reach)),
        float(np.clip(air_temp_c, *TEMP_RANGE_C)) - REFERENCE_TEMP_C,
        float(np.clip(altitude_m, *ALTITUDE_RANGE_M)),
    )
    monomial = pl.lit(1.0)
    for power, value in zip(POWERS, conditions, strict=True):
        monomial = monomial * pl.lit(value).pow(pl.col(power))
    return response.group_by(keys, maintain_order=True).agg(
        *((pl.col(name) * monomial).sum() for name in QUANTITIES)
    )
