"""The compiled inner loop of the aim search: one landing after another, no Python in between.

Everything that comes from a module of constants is passed in: a compiled cache does not notice
when another file changes.
"""

# mypy: disable-error-code="no-untyped-def"
from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from numba import njit


def _compiled(function: Callable[..., Any]) -> Any:
    """Compile with a cache on disk, or without one where nowhere is writable."""
    try:
        return njit(cache=True, nogil=True, error_model="numpy")(function)
    except RuntimeError:
        return njit(nogil=True, error_model="numpy")(function)


@_compiled
def _cell(along, across, origin_along, origin_across, per_cell, rows, columns):
    """Row and column of the raster nearest to a place, held inside the raster."""
    i = math.floor((along - origin_along) * per_cell + 0.5)
    j = math.floor((across - origin_across) * per_cell + 0.5)
    return min(max(i, 0), rows - 1), min(max(j, 0), columns - 1)


@_compiled
def _stop(along, across, ball_along, ball_across, far, raster, trees, box, heights):
    """Place on its way at which trees stop a flying ball, 0 where none does."""
    low_along, low_across, high_along, high_across, tallest = box
    if max(along, ball_along) < low_along or min(along, ball_along) > high_along:
        return 0
    if max(across, ball_across) < low_across or min(across, ball_across) > high_across:
        return 0
    rows, columns = trees.shape
    origin_along, origin_across, per_cell = raster
    last = heights.size - 1
    for m in range(1, last):
        height = heights[m] * far
        if height >= tallest:
            continue
        u = m / last
        x, y = ball_along + u * (along - ball_along), ball_across + u * (across - ball_across)
        i, j = _cell(x, y, origin_along, origin_across, per_cell, rows, columns)
        if trees[i, j] > height:
            return m
    return 0


@_compiled
def add_stops(ends, ball, raster, trees, box, heights, places):
    """Write for each flight, from the ball to an end, the place at which trees stop it."""
    for k in range(ends.shape[0]):
        along, across = ends[k]
        far = math.hypot(along - ball[0], across - ball[1])
        places[k] = _stop(along, across, ball[0], ball[1], far, raster, trees, box, heights)


@_compiled
def add_finishes(
    landings, weights, turns, runs, raster, ground, strokes, rules, trees, box, heights,
    chance, total,
):  # fmt: skip
    """Add up where weighted landings finish and what that costs, aim by aim.

    `turns` holds cosine, sine and ball of each aim; `raster` origin and cells per metre; `rules`
    how many looks are taken along a run and which grounds stop a ball; `trees` the heights of
    trees, `box` where they stand and the tallest, and `heights` those of the flight as shares of
    its length, empty where none stops it.
    """
    rows, columns = ground.shape
    origin_along, origin_across, per_cell = raster
    looks, bunker, water = rules
    for a in range(landings.shape[0]):
        cosine, sine, ball_along, ball_across = turns[a]
        for k in range(landings.shape[1]):
            x, y = landings[a, k, 0], landings[a, k, 1]
            along = ball_along + cosine * x - sine * y
            across = ball_across + sine * x + cosine * y
            far = math.hypot(x, y)
            if heights.size > 2:
                m = _stop(along, across, ball_along, ball_across, far, raster, trees, box, heights)
                if m > 0:
                    u = m / (heights.size - 1)
                    along = ball_along + u * (along - ball_along)
                    across = ball_across + u * (across - ball_across)
                    i, j = _cell(
                        along, across, origin_along, origin_across, per_cell, rows, columns
                    )
                    chance[a, ground[i, j]] += weights[a, k]
                    total[a] += weights[a, k] * strokes[i, j]
                    continue
            i, j = _cell(along, across, origin_along, origin_across, per_cell, rows, columns)
            step = runs[a] / (looks * far) if far > 1.0e-9 else 0.0
            dx, dy = (along - ball_along) * step, (across - ball_across) * step
            for _ in range(looks):
                code = ground[i, j]
                if code in (bunker, water):
                    break
                along += dx
                across += dy
                i, j = _cell(along, across, origin_along, origin_across, per_cell, rows, columns)
            chance[a, ground[i, j]] += weights[a, k]
            total[a] += weights[a, k] * strokes[i, j]
