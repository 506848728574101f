"""Cells that say that there is no value, in all languages of the vocabularies."""

from __future__ import annotations

import re

import polars as pl
from rangeledger.schemas.words import fold, words_of

_MARKS_ONLY = re.compile(r"^[\s\-–—−.…·_*?/#~:|]*$")

# A measured zero in these columns means that the quantity was not measured: no ball leaves the
# club face without spin or speed, and no air is without pressure.
ZERO_IS_MISSING = frozenset(
    {"spin_rate_rpm", "ball_speed_mps", "clubhead_speed_mps", "air_pressure_hpa"}
)
# A zero here means the same once the ball has flown.
_FLOWN = frozenset({"hang_time_s", "apex_m", "descent_angle_deg"})
_FLOWN_CARRY_M = 5.0  # common practice, no source: less is a topped ball


def is_missing(text: str | None) -> bool:
    """Whether a cell says that there is no value: blank, a dash, `n/a`, `saknas`.

    Parameters
    ----------
    text : str or None
        The cell.

    Returns
    -------
    bool
        True for null, blank, marks without letters or digits, and the missing words of all
        languages.
    """
    if text is None or _MARKS_ONLY.match(text):
        return True
    return fold(text) in words_of("missing")


def zeros_as_missing(values: pl.DataFrame) -> pl.DataFrame:
    """Canonical values with the zeros that mean "not measured" as NULL.

    Parameters
    ----------
    values : pl.DataFrame
        Canonical number columns, one row a shot, in canonical units.

    Returns
    -------
    pl.DataFrame
        The same frame; zeros of `ZERO_IS_MISSING` are NULL, and zeros of flight time, apex and
        descent angle where the ball carried more than 5 m.
    """
    never_zero = ZERO_IS_MISSING.intersection(values.columns)
    changed = [pl.when(pl.col(name) != 0.0).then(name).alias(name) for name in never_zero]
    if "carry_m" in values.columns:
        flew = pl.col("carry_m").fill_null(0.0) > _FLOWN_CARRY_M
        changed += [
            pl.when(~((pl.col(name) == 0.0) & flew)).then(name).alias(name)
            for name in _FLOWN.intersection(values.columns)
        ]
    return values.with_columns(changed)
