"""Tables of the wedges: the one for each distance, and what each swing of each carries."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import polars as pl
from rangeledger.schemas.units import YARD_M
from rangeledger.warehouse.pages.units import PageUnit, club_label, club_words


@dataclass(frozen=True, slots=True)
class SwingMatrix:
    """Carry of each wedge by swing.

    Parameters
    ----------
    swings : tuple of str
        Swings, the longest first.
    rows : tuple of tuple
        A wedge in words, then the row of `carry_by_club` of each of its swings, None where it was
        never recorded.
    """

    swings: tuple[str, ...]
    rows: tuple[tuple[str, tuple[dict[str, Any] | None, ...]], ...]


def swing_matrix(carry: pl.DataFrame) -> SwingMatrix:
    """What each swing of each wedge carries.

    Parameters
    ----------
    carry : polars.DataFrame
        Rows of carry_by_club, longest first, of one ball.

    Returns
    -------
    SwingMatrix
        Without rows where no wedge has a swing beside the full one.
    """
    wedges = carry.filter(pl.col("club").str.ends_with("wedge"))
    if not (wedges["swing"] != "full").any():
        return SwingMatrix((), ())
    order = wedges.group_by("swing").agg(pl.col("carry_m").max()).sort(
        "carry_m", "swing", descending=[True, False]
    )  # fmt: skip
    swings = tuple(order["swing"].to_list())
    found = {(row["club"], row["swing"]): row for row in wedges.to_dicts()}
    rows = tuple(
        (club_words(club), tuple(found.get((club, swing)) for swing in swings))
        for club in wedges["club"].unique(maintain_order=True)
    )
    return SwingMatrix(swings, rows)


def swing_cells(matrix: SwingMatrix, unit: PageUnit) -> list[dict[str, Any]]:
    """The matrix in words: carry and, in brackets, the band of eight of ten next shots."""
    return [
        {"label": label, "cells": [swing_cell(row, unit) for row in swings]}
        for label, swings in matrix.rows
    ]


def swing_cell(row: dict[str, Any] | None, unit: PageUnit) -> str:
    """Carry and band of a swing, a dash where it was never recorded."""
    if row is None:
        return "–"
    band = f"{unit.whole(row['carry_p10_m'])}–{unit.whole(row['carry_p90_m'])}"
    return f"{unit.whole(row['carry_m'])}{'*' if row['provisional'] else ''} ({band})"


def wedge_rows(wedges: pl.DataFrame, unit: PageUnit) -> list[dict[str, str]]:
    """Best and next best club and swing for each distance.

    Parameters
    ----------
    wedges : polars.DataFrame
        Rows of wedge_grid, of one ball.
    unit : PageUnit
        Unit of the page.

    Returns
    -------
    list of dict
        `target`, `best`, `carry`, `miss`, `second`, `second_miss` and `note`.
    """
    rows = []
    for target in wedges["target_m"].unique(maintain_order=True):
        ranked = wedges.filter(pl.col("target_m") == target).sort("rank").to_dicts()
        second = ranked[1] if len(ranked) > 1 else None
        rows.append(
            {
                "target": unit.whole(target),
                "best": club_label(ranked[0]["club"], ranked[0]["swing"]),
                "carry": unit.whole(ranked[0]["carry_m"]),
                "miss": unit.tenth(ranked[0]["expected_miss_m"]),
                "second": club_label(second["club"], second["swing"]) if second else "–",
                "second_miss": unit.tenth(second["expected_miss_m"] if second else None),
                "note": _note_words(ranked[0]["hole_note"] or "", unit),
            }
        )
    return rows


def wedges_that_fit(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """Rows without the distances below the shortest swing and beyond the longest."""
    return [row for row in rows if not row["note"].startswith(("shorter", "longer"))]


def _note_words(note: str, unit: PageUnit) -> str:
    """A note of the wedge grid in the words and the unit of the page."""
    words = re.sub(r"\b[a-z0-9]+-wedge\b", lambda club: club_words(club[0]), note)
    words = words.replace(" full (", " (")
    if unit.symbol == "yd":
        return words
    return re.sub(
        r"\((\d+) yd\)",
        lambda yards: f"({unit.whole(int(yards[1]) * YARD_M)} {unit.symbol})",
        words,
    )
