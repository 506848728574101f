"""Records to one frame of text columns: long clean stretches at once, the rest one by one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import zip_longest

import numpy as np
import numpy.typing as npt
import polars as pl

from pipelines.reading.tokens import Form

LONG_RUN = 2_000  # records of one width in a row that are worth a call of polars
_ROWS_AT_ONCE = 20_000
_BYTES_AT_ONCE = 1 << 26


def build_frame(
    data: bytes,
    start: npt.NDArray[np.int64],
    first_line: npt.NDArray[np.int64],
    width: npt.NDArray[np.int32],
    plain: npt.NDArray[np.bool_],
    form: Form,
    cells_of: Callable[[int], list[str]],
) -> pl.DataFrame:
    """All records in file order.

    Parameters
    ----------
    data : bytes
        UTF-8 text with LF line breaks.
    start : ndarray of int64
        Where each line starts, with the end of the text behind.
    first_line : ndarray of int64
        Line (from 0) on which each record starts.
    width : ndarray of int32
        Cells of each record.
    plain : ndarray of bool
        Records that are one line and keep the rules.
    form : Form
        How cells are written.
    cells_of : callable
        Cells of a record, by its index.

    Returns
    -------
    DataFrame
        Text columns `c0`...; null where a record is shorter.
    """
    names = [f"c{column}" for column in range(int(width.max(initial=0)))]
    parts: list[pl.DataFrame] = []
    for first, last, at_once in _stretches(first_line, width, plain):
        if at_once:
            lines = start[first_line[first] : first_line[last - 1] + 2]
            frame = _read_at_once(data, lines, int(width[first]), form)
            if frame is not None:
                parts.append(_padded(frame, names))
                continue
        parts.extend(
            _from_rows(
                [cells_of(record) for record in range(some, min(some + _ROWS_AT_ONCE, last))], names
            )
            for some in range(first, last, _ROWS_AT_ONCE)
        )
    return parts[0] if len(parts) == 1 else pl.concat(parts, rechunk=False)


def _stretches(
    first_line: npt.NDArray[np.int64],
    width: npt.NDArray[np.int32],
    plain: npt.NDArray[np.bool_],
) -> Iterator[tuple[int, int, bool]]:
    """Ranges of records; True for long runs of plain records of one width on following lines."""
    count = len(width)
    if count < LONG_RUN:
        yield 0, count, False
        return
    goes_on = (np.diff(first_line) == 1) & (np.diff(width) == 0) & plain[1:] & plain[:-1]
    edges = np.concatenate([[0], np.flatnonzero(~goes_on) + 1, [count]])
    done = 0
    for run in np.flatnonzero(np.diff(edges) >= LONG_RUN):
        first, last = int(edges[run]), int(edges[run + 1])
        if not plain[first]:
            continue
        if first > done:
            yield done, first, False
        yield first, last, True
        done = last
    if done < count:
        yield done, count, False


def _read_at_once(
    data: bytes, lines: npt.NDArray[np.int64], width: int, form: Form
) -> pl.DataFrame | None:
    """A run of plain lines through polars; None if it does not see the same records."""
    names = [f"c{column}" for column in range(width)]
    frames: list[pl.DataFrame] = []
    at = 0
    while at < len(lines) - 1:
        upto = max(
            int(np.searchsorted(lines, lines[at] + _BYTES_AT_ONCE, side="right")) - 1, at + 1
        )
        try:
            frame = pl.read_csv(
                data[lines[at] : lines[upto]],
                has_header=False,
                new_columns=names,
                separator=form.delimiter,
                quote_char=form.quote,
                infer_schema=False,
                empty_string_is_null=False,
            )
        except pl.exceptions.PolarsError:
            return None
        if frame.shape != (upto - at, width):
            return None
        frames.append(frame)
        at = upto
    frame = frames[0] if len(frames) == 1 else pl.concat(frames, rechunk=False)
    return frame.with_columns(pl.all().str.strip_prefix(" ")) if form.skip_blank else frame


def _padded(frame: pl.DataFrame, names: list[str]) -> pl.DataFrame:
    missing = names[frame.width :]
    if not missing:
        return frame
    return frame.with_columns(pl.lit(None, pl.String).alias(name) for name in missing)


def _from_rows(rows: list[list[str]], names: list[str]) -> pl.DataFrame:
    columns = list(zip_longest(*rows))
    nothing = [None] * len(rows)
    columns += [nothing] * (len(names) - len(columns))  # type: ignore[list-item]
    return pl.DataFrame(
        [pl.Series(name, column, pl.String) for name, column in zip(names, columns, strict=True)]
    )
