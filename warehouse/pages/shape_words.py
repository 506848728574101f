"""The shape of each club in words: where shots start, how often they curve which way, how wide."""

from __future__ import annotations

from typing import Any

import polars as pl
from rangeledger.warehouse.pages.units import PageUnit, club_label, number, percent


def shape_rows(shape: pl.DataFrame, carry: pl.DataFrame, unit: PageUnit) -> list[dict[str, Any]]:
    """One row a club, longest first.

    Parameters
    ----------
    shape : polars.DataFrame
        Rows of shot_shape.
    carry : polars.DataFrame
        Rows of carry_by_club, longest first.
    unit : PageUnit
        Unit of the width.

    Returns
    -------
    list of dict
        Cells in words by the names that the report's template uses.
    """
    order = {club: place for place, club in enumerate(carry["club"].unique(maintain_order=True))}
    rows = sorted(shape.to_dicts(), key=lambda row: order.get(row["club"], len(order)))
    return [_row(row, unit) for row in rows]


def _row(row: dict[str, Any], unit: PageUnit) -> dict[str, Any]:
    low, high = (percent(row[f"share_stock_{end}"]).removesuffix(" %") for end in ("low", "high"))
    return {
        "label": club_label(row["club"], "full"),
        "stock": row["stock_shape"] or "–",
        "share": f"{percent(row['share_stock_shape'])} ({low}–{high})",
        "left": percent(row["share_curving_left"]),
        "straight": percent(row["share_straight"]),
        "right": percent(row["share_curving_right"]),
        "remark": "misses both ways" if row["two_way"] else "",
        "start": degrees_words(row["start_direction_deg"], row["start_direction_sd_deg"]),
        "curve": degrees_words(row["curve_deg"], row["curve_sd_deg"]),
        "width": unit.whole(row["width_m"]),
        "shots": row["shots"],
    }


def usual_shape(shape: pl.DataFrame) -> str:
    """Stock shape of the driver and the 7-iron in a few words, nothing where neither is known."""
    words = [
        f"{club_label(row['club'], 'full')} {row['stock_shape']}, "
        f"{percent(row['share_stock_shape'])} of shots"
        for row in shape.to_dicts()
        if row["stock_shape"] and row["club"] in ("driver", "7-iron")
    ]
    return f"Shape: {'; '.join(words)}." if words else ""


def degrees_words(middle: float | None, spread: float | None) -> str:
    """A direction with its side and its spread."""
    if middle is None:
        return "–"
    side = " right" if middle > 0.05 else " left" if middle < -0.05 else ""
    return f"{abs(middle):.1f}{side}" + ("" if spread is None else f" ± {number(spread, 1)}")
