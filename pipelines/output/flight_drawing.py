"""Side and plan view of one flight, as text for the terminal and as SVG."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from rangeledger.models.arrays import FloatArray
from rangeledger.schemas.units import YARD_M

if TYPE_CHECKING:
    from rangeledger.models.flight.trajectory import FlightPath


_COLUMNS, _SIDE_ROWS, _PLAN_ROWS = 72, 12, 7
_LEAST_PLAN_YD = 5.0

# SVG, in its own units: margins, and the space a view takes.
_LEFT, _RIGHT, _TOP, _GAP, _WIDTH = 56.0, 16.0, 34.0, 56.0, 720.0
_SKY, _GROUND, _BALL = "#1f4e79", "#7a8b6f", "#c1440e"


def text_views(path: FlightPath) -> str:
    """Side view and plan view of a flight in characters.

    Parameters
    ----------
    path : FlightPath
        Points of the flight [m].

    Returns
    -------
    str
        Lines without a final newline; yards along both axes.
    """
    along, side, height = (v / YARD_M for v in (path.downrange_m, path.side_m, path.height_m))
    low, high = min(0.0, float(height.min())), max(1.0, float(height.max()))
    reach = max(_LEAST_PLAN_YD, float(np.abs(side).max()))
    left, right = min(0.0, float(along.min())), max(1.0, float(along.max()))
    span = (left, right)
    lines = ["height [yd]", *_grid(along, height, span, (low, high), _SIDE_ROWS, ground=0.0)]
    lines += [
        "",
        "left - right [yd]",
        *_grid(along, -side, span, (-reach, reach), _PLAN_ROWS, ground=0.0),
    ]
    ticks = "".join(f"{left + (right - left) * k / 4:<{_COLUMNS // 4}.0f}" for k in range(4))
    lines.append(" " * 8 + f"{ticks}{right:.0f} yd")
    return "\n".join(lines)


def _grid(
    along: FloatArray,
    up: FloatArray,
    span: tuple[float, float],
    limits: tuple[float, float],
    rows: int,
    ground: float,
) -> list[str]:
    """Points on a grid of characters, highest row first, with the scale at the left."""
    cells = [[" "] * (_COLUMNS + 1) for _ in range(rows)]

    def row_of(value: float) -> int:
        return round((limits[1] - value) / (limits[1] - limits[0]) * (rows - 1))

    for column in range(_COLUMNS + 1):
        cells[row_of(ground)][column] = "."
    for x, y in zip(along, up, strict=True):
        column = round((x - span[0]) / (span[1] - span[0]) * _COLUMNS)
        cells[row_of(float(y))][min(max(column, 0), _COLUMNS)] = "*"
    cells[row_of(float(up[-1]))][round((along[-1] - span[0]) / (span[1] - span[0]) * _COLUMNS)] = (
        "o"
    )
    labels = {0: limits[1], row_of(ground): ground, rows - 1: limits[0]}
    # In the plan view up is left, which is negative.
    sign = -1.0 if limits[0] == -limits[1] else 1.0
    return [
        f"{round(sign * labels[k]) + 0:>7d} " + "".join(cells[k])
        if k in labels
        else " " * 8 + "".join(cells[k])
        for k in range(rows)
    ]


def svg_views(path: FlightPath) -> str:
    """Side view and plan view of a flight as an SVG document.

    Parameters
    ----------
    path : FlightPath
        Points of the flight [m].

    Returns
    -------
    str
        A complete SVG document; both views have one scale, in yards.
    """
    along, side, height = (v / YARD_M for v in (path.downrange_m, path.side_m, path.height_m))
    left, right = min(0.0, float(along.min())), max(10.0, float(along.max()))
    scale = (_WIDTH - _LEFT - _RIGHT) / (right - left)
    low, top = min(0.0, float(height.min())), max(5.0, float(height.max()))
    reach = max(_LEAST_PLAN_YD, float(np.abs(side).max())) * 1.2
    base = _TOP + top * scale
    middle = base - low * scale + _GAP + reach * scale
    bottom = middle + reach * scale + 34.0
    x = _LEFT + (along - left) * scale
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH:.0f} {bottom:.0f}" '
        'font-family="sans-serif" font-size="11" fill="#333" role="img">',
        "<title>Flight of one shot: side view and plan view</title>",
        f'<rect width="{_WIDTH:.0f}" height="{bottom:.0f}" fill="#fff"/>',
        *_frame("height, yd", base, left, right, scale, _ticks(low, top), 1.0),
        *_frame("left and right, yd", middle, left, right, scale, _ticks(-reach, reach), -1.0),
        _trace(x, base - height * scale),
        _trace(x, middle + side * scale),
        f'<text x="{_WIDTH - _RIGHT}" y="{bottom - 6:.0f}" text-anchor="end">distance, yd</text>',
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _ticks(low: float, high: float) -> list[float]:
    """Round values across a range, about four of them, zero among them."""
    raw = max(high - low, 1e-6) / 4.0
    unit = 10.0 ** math.floor(math.log10(raw))
    step = next(m * unit for m in (1.0, 2.0, 5.0, 10.0) if m * unit >= raw)
    return [step * k for k in range(math.ceil(low / step), math.floor(high / step) + 1)]


def _frame(
    title: str,
    zero: float,
    left: float,
    right: float,
    scale: float,
    ticks: list[float],
    sign: float,
) -> list[str]:
    """Ground line, marks every so far along it, and marks up the side; `sign` -1 counts down."""
    highest = max(sign * tick for tick in ticks) * scale
    parts = [
        f'<text x="{_LEFT}" y="{zero - highest - 12:.1f}" font-weight="bold">{title}</text>',
        f'<line x1="{_LEFT}" y1="{zero:.1f}" x2="{_WIDTH - _RIGHT}" y2="{zero:.1f}" '
        f'stroke="{_GROUND}" stroke-width="1.5"/>',
    ]
    for tick in ticks:
        y = zero - sign * tick * scale
        parts.append(f'<text x="{_LEFT - 8}" y="{y + 4:.1f}" text-anchor="end">{tick:.0f}</text>')
    for tick in _ticks(left, right):
        x = _LEFT + (tick - left) * scale
        parts.append(f'<path d="M{x:.1f} {zero:.1f}v5" stroke="{_GROUND}"/>')
        parts.append(
            f'<text x="{x:.1f}" y="{zero + 17:.1f}" text-anchor="middle">{tick:.0f}</text>'
        )
    return parts


def _trace(x: FloatArray, y: FloatArray) -> str:
    """The ball's way and the point where it lands."""
    points = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, y, strict=True))
    return (
        f'<polyline points="{points}" fill="none" stroke="{_SKY}" stroke-width="2"/>'
        f'<circle cx="{x[-1]:.1f}" cy="{y[-1]:.1f}" r="4" fill="{_BALL}"/>'
    )
