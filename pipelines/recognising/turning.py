"""Tables whose shots are columns, turned upright."""

from __future__ import annotations

from pipelines.reading.grid import Grid


def turned(grid: Grid) -> Grid:
    """The grid itself, or its turned copy where the shots are its columns."""
    return grid
