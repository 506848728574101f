"""What is known of a visit rather than of a shot: where the wind was taken, what measured, where.

An export, its note or a mapping may say it; else the settings of the home do.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from fnmatch import fnmatch

import polars as pl
from rangeledger.pipelines.reader.recognising.words.mapping_file import plain_form
from rangeledger.schemas.columns import UNKNOWN_MONITOR


def layout_signature(headings: Iterable[str]) -> str:
    """Name of a layout that its exports share: their headings, whatever case and punctuation.

    Parameters
    ----------
    headings : iterable of str
        Headings as they stand in the export.

    Returns
    -------
    str
        Such as `layout-1f0c9a2b`; what the settings' `[monitors]` may name.
    """
    forms = sorted({plain_form(text) for text in headings} - {""})
    return "layout-" + hashlib.sha256("\x1f".join(forms).encode()).hexdigest()[:8]


def monitor_named(
    monitors: Sequence[tuple[str, str]], file_name: str, signature: str
) -> str | None:
    """What measured an export, by the settings: the first pattern that fits its name or layout."""
    for pattern, name in monitors:
        if pattern == signature or fnmatch(file_name.casefold(), pattern.casefold()):
            return name
    return None


def with_visit_words(
    shots: pl.DataFrame, *, wind_height: str, monitor: str | None, site: str | None
) -> pl.DataFrame:
    """Fill what neither rows nor note say of wind height, monitor and site.

    Parameters
    ----------
    shots : pl.DataFrame
        Canonical columns as far as they are known.
    wind_height : str
        Where noted winds are taken; only shots with a wind have one.
    monitor, site : str or None
        As the settings name them.

    Returns
    -------
    pl.DataFrame
        With the three columns.
    """
    stated = [n for n in ("wind_speed_mps", "wind_from_deg") if n in shots.columns]
    windy = pl.any_horizontal(pl.col(n).is_not_null() for n in stated) if stated else pl.lit(False)
    return shots.with_columns(
        pl.when(windy)
        .then(_stated_or_default(shots, "wind_height", wind_height))
        .alias("wind_height"),
        _stated_or_default(shots, "monitor", monitor or UNKNOWN_MONITOR),
        _stated_or_default(shots, "site", site),
    )


def _stated_or_default(shots: pl.DataFrame, name: str, default: str | None) -> pl.Expr:
    other = pl.lit(default, pl.String)
    return (pl.coalesce(name, other) if name in shots.columns else other).alias(name)
