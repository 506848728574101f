"""Which units fit the flights: carry, height and time against ball speed, launch and spin.

Every combination of possible units is scored by how well the file's carries, heights, times and
descent angles agree with flights computed from its ball speeds, launch angles and spins. The
strength of drag and lift and a light wind along the line are unknown and left free within their
usual spread, so that a ball or a day that flies short or far in general does no harm.

Score of a combination = log likelihood of the medians (Gaussian, shared unknowns) + log odds of
the combination being used at all. The odds and spreads are common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import product

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.trajectory import Flight, fly
from rangeledger.models.flight.usual_spin import usual_spin
from rangeledger.schemas.units import UNITS

SAMPLE_ROWS = 40
_PROBES = 6  # rows on which the effect of the unknowns is computed
MARGIN_NEEDED = 4.0  # log odds over the next combination below which the units are unclear
_STATED_ODDS = 7.0  # log odds that a heading's own unit is right
_BIAS = -0.02  # computed flights run a little long of the usual measured ones [log]
_UNKNOWNS = (("drag_scale", 0.04), ("lift_scale", 0.06), ("wind", 0.8))
_NOISE = {
    "carry_m": 0.018,
    "total_m": 0.045,
    "apex_m": 0.05,
    "hang_time_s": 0.035,
    "descent_angle_deg": 0.05,
}
_ROLL = 0.03  # usual run after landing as a share of the carry [log]
_NO_SPIN_NOISE = 0.08
_FEWEST_ROWS = 3
_FITS_WELL = 0.06  # log of observed over computed within which a stated unit is beyond doubt

SPEED_UNITS = ("mph", "m/s", "km/h", "ft/s")
LENGTH_UNITS = ("yd", "m", "ft")
_PAIR_ODDS = {
    ("mph", "yd"): 0.0,
    ("mph", "m"): -1.2,
    ("mph", "ft"): -5.0,
    ("m/s", "m"): -0.3,
    ("m/s", "yd"): -4.5,
    ("m/s", "ft"): -6.0,
    ("km/h", "m"): -0.3,
    ("km/h", "yd"): -4.5,
    ("km/h", "ft"): -6.0,
    ("ft/s", "ft"): -4.0,
    ("ft/s", "yd"): -4.0,
    ("ft/s", "m"): -6.0,
}
# Where German, French, Spanish or Swedish is spoken, distances are mostly metric.
_METRIC_PAIR_ODDS = _PAIR_ODDS | {("mph", "m"): 0.0, ("mph", "yd"): -1.2}
_HEIGHT_ODDS = {
    ("yd", "ft"): -0.2,
    ("yd", "yd"): -1.6,
    ("yd", "m"): -3.0,
    ("m", "m"): 0.0,
    ("m", "ft"): -2.5,
    ("m", "yd"): -5.0,
    ("ft", "ft"): -0.2,
    ("ft", "yd"): -4.0,
    ("ft", "m"): -4.0,
}


@dataclass(frozen=True, slots=True)
class Quantity:
    """A measured column as the file writes it.

    Parameters
    ----------
    values : numpy array
        Numbers of the sampled rows, NaN where missing.
    units : tuple[str, ...]
        Units that are possible; one where it is certain.
    stated : str or None
        Unit that the words state.
    """

    values: FloatArray
    units: tuple[str, ...]
    stated: str | None = None

    def in_canonical(self, unit: str) -> FloatArray:
        """Values in the canonical unit if they were written in `unit`."""
        found = UNITS[unit]
        return (self.values + found.offset) * found.factor


@dataclass(slots=True)
class UnitChoice:
    """Units that fit best, and how sure that is.

    Parameters
    ----------
    units : dict[str, str]
        Column -> unit.
    margin : float
        Log odds over the best different combination; infinite where there is none.
    runner_up : dict[str, str]
        The best different combination.
    misfit : dict[str, float]
        Column -> median of log(observed / computed) under `units`.
    proven : bool
        Whether flights could be computed at all.
    """

    units: dict[str, str]
    margin: float = math.inf
    runner_up: dict[str, str] = field(default_factory=dict)
    misfit: dict[str, float] = field(default_factory=dict)
    proven: bool = False

    @property
    def clear(self) -> bool:
        """Whether the margin is large enough to rely on."""
        return self.margin >= MARGIN_NEEDED


@dataclass(frozen=True, slots=True)
class _Model:
    """Computed flights for one speed unit, and the effect of the unknowns on each quantity."""

    flight: Flight
    effects: dict[str, FloatArray]
    # Combinations share their parts, so each ratio is worked out once a quantity and unit.
    ratios: dict[tuple[str, str], tuple[float, float] | None] = field(default_factory=dict)


def usual_launch(spin_rate_rpm: FloatArray) -> FloatArray:
    """Launch angle that usually goes with a spin [deg], the other way round."""
    return np.clip(10.0 + (spin_rate_rpm - 2300.0) / 350.0, 8.0, 35.0)


def _model(
    speed: FloatArray,
    launch: FloatArray,
    direction: FloatArray,
    spin: FloatArray,
    axis: FloatArray,
    air_density_kgm3: float,
) -> _Model:
    count = len(speed)
    probes = np.unique(np.linspace(0, count - 1, min(_PROBES, count)).astype(int))
    rows = np.concatenate([np.arange(count), *([probes] * len(_UNKNOWNS))])
    block = np.concatenate(
        [np.zeros(count, int), *(np.full(len(probes), k + 1) for k in range(len(_UNKNOWNS)))]
    )
    flight = fly(
        speed[rows],
        launch[rows],
        direction[rows],
        spin[rows],
        axis[rows],
        air_density_kgm3=air_density_kgm3,
        drag_scale=np.where(block == 1, 1.0 + _UNKNOWNS[0][1], 1.0),
        lift_scale=np.where(block == 2, 1.0 + _UNKNOWNS[1][1], 1.0),
        wind_speed_mps=np.where(block == 3, _UNKNOWNS[2][1], 0.0),
    )
    effects = {}
    for name in _NOISE:
        values = getattr(flight, "carry_m" if name == "total_m" else name)
        base = values[:count][probes]
        effects[name] = np.array(
            [_median_log(values[block == k + 1], base) for k in range(len(_UNKNOWNS))]
        )
    return _Model(Flight(*(column[:count] for column in flight)), effects)


def _median_log(observed: FloatArray, computed: FloatArray) -> float:
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = np.log(observed / computed)
    finite = ratio[np.isfinite(ratio)]
    return float(np.median(finite)) if finite.size else 0.0


def _ratio(observed: FloatArray, computed: FloatArray) -> tuple[float, float] | None:
    """Median of log(observed / computed) and its standard error, None with too few rows."""
    use = (observed > 0) & (computed > 5.0)
    if use.sum() < min(_FEWEST_ROWS, len(observed)) or not use.any():
        return None
    logs = np.log(observed[use] / computed[use])
    spread = 1.4826 * float(np.median(np.abs(logs - np.median(logs))))
    return float(np.median(logs)), spread / math.sqrt(use.sum())


def _observations(
    quantities: dict[str, Quantity], units: dict[str, str], model: _Model
) -> dict[str, tuple[float, float]]:
    found = {}
    for name in _NOISE:
        if name not in quantities or (name == "total_m" and "carry_m" in found):
            continue
        key = (name, units[name])
        if key not in model.ratios:
            model.ratios[key] = _ratio_of(name, quantities[name].in_canonical(units[name]), model)
        ratio = model.ratios[key]
        if ratio:
            found[name] = ratio
    return found


def _ratio_of(name: str, observed: FloatArray, model: _Model) -> tuple[float, float] | None:
    computed = getattr(model.flight, "carry_m" if name == "total_m" else name)
    scale = 10.0 if name == "hang_time_s" else 1.0  # `_ratio` leaves out values below five
    return _ratio(observed * scale, computed * scale)


def _likelihood(found: dict[str, tuple[float, float]], model: _Model, noise: float) -> float:
    """Log likelihood of the medians with the unknowns integrated out."""
    if not found:
        return 0.0
    names = list(found)
    y = np.array([found[n][0] - _BIAS - (_ROLL if n == "total_m" else 0.0) for n in names])
    variance = np.array([_NOISE[n] ** 2 + found[n][1] ** 2 + noise**2 for n in names])
    effects = np.stack([model.effects[n] for n in names])
    covariance = np.diag(variance) + effects @ effects.T
    solved = np.linalg.solve(covariance, y)
    return float(-0.5 * y @ solved - 0.5 * np.linalg.slogdet(covariance)[1])


def _odds(quantities: dict[str, Quantity], units: dict[str, str], metric: bool) -> float:
    """Log odds that this combination is used, whatever the numbers."""
    length = units.get("carry_m") or units.get("total_m")
    score = 0.0
    stated_pair = all(
        quantities[c].stated for c in ("ball_speed_mps", "carry_m") if c in quantities
    )
    if length and not stated_pair:
        odds = _METRIC_PAIR_ODDS if metric else _PAIR_ODDS
        score += odds.get((units["ball_speed_mps"], length), -6.0)
    if "apex_m" in units and length and not quantities["apex_m"].stated:
        score += _HEIGHT_ODDS.get((length, units["apex_m"]), -5.0)
    for name, quantity in quantities.items():
        if quantity.stated and units[name] != quantity.stated:
            score -= _STATED_ODDS
    return score


def choose_units(
    quantities: dict[str, Quantity],
    *,
    launch_angle_deg: FloatArray,
    launch_direction_deg: FloatArray | None = None,
    spin_rate_rpm: FloatArray | None = None,
    spin_axis_deg: FloatArray | None = None,
    air_density_kgm3: float = 1.2,
    metric: bool = False,
) -> UnitChoice:
    """Units under which the columns fit together.

    Parameters
    ----------
    quantities : dict[str, Quantity]
        `ball_speed_mps` and any of `carry_m`, `total_m`, `apex_m`, `hang_time_s`,
        `descent_angle_deg`, as written.
    launch_angle_deg, launch_direction_deg, spin_rate_rpm, spin_axis_deg : numpy array
        Launch of the sampled rows [deg, deg, rpm, deg]; NaN or None where missing.
    air_density_kgm3 : float
        Density of the air [kg/m3].
    metric : bool
        Whether the file's language is spoken where distances are metric.

    Returns
    -------
    UnitChoice
        The best combination; `margin` says how far the next one is behind.
    """
    count = len(launch_angle_deg)
    spin, known_spin = _filled_spin(spin_rate_rpm, launch_angle_deg)
    noise = 0.0 if known_spin else _NO_SPIN_NOISE
    direction = _or_zero(launch_direction_deg, count)
    axis = _or_zero(spin_axis_deg, count)
    flown = (launch_angle_deg, direction, spin, axis, air_density_kgm3)
    plain = _as_stated(quantities, flown)
    if plain is not None:
        return plain
    names = list(quantities)
    scores: list[tuple[float, dict[str, str], dict[str, float]]] = []
    for speed_unit in quantities["ball_speed_mps"].units:
        speed = quantities["ball_speed_mps"].in_canonical(speed_unit)
        if not 2.0 < float(np.nanmedian(speed)) < 110.0:
            continue
        model = _model(speed, *flown)
        others = [n for n in names if n != "ball_speed_mps"]
        for chosen in product(*(quantities[n].units for n in others)):
            units = {"ball_speed_mps": speed_unit, **dict(zip(others, chosen, strict=True))}
            if _lengths_apart(quantities, units):
                continue
            found = _observations(quantities, units, model)
            score = _likelihood(found, model, noise) + _odds(quantities, units, metric)
            scores.append((score, units, {n: r[0] for n, r in found.items()}))
    return _best(scores, quantities)


def _as_stated(
    quantities: dict[str, Quantity],
    flown: tuple[FloatArray, FloatArray, FloatArray, FloatArray, float],
) -> UnitChoice | None:
    """The stated units, where all are stated and fit so well that no other need be tried."""
    stated = {name: q.stated or "" for name, q in quantities.items() if q.stated}
    if len(stated) < len(quantities):
        return None
    speed = quantities["ball_speed_mps"].in_canonical(stated["ball_speed_mps"])
    if not 2.0 < float(np.nanmedian(speed)) < 110.0:
        return None
    found = _observations(quantities, stated, _model(speed, *flown))
    misfit = {name: ratio for name, (ratio, _) in found.items()}
    fits = bool(misfit) and all(
        abs(ratio - (_ROLL if name == "total_m" else 0.0)) < _FITS_WELL
        for name, ratio in misfit.items()
    )
    return UnitChoice(stated, math.inf, {}, misfit, proven=True) if fits else None


def _lengths_apart(quantities: dict[str, Quantity], units: dict[str, str]) -> bool:
    """Whether carry and total would be in different units without the words saying so."""
    if "carry_m" not in units or "total_m" not in units:
        return False
    free = not (quantities["carry_m"].stated and quantities["total_m"].stated)
    return free and units["carry_m"] != units["total_m"]


def _best(
    scores: list[tuple[float, dict[str, str], dict[str, float]]], quantities: dict[str, Quantity]
) -> UnitChoice:
    if not scores:
        return UnitChoice({name: q.stated or q.units[0] for name, q in quantities.items()}, 0.0)
    scores.sort(key=lambda entry: -entry[0])
    score, units, misfit = scores[0]
    margin = score - scores[1][0] if len(scores) > 1 else math.inf
    runner_up = scores[1][1] if len(scores) > 1 else {}
    return UnitChoice(units, margin, runner_up, misfit, proven=bool(misfit))


def _filled_spin(spin: FloatArray | None, launch: FloatArray) -> tuple[FloatArray, bool]:
    usual = usual_spin(launch)
    if spin is None:
        return usual, False
    known = np.isfinite(spin) & (spin > 0)
    return np.where(known, spin, usual), bool(known.mean() > 0.5)


def _or_zero(values: FloatArray | None, count: int) -> FloatArray:
    return np.zeros(count) if values is None else np.nan_to_num(values)


def sample_rows(usable: npt.NDArray[np.bool_], count: int = SAMPLE_ROWS) -> npt.NDArray[np.int64]:
    """Indices of at most `count` usable rows, spread evenly over the file.

    Parameters
    ----------
    usable : numpy array of bool
        Rows that have what the flights need.
    count : int
        The most rows to take.

    Returns
    -------
    numpy array of int
        Indices in rising order.
    """
    rows = np.flatnonzero(usable)
    if len(rows) <= count:
        return rows
    return rows[np.linspace(0, len(rows) - 1, count).astype(np.int64)]
