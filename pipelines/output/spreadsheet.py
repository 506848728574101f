"""CSV that a spreadsheet opens: text that it would take for a formula is kept from being one.

References
----------
OWASP, CSV Injection: cells that begin with = + - @, a tab or a carriage return (from memory).
"""

from __future__ import annotations

import polars as pl

# The sign that makes a spreadsheet show the rest of a cell as text.
_AS_TEXT = "'"
_BEGINNINGS = ("=", "+", "-", "@", "\t", "\r", "\n")
# Some spreadsheets read these wide forms as the plain signs.
_WIDE = ("＝", "＋", "－", "＠")


def safe_for_spreadsheets(rows: pl.DataFrame) -> pl.DataFrame:
    """Rows in which no text cell or heading begins a formula; numbers and times stay as they are.

    Parameters
    ----------
    rows : polars.DataFrame

    Returns
    -------
    polars.DataFrame
    """
    texts = [name for name, kind in rows.schema.items() if kind == pl.String]
    begins = pl.any_horizontal
    escaped = [
        pl.when(begins(*(pl.col(name).str.starts_with(sign) for sign in (*_BEGINNINGS, *_WIDE))))
        .then(pl.concat_str(pl.lit(_AS_TEXT), pl.col(name)))
        .otherwise(pl.col(name))
        .alias(name)
        for name in texts
    ]
    safe = rows.with_columns(escaped)
    return safe.rename(
        {n: _AS_TEXT + n for n in safe.columns if n.startswith((*_BEGINNINGS, *_WIDE))}
    )
