"""Missing values, impossible shots, and a column in the wrong scale."""

from __future__ import annotations

from typing import Any

import numpy as np

from tests.exports.columns import Style
from tests.exports.printing import Column, pick
from tests.exports.trade_words import MISSING

_MAY_BE_MISSING = (
    "spin_rate_rpm", "spin_axis_deg", "carry_side_m", "clubhead_speed_mps", "apex_m", "total_m",
    "launch_direction_deg", "face_angle_deg", "descent_angle_deg",
)  # fmt: skip


def spoil(
    columns: list[Column], data: dict[str, list[Any]], style: Style, rng: np.random.Generator
) -> dict[int, tuple[str, str]]:
    """Change some cells, and say which shots must or may then be rejected.

    Parameters
    ----------
    columns : list[Column]
        The printed columns; cells are changed in place.
    data : dict[str, list]
        The truth; missing cells become None in place.
    style : Style
        The style of the file.
    rng : np.random.Generator
        Source of all chance.

    Returns
    -------
    dict[int, tuple[str, str]]
        Shot -> (`must` or `optional`, why).
    """
    if rng.random() < 0.25:
        _leave_out(columns, data, style, rng)
    if rng.random() < 0.15:
        return _impossible(columns, style, rng)
    if rng.random() < 0.05:
        return _not_numbers(columns, style, rng)
    return {}


def _leave_out(
    columns: list[Column], data: dict[str, list[Any]], style: Style, rng: np.random.Generator
) -> None:
    style.trait.add("missing")
    words = [str(pick(rng, MISSING[style.language])) for _ in range(3)]
    for column in columns:
        if column.name not in _MAY_BE_MISSING or rng.random() < 0.4:
            continue
        # Carry converted with a side that is missing stays as stated: leave those columns alone.
        if column.name in ("carry_side_m", "launch_direction_deg") and style.carry != "along":
            continue
        for shot in np.flatnonzero(rng.random(len(column.cells)) < 0.15):
            zero = column.name == "spin_rate_rpm" and rng.random() < 0.3
            column.cells[shot] = style.numbers.write(0.0, 0) if zero else str(pick(rng, words))
            if zero and style.unit_place == "cell":
                column.cells[shot] += f" {column.unit_word}"
            column.worth[shot] = None
            data[column.name][shot] = None


def _impossible(
    columns: list[Column], style: Style, rng: np.random.Generator
) -> dict[int, tuple[str, str]]:
    """A few shots that can't be: far too fast, carry below zero, total short of carry."""
    named = {column.name: column for column in columns}
    kinds = ["fast"] + ["short"] * ("total_m" in named)
    kinds += ["negative"] * ("carry-twice" not in style.trait)
    spoilt: dict[int, tuple[str, str]] = {}
    count = len(columns[0].cells)
    for shot in rng.choice(count, size=min(3, count), replace=False):
        kind = str(pick(rng, kinds))
        if kind == "fast":
            _rewrite(named["ball_speed_mps"], int(shot), 7.0, style)
        elif kind == "negative":
            _rewrite(named["carry_m"], int(shot), -1.0, style)
        else:
            _rewrite(named["total_m"], int(shot), 0.3, style)
        spoilt[int(shot)] = ("must", kind)
    style.trait.add("impossible")
    return spoilt


def _rewrite(column: Column, shot: int, factor: float, style: Style) -> None:
    """Write a cell again with its number multiplied."""
    from rangeledger.schemas.units import UNITS

    shown = column.worth[shot]
    if shown is None:
        shown = next(worth for worth in column.worth if worth is not None)
    value = shown / UNITS[column.unit].factor
    text = style.numbers.write(value * factor, 1)
    column.cells[shot] = f"{text} {column.unit_word}" if style.unit_place == "cell" else text


def _not_numbers(
    columns: list[Column], style: Style, rng: np.random.Generator
) -> dict[int, tuple[str, str]]:
    """A cell that is no number and no word for missing: the row may go, its value may not come."""
    column = next(c for c in columns if c.name == "ball_speed_mps")
    shot = int(rng.integers(len(column.cells)))
    column.cells[shot] = str(pick(rng, ["=1+1", "fast", "12.3.4", "1e999", "0x41"]))
    style.trait.add("no-number")
    return {shot: ("must", "no number")}
