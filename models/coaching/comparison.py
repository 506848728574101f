"""Two ways of hitting against each other: which controls distance better, and is that sure yet.

Clock positions against feel, one ball against another, before a date against after it: each way
is a set of shots. Distance control is the spread of carry within a session as a share of carry,
so that ways with other clubs and swings can be held against each other.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl
from rangeledger.models.clubs.shot_groups import CARRY, SIDE
from rangeledger.models.coaching.way_difference import way_difference
from rangeledger.models.population import MODEL_VERSION
from rangeledger.models.statistics.level_step import LevelStep
from rangeledger.schemas.errors import NotEnoughShotsError
from scipy import special

CELL: Final = ("player", "club", "swing", "ball", "session_id")
LEVEL: Final = 0.90
# A handful of shots shows less kurtosis than there is: the usual one counts as so many shots, and
# none is taken for less than a normal's 3. Tuned on the makes of players kept for that.
USUAL_KURTOSIS, KURTOSIS_WEIGHT = 4.5, 30.0
LEAST_KURTOSIS, MOST_KURTOSIS = 3.0, 9.0
# Mishits come in runs, some days more than others: so many count as one. Tuned likewise.
MISHIT_RUN: Final = 1.25
# Nobody hits more than this to settle a question; beyond it the answer is "alike".
MOST_MORE_SHOTS: Final = 2000


@dataclass(frozen=True, slots=True)
class Spread:
    """Pooled spread of one way.

    Attributes
    ----------
    shots : int
        Clean strikes that it rests on.
    sessions : int
        Sessions that they come from.
    spread : float
        Standard deviation of carry, or of side, within a session as a share of carry [1].
    freedom : float
        Effective degrees of freedom.
    """

    shots: int
    sessions: int
    spread: float
    freedom: float


def variance_ratio(
    variance: float, freedom: float, other: float, other_freedom: float, level: float = LEVEL
) -> tuple[float, float, float, float]:
    """Ratio of two variances with its interval.

    Parameters
    ----------
    variance, other : float
        The two variances [any one unit].
    freedom, other_freedom : float
        Their degrees of freedom [1], > 0.
    level : float
        Probability that the interval holds the true ratio [1].

    Returns
    -------
    tuple of float
        Ratio, lower and upper end, and the probability that the first variance is the smaller
        one, all [1].

    Notes
    -----
    The ratio over the true ratio follows F with the two degrees of freedom for normal samples.

    References
    ----------
    [nist_handbook]
    """
    ratio = variance / other
    tail = 0.5 * (1.0 - level)
    high = ratio / special.fdtri(freedom, other_freedom, tail)
    low = ratio / special.fdtri(freedom, other_freedom, 1.0 - tail)
    return ratio, float(low), float(high), float(special.fdtrc(freedom, other_freedom, ratio))


def session_spread(shots: pl.DataFrame, of: str = CARRY) -> Spread:
    """Pooled spread of carry, or of side, within a session as a share of carry.

    Parameters
    ----------
    shots : polars.DataFrame
        Shots of one way: player, club, swing, ball, session_id, still_carry_m [m] and strike.
    of : str
        Column whose spread is told [m]; shots without it are left out.

    Returns
    -------
    Spread
        Spread [1] and what it rests on.

    Raises
    ------
    NotEnoughShotsError
        If no club and swing has two clean strikes in one session.

    Notes
    -----
    s^2 = sum of ((value - cell mean) / cell mean of carry)^2 over sum of (n - 1), a cell being one
    club, swing and ball in one session. The degrees of freedom are scaled by 2 / (kurtosis - 1),
    which makes the variance ratio hold for tails that are not normal; the kurtosis leans on the
    usual one, since few shots can't show theirs. Sessions that differ in their spread beyond chance
    make them fewer still.

    References
    ----------
    [box1955]
    """
    used = (
        shots.filter(pl.col("strike") == "clean", pl.col(CARRY, of).is_not_null())
        .filter(pl.len().over(CELL) >= 2)
        .sort(*CELL, of)
    )
    if not used.height:
        raise NotEnoughShotsError(
            "One side of the comparison has no club and swing with two clean strikes in a session. "
            "Choose a wider selection, or hit more shots."
        )
    away = (pl.col(of) - pl.col(of).mean().over(CELL)) / pl.col(CARRY).mean().over(CELL)
    relative = used.select(away).to_series().to_numpy()
    freedom = used.height - used.select(CELL).n_unique()
    variance = float((relative**2).sum() / freedom)
    own = float((relative**4).mean() / (relative**2).mean() ** 2) if variance else 3.0
    weight = KURTOSIS_WEIGHT / (KURTOSIS_WEIGHT + used.height)
    held = min(max(own + weight * (USUAL_KURTOSIS - own), LEAST_KURTOSIS), MOST_KURTOSIS)
    doubt = (held - 1.0) / freedom
    if variance:
        doubt += _session_doubt(used.select("session_id", *CELL[:4], away.alias("away")), held)
    return Spread(used.height, used["session_id"].n_unique(), variance**0.5, 2.0 / doubt)


def _session_doubt(used: pl.DataFrame, kurtosis: float) -> float:
    """Variance of ln variance [1] because some sessions are wilder than others.

    What the sessions' own variances differ beyond chance, and beyond two errors of saying so, by
    moments; spread evenly over the sessions by their degrees of freedom.
    """
    cells = (pl.len() - 1).over(CELL) / pl.len().over(CELL)
    sessions = (
        used.with_columns(cells.alias("freedom"))
        .group_by("session_id")
        .agg((pl.col("away") ** 2).sum().alias("scatter"), pl.col("freedom").sum())
        .sort("session_id")
    )
    freedom, scatter = sessions["freedom"].to_numpy(), sessions["scatter"].to_numpy()
    count, total = len(freedom), float(freedom.sum())
    if count < 2:
        return 0.0
    ratio = scatter / freedom / (scatter.sum() / total)
    apart = float((freedom * (ratio - 1.0) ** 2).sum()) / total * count / (count - 1.0)
    chance = (kurtosis - 1.0) * count / total
    extra = max(apart - chance * (1.0 + 2.0 * (2.0 / (count - 1.0)) ** 0.5), 0.0)
    return float(extra * (freedom**2).sum() / total**2)


def more_shots(first: Spread, second: Spread, level: float = LEVEL) -> int | None:
    """Shots that each way still needs for the better one to be sure, if the ratio stays.

    Parameters
    ----------
    first, second : Spread
        The two ways.
    level : float
        Probability of the interval that has to leave out equality [1].

    Returns
    -------
    int or None
        Shots a way [1]; 0 if it is sure already, None if the ways are too alike to tell by any
        practice.

    Notes
    -----
    ln of a standard deviation has variance 1 / (2 nu), which shrinks with the shots; solved for
    |ln ratio| = z se.
    """
    distance = abs(float(np.log(first.spread / second.spread)))
    z = float(special.ndtri(0.5 + 0.5 * level))
    noise = 0.5 / first.freedom + 0.5 / second.freedom
    fewer = min(first.shots, second.shots)
    if distance * distance >= z * z * noise:
        return 0
    if distance == 0.0 or fewer * (z * z * noise / distance**2 - 1.0) > MOST_MORE_SHOTS:
        return None
    return int(np.ceil(fewer * (z * z * noise / distance**2 - 1.0)))


def compare(first: pl.DataFrame, second: pl.DataFrame, *, level: float = LEVEL) -> pl.DataFrame:
    """Two ways of hitting against each other.

    Parameters
    ----------
    first, second : polars.DataFrame
        Shots of the two ways: player, club, swing, ball, session_id, strike, still_carry_m [m];
        still_side_m [m] where it is known.
    level : float
        Probability of the intervals [1].

    Returns
    -------
    polars.DataFrame
        A row a measure (`spread of carry`, `spread of side` where both ways have sides, `mishits`,
        `carry`): `first` and `second` [% of carry, or % of shots; carry: first against second],
        `difference` with `low` and `high` [%], `probability_first_better` [1] (null for carry),
        `more_shots` a way to settle it (spreads only), `verdict` in words, `model_version`.

    Raises
    ------
    NotEnoughShotsError
        If a way has no club and swing with two clean strikes in a session.
    """
    ways = session_spread(first), session_spread(second)
    rows = [_spread_row("carry", *ways, "controls distance better", level)]
    with suppress(NotEnoughShotsError):
        sides = session_spread(_with_side(first), SIDE), session_spread(_with_side(second), SIDE)
        if all(way.spread > 0.0 for way in sides):
            rows.append(_spread_row("side", *sides, "controls direction better", level))
    rows.append(_mishit_row(first, second, level))
    difference = way_difference(first, second)
    if difference is not None:
        rows.append(_carry_row(difference, level))
    table = pl.DataFrame(rows, schema=_SCHEMA, orient="row")
    return table.with_columns(model_version=pl.lit(MODEL_VERSION))


_SCHEMA: Final = {
    "measure": pl.String, "first": pl.Float64, "second": pl.Float64, "difference": pl.Float64,
    "low": pl.Float64, "high": pl.Float64, "probability_first_better": pl.Float64,
    "more_shots": pl.Int64, "verdict": pl.String,
}  # fmt: skip
Row = tuple[
    str, float | None, float | None, float, float, float, float | None, int | None, str
]  # fmt: skip


def _with_side(shots: pl.DataFrame) -> pl.DataFrame:
    """The shots with a column of sides, empty where they have none."""
    if SIDE in shots.columns:
        return shots
    return shots.with_columns(pl.lit(None, pl.Float64).alias(SIDE))


def _spread_row(quantity: str, one: Spread, other: Spread, better_label: str, level: float) -> Row:
    ratio, low, high, better = variance_ratio(
        one.spread**2, one.freedom, other.spread**2, other.freedom, level
    )
    needed = more_shots(one, other, level)
    differences = [100.0 * (value**0.5 - 1.0) for value in (ratio, low, high)]
    verdict = _verdict(low > 1.0, high < 1.0, better_label)
    if needed is None:
        verdict = "too alike to tell them apart by practice"
    return (
        f"spread of {quantity}", 100.0 * one.spread, 100.0 * other.spread, *differences, better,
        needed, verdict,
    )  # fmt: skip


def _mishit_row(first: pl.DataFrame, second: pl.DataFrame, level: float) -> Row:
    """Rates as betas with a flat prior's half a count (Jeffreys), compared by fixed draws."""
    counts = [
        tuple(shots.filter(pl.col("strike") == word).height for word in ("mishit", "clean"))
        for shots in (first, second)
    ]
    random = np.random.default_rng(0)
    draws = [
        random.beta(bad / MISHIT_RUN + 0.5, good / MISHIT_RUN + 0.5, 4000) for bad, good in counts
    ]
    step = 100.0 * (draws[0] - draws[1])
    low, high = np.quantile(step, [0.5 * (1 - level), 0.5 * (1 + level)])
    rates = [100.0 * bad / (bad + good) for bad, good in counts]
    return (
        "mishits", rates[0], rates[1], rates[0] - rates[1], float(low), float(high),
        float((step < 0).mean()), None, _verdict(low > 0, high < 0, "has fewer mishits"),
    )  # fmt: skip


def _carry_row(difference: LevelStep, level: float) -> Row:
    tail = 0.5 * (1.0 - level)
    ends = difference.mean, difference.quantile(tail), difference.quantile(1.0 - tail)
    middle, low, high = (100.0 * float(np.expm1(end)) for end in ends)
    return (
        "carry", None, None, middle, low, high, None, None,
        _verdict(high < 0, low > 0, "carries farther"),
    )  # fmt: skip


def _verdict(second_better: bool, first_better: bool, label: str) -> str:
    if first_better:
        return f"the first {label}"
    return f"the second {label}" if second_better else "not settled"
