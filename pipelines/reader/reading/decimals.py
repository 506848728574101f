"""Decimals written with the comma that also separates the cells, joined where that is certain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

_MOST_HEADING = 20  # records at the top among which the heading is looked for
_WHOLE = r"^\s*[-+−–]?\d+$"
_FRACTION = r"^\d{1,2}$"


@dataclass(frozen=True)
class Joined:
    """Numbers of cells after joining, and what was done."""

    width: npt.NDArray[np.int32]
    notes: list[str]


def join_decimals(
    cells: pl.DataFrame, width: npt.NDArray[np.int32], delimiter: str
) -> tuple[pl.DataFrame, Joined]:
    """Join `164,3` where the comma is the delimiter too.

    Parameters
    ----------
    cells : DataFrame
        Text cells of all records.
    width : ndarray of int32
        Cells of each record.
    delimiter : str
        Delimiter of the cells.

    Returns
    -------
    tuple of DataFrame and Joined
        The cells, joined where a heading of n cells stands over rows that all have the same,
        larger number of cells, and exactly one way of joining whole numbers with fractions of
        one or two digits gives n columns.

    Notes
    -----
    Where several ways are possible nothing is joined, and a note says so: a guess would put
    wrong numbers under the headings.
    """
    unchanged = cells, Joined(width, [])
    if delimiter != "," or len(width) < 2:
        return unchanged
    rows = int(np.bincount(width).argmax())
    heading = _heading(cells, width, rows)
    if heading is None:
        return unchanged
    body = np.flatnonzero(width == rows)
    if (body < heading).any() or cells[:, :rows][body].select(_any_point(rows)).item():
        return unchanged
    target = int(width[heading])
    ways = _ways(_joinable(cells[body], rows), target)
    if len(ways) != 1:
        note = (
            "The rows have more cells than the heading: decimals seem to be written with the "
            "comma that also separates the cells. Export again with semicolons."
        )
        return cells, Joined(width, [note] if _could_be(cells[body], rows) else [])
    return _join(cells, width, body, ways[0], target)


def _heading(cells: pl.DataFrame, width: npt.NDArray[np.int32], rows: int) -> int | None:
    """The first record of words that is narrower than the rows, but not than half of them."""
    for record in range(min(_MOST_HEADING, len(width))):
        wide = int(width[record])
        if wide < rows <= 2 * wide and wide > 1:
            row = cells.row(record)[:wide]
            if all(cell and not cell.strip()[:1].isdigit() for cell in row):
                return record
    return None


def _any_point(rows: int) -> pl.Expr:
    """Whether any cell has a decimal point: then the comma is none."""
    return pl.any_horizontal(
        pl.col(f"c{column}").str.contains(r"^\s*[-+−–]?\d*\.\d+").any() for column in range(rows)
    )


def _joinable(body: pl.DataFrame, rows: int) -> list[bool]:
    """For each column whether it and the next can be the two parts of one decimal."""
    whole = body.select(pl.col(f"c{i}").str.contains(_WHOLE).all() for i in range(rows)).row(0)
    fraction = body.select(
        pl.col(f"c{i}").str.contains(_FRACTION).all()
        & (pl.col(f"c{i}").str.len_bytes().n_unique() == 1)
        for i in range(rows)
    ).row(0)
    return [bool(whole[i] and fraction[i + 1]) for i in range(rows - 1)]


def _could_be(body: pl.DataFrame, rows: int) -> bool:
    return any(_joinable(body, rows))


def _ways(joinable: list[bool], target: int) -> list[list[int]]:
    """At most two ways to cut the columns into `target` groups of one or of a joinable pair."""
    columns = len(joinable) + 1
    partial: list[list[list[int]]] = [[[]], *([] for _ in range(columns))]
    for column in range(columns):
        for way in partial[column]:
            partial[column + 1].append([*way, 1])
            if column < columns - 1 and joinable[column]:
                partial[column + 2].append([*way, 2])
        for ahead in (column + 1, min(column + 2, columns)):
            partial[ahead] = _few_a_length(partial[ahead])
    return [way for way in partial[columns] if len(way) == target][:2]


def _few_a_length(ways: list[list[int]]) -> list[list[int]]:
    """Two ways of each length are enough to know that there are several."""
    kept: dict[int, list[list[int]]] = {}
    for way in ways:
        if way not in kept.setdefault(len(way), []) and len(kept[len(way)]) < 2:
            kept[len(way)].append(way)
    return [way for some in kept.values() for way in some]


def _join(
    cells: pl.DataFrame,
    width: npt.NDArray[np.int32],
    body: npt.NDArray[np.int64],
    way: list[int],
    target: int,
) -> tuple[pl.DataFrame, Joined]:
    """Join the pairs of the body's records; other records stay as they are."""
    starts = np.concatenate([[0], np.cumsum(way)[:-1]]).tolist()
    is_body = np.zeros(len(width), np.bool_)
    is_body[body] = True
    mask = pl.Series("body", is_body)
    pairs = [
        pl.concat_str([pl.col(f"c{at}"), pl.col(f"c{at + 1}")], separator=",")
        if size == 2
        else pl.col(f"c{at}")
        for at, size in zip(starts, way, strict=True)
    ]
    joined = cells.select(
        pl.when(mask).then(pair).otherwise(pl.col(f"c{column}")).alias(f"c{column}")
        for column, pair in enumerate(pairs)
    )
    new_width = np.where(is_body, target, width).astype(np.int32)
    rest = [
        pl.when(mask).then(None).otherwise(pl.col(f"c{column}")).alias(f"c{column}")
        for column in range(target, int(new_width.max()))
    ]
    frame = joined.with_columns(cells.select(rest).get_columns()) if rest else joined
    note = "Decimals are written with the comma that also separates the cells; they were joined."
    return frame, Joined(new_width, [note])
