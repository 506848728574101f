"""Records to one frame of text columns: clean ones all at once, the rest one by one."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise, zip_longest

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.reading.tokens import Form

MANY = 2_000  # plain records of one width that are worth a call of polars
_ROWS_AT_ONCE = 20_000
_BYTES_AT_ONCE = 1 << 26
_BYTES_UNCUT = 1 << 28
_FEW_RUNS = 200  # more are put in order by gathering, fewer by slicing

_Integers = npt.NDArray[np.int64]


def build_frame(
    data: bytes,
    start: _Integers,
    first_line: _Integers,
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
    records: list[_Integers] = []
    rest = np.ones(len(width), np.bool_)
    for wide in _frequent(width[plain]):
        some = np.flatnonzero(plain & (width == wide))
        frame = _read_at_once(data, start, first_line[some], wide, form)
        if frame is not None:
            parts.append(_padded(frame, names))
            records.append(some)
            rest[some] = False
    for left in _batches(np.flatnonzero(rest), len(parts) == 0):
        parts.append(_from_rows([cells_of(record) for record in left.tolist()], names))
        records.append(left)
    return _in_order(parts, records)


def _frequent(width: npt.NDArray[np.int32]) -> list[int]:
    """Widths that many records have."""
    if len(width) < MANY:
        return []
    values, counts = np.unique(width, return_counts=True)
    found: list[int] = values[counts >= MANY].tolist()
    return found


def _batches(records: _Integers, always: bool) -> Iterator[_Integers]:
    for first in range(0, len(records), _ROWS_AT_ONCE):
        yield records[first : first + _ROWS_AT_ONCE]
    if always and len(records) == 0:
        yield records


def _in_order(parts: list[pl.DataFrame], records: list[_Integers]) -> pl.DataFrame:
    """Put parts together so that the records are in file order."""
    if len(parts) == 1:
        return parts[0]
    together = pl.concat(parts, rechunk=False)
    order = np.argsort(np.concatenate(records), kind="stable")
    breaks = np.flatnonzero(np.diff(order) != 1) + 1
    if len(breaks) >= _FEW_RUNS:
        return together[order]
    edges = [0, *breaks.tolist(), len(order)]
    return pl.concat(
        [together.slice(int(order[first]), last - first) for first, last in pairwise(edges)],
        rechunk=False,
    )


def _read_at_once(
    data: bytes, start: _Integers, lines: _Integers, width: int, form: Form
) -> pl.DataFrame | None:
    """Plain lines of one width through polars; None if it does not see the same records."""
    frames: list[pl.DataFrame] = []
    for text, count in _texts(data, start, lines):
        frame = _parsed(text, width, form)
        if frame is None or frame.shape != (count, width):
            return None
        frames.append(frame)
    return frames[0] if len(frames) == 1 else pl.concat(frames, rechunk=False)


def _parsed(text: bytes, width: int, form: Form) -> pl.DataFrame | None:
    try:
        frame = pl.read_csv(
            text,
            has_header=False,
            new_columns=[f"c{column}" for column in range(width)],
            separator=form.delimiter,
            quote_char=form.quote,
            infer_schema=False,
            empty_string_is_null=False,
        )
    except pl.exceptions.PolarsError:
        return None
    return frame.with_columns(pl.all().str.strip_prefix(" ")) if form.skip_blank else frame


def _texts(data: bytes, start: _Integers, lines: _Integers) -> Iterator[tuple[bytes, int]]:
    """The text of some lines in pieces of about 64 MiB, with the number of lines of each."""
    if len(lines) == len(start) - 1 and len(data) <= _BYTES_UNCUT:
        yield data, len(lines)  # every line, so that nothing need be copied
        return
    upto = np.cumsum(start[lines + 1] - start[lines])
    at = 0
    while at < len(lines):
        done = upto[at - 1] if at else 0
        stop = max(int(np.searchsorted(upto, done + _BYTES_AT_ONCE, side="right")), at + 1)
        some = lines[at:stop]
        ends = np.append(np.flatnonzero(np.diff(some) != 1), len(some) - 1)
        firsts = some[np.append(0, ends[:-1] + 1)]
        spans = zip(start[firsts].tolist(), start[some[ends] + 1].tolist(), strict=True)
        yield b"".join(data[begin:end] for begin, end in spans), len(some)
        at = stop


def _padded(frame: pl.DataFrame, names: list[str]) -> pl.DataFrame:
    missing = names[frame.width :]
    if not missing:
        return frame
    return frame.with_columns(pl.lit(None, pl.String).alias(name) for name in missing)


def _from_rows(rows: list[list[str]], names: list[str]) -> pl.DataFrame:
    columns: list[Sequence[str | None]] = list(zip_longest(*rows))
    nothing = [None] * len(rows)
    columns += [nothing] * (len(names) - len(columns))
    return pl.DataFrame(
        [pl.Series(name, column, pl.String) for name, column in zip(names, columns, strict=True)]
    )
