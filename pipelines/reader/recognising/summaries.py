"""Rows that sum up others: by their words, and by arithmetic where they have none."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.normalising.words import is_summary_word
from rangeledger.pipelines.reader.recognising.profile import Profile, stripped
from rangeledger.schemas.compositions import DATE, DATETIME, SHOT_NUMBER, TIME

Statistic = Callable[..., Any]
_NAMING = ("club", SHOT_NUMBER, DATE, TIME, DATETIME, "swing")
_MOST_DISTINCT = 5000
_TIME_LIKE = re.compile(r"^[0-9:.,T \-/+Z]*$")
_FEWEST_COLUMNS, _FEWEST_SHOTS = 3, 2


def by_words(profiles: Sequence[Profile], columns: dict[int, str]) -> npt.NDArray[np.bool_]:
    """Rows whose naming cell says mean, deviation, total or the like.

    Parameters
    ----------
    profiles : sequence of Profile
        Columns of a table.
    columns : dict[int, str]
        Place -> canonical column or helper.

    Returns
    -------
    numpy array of bool
        One a record.
    """
    length = len(profiles[0].text) if profiles else 0
    found = np.zeros(length, np.bool_)
    for profile in profiles:
        column = columns.get(profile.place)
        naming = column in _NAMING or column is None or profile.place == 0
        bare = column != "club" and profile.is_number and not _some_words(profile)
        if not naming or bare:
            continue
        words = _summary_cells(profile.text)
        sure = [word for word in words if _names_no_one(word)]
        if column in _NAMING:
            found |= _is_in(profile.text, words)
        elif len(sure) < profile.text.n_unique():
            # A player may be called Max: such a word counts only beside a blank club.
            found |= _is_in(profile.text, sure)
            if len(words) > len(sure):
                found |= _is_in(profile.text, words) & _nameless(profiles, columns, length)
    return found


def _is_in(text: pl.Series, words: Sequence[str]) -> npt.NDArray[np.bool_]:
    if not words:
        return np.zeros(len(text), np.bool_)
    return np.asarray(text.is_in(words).fill_null(False).to_numpy())


def _nameless(
    profiles: Sequence[Profile], columns: dict[int, str], length: int
) -> npt.NDArray[np.bool_]:
    """Rows whose club is blank, in a table that has clubs."""
    for profile in profiles:
        if columns.get(profile.place) == "club":
            return np.asarray((stripped(profile.text) == "").to_numpy())
    return np.zeros(length, np.bool_)


def _names_no_one(word: str) -> bool:
    return word.strip().casefold() not in _NAMES_TOO


@lru_cache(maxsize=16384)
def _is_summary(cell: str) -> bool:
    return is_summary_word(cell)


def _some_words(profile: Profile) -> bool:
    return profile.numbers is not None and bool(profile.numbers.bad.any())


def _summary_cells(text: pl.Series) -> list[str]:
    if len(text) > _MOST_DISTINCT:  # a long column of times has as many cells as rows
        text = text.filter(text.str.contains(r"[^0-9:.,T \-/+Z]"))
    distinct = text.drop_nulls().unique(maintain_order=True).head(_MOST_DISTINCT)
    cells = [cell for cell in distinct if cell.strip()]
    return [cell for cell in cells if not _TIME_LIKE.match(cell) and _is_summary(cell)]


_NAMES_TOO = {
    "all",
    "alla",
    "alle",
    "todos",
    "tous",
    "tutti",
    "max",
    "min",
    "best",
    "count",
    "media",
    "mode",
    "range",
    "total",
    "sum",
    "spread",
    "consistency",
    "overall",
    "variance",
}


def by_arithmetic(
    numbers: Sequence[npt.NDArray[np.float64]],
    decimals: Sequence[int],
    group: npt.NDArray[np.int64],
    nameless: npt.NDArray[np.bool_],
) -> npt.NDArray[np.bool_]:
    """Rows that equal the mean of the rows before them, in their group or in the whole table.

    Parameters
    ----------
    numbers : sequence of numpy array
        Measured columns as written.
    decimals : sequence of int
        Decimals that each prints.
    group : numpy array of int
        Which rows belong together: the same club without a break.
    nameless : numpy array of bool
        Rows without club or number of their own, or at the end of their group.

    Returns
    -------
    numpy array of bool
        Rows that are means of at least two others in at least three columns.
    """
    found = np.zeros(len(nameless), np.bool_)
    if len(numbers) < _FEWEST_COLUMNS or not nameless.any():
        return found
    found |= nameless & _means_of_all_above(numbers, decimals)
    likely = np.zeros(len(nameless), np.bool_)
    rows = np.flatnonzero(nameless & ~found)
    likely[rows] = _near_means_of_runs(rows, numbers, decimals, group, found)
    row = int(likely.argmax())
    while likely[row]:
        likely[row] = False
        if any(
            len(above) >= _FEWEST_SHOTS and _is_mean(row, above, numbers, decimals)
            for above in _rows_above(row, group, found)
        ):
            found[row] = True
            # The rows that look back on this one have other rows above them now.
            end = int(np.searchsorted(group, group[row], side="right"))
            likely[row + 1 : end + 1] = (nameless & ~found)[row + 1 : end + 1]
        row += int(likely[row:].argmax())
    return found


def _near_means_of_runs(
    rows: npt.NDArray[np.int64],
    numbers: Sequence[npt.NDArray[np.float64]],
    decimals: Sequence[int],
    group: npt.NDArray[np.int64],
    found: npt.NDArray[np.bool_],
) -> npt.NDArray[np.bool_]:
    """Which rows are near the mean of their run or of the run before: they need a closer look."""
    runs = group[rows], group[np.maximum(rows - 1, 0)]
    starts = [np.searchsorted(group, run) for run in runs]
    agree = np.zeros((2, len(rows)), np.int64)
    for values, places in zip(numbers, decimals, strict=True):
        known = np.isfinite(values) & ~found
        count = np.concatenate([[0], np.cumsum(known)])
        total = np.concatenate([[0.0], np.cumsum(np.where(known, values, 0.0))])
        near = 0.75 * 10.0**-places + 1e-12 * np.abs(total).max()
        for k, start in enumerate(starts):
            shots = count[rows] - count[start]
            mean = (total[rows] - total[start]) / np.maximum(shots, 1)
            agree[k] += (shots >= _FEWEST_SHOTS) & (np.abs(values[rows] - mean) <= near)
    return np.asarray((agree >= _FEWEST_COLUMNS).any(axis=0))


_STATISTICS: tuple[Statistic, ...] = (
    np.mean, np.median, np.min, np.max, np.ptp, np.std, lambda v: np.std(v, ddof=1)
)  # fmt: skip


def of_labelled_rows(
    numbers: Sequence[npt.NDArray[np.float64]],
    decimals: Sequence[int],
    labelled: npt.NDArray[np.bool_],
) -> npt.NDArray[np.bool_]:
    """Rows under an unknown label that equal one statistic of the shots above them.

    Parameters
    ----------
    numbers : sequence of numpy array
        Measured columns as written.
    decimals : sequence of int
        Decimals that each prints.
    labelled : numpy array of bool
        Rows whose club is blank or a word that no other row has and nobody knows.

    Returns
    -------
    numpy array of bool
        Rows that are a mean, median, least, greatest, range or deviation of all shots above, or
        of those since the last such rows, in at least three columns.
    """
    found = np.zeros(len(labelled), np.bool_)
    shots = np.flatnonzero(~labelled)
    for row in np.flatnonzero(labelled):
        above = shots[shots < row]
        if above.size < _FEWEST_SHOTS + 1:
            continue
        breaks = np.flatnonzero(np.diff(above) > 1)
        last = above[breaks[-1] + 1 :] if breaks.size else above
        for rows in (above, last) if last.size > _FEWEST_SHOTS else (above,):
            if any(_is_one(int(row), rows, numbers, decimals, one) for one in _STATISTICS):
                found[row] = True
                break
    return found


def _is_one(
    row: int,
    above: npt.NDArray[np.int64],
    numbers: Sequence[npt.NDArray[np.float64]],
    decimals: Sequence[int],
    statistic: Statistic,
) -> bool:
    agree = differ = 0
    for values, places in zip(numbers, decimals, strict=True):
        known = values[above][np.isfinite(values[above])]
        if not np.isfinite(values[row]) or known.size <= _FEWEST_SHOTS or np.ptp(known) == 0.0:
            continue
        near = abs(values[row] - float(statistic(known))) <= 0.55 * 10.0**-places
        agree, differ = agree + near, differ + (not near)
    return agree >= _FEWEST_COLUMNS and agree > differ


def _means_of_all_above(
    numbers: Sequence[npt.NDArray[np.float64]], decimals: Sequence[int]
) -> npt.NDArray[np.bool_]:
    """Rows that equal the mean of all rows above them."""
    count = len(numbers[0])
    agree, differ = np.zeros(count, np.int64), np.zeros(count, np.int64)
    for values, places in zip(numbers, decimals, strict=True):
        known = np.isfinite(values)
        before = np.cumsum(known) - known
        total = np.cumsum(np.where(known, values, 0.0)) - np.where(known, values, 0.0)
        usable = known & (before >= _FEWEST_SHOTS)
        mean = total / np.maximum(before, 1)
        near = np.abs(values - mean) <= 0.55 * 10.0**-places
        agree += usable & near
        differ += usable & ~near
    means = (agree >= _FEWEST_COLUMNS) & (agree >= 3 * differ)
    return means & _varied(numbers) if means.any() else means


def _varied(numbers: Sequence[npt.NDArray[np.float64]]) -> npt.NDArray[np.bool_]:
    """Rows above which at least three columns have changed: a mean of equals says nothing."""
    changed = np.zeros(len(numbers[0]), np.int64)
    for values in numbers:
        filled = np.where(np.isfinite(values), values, values[np.isfinite(values)][:1].sum())
        changed += np.maximum.accumulate(filled) > np.minimum.accumulate(filled)
    return changed >= _FEWEST_COLUMNS


def _rows_above(
    row: int, group: npt.NDArray[np.int64], found: npt.NDArray[np.bool_]
) -> list[npt.NDArray[np.int64]]:
    """Rows of the same run of a club, and of the run before, without those that sum up."""
    runs = [group[row], group[row - 1]] if row else []
    above = []
    for run in dict.fromkeys(runs):
        start = int(np.searchsorted(group[:row], run))
        rows = np.arange(start, row)
        above.append(rows[(group[start:row] == run) & ~found[start:row]])
    return above


def _is_mean(
    row: int,
    above: npt.NDArray[np.int64],
    numbers: Sequence[npt.NDArray[np.float64]],
    decimals: Sequence[int],
) -> bool:
    agree = differ = 0
    for values, places in zip(numbers, decimals, strict=True):
        known = values[above][np.isfinite(values[above])]
        if not np.isfinite(values[row]) or known.size < _FEWEST_SHOTS:
            continue
        if known.size and np.ptp(known) == 0.0:
            continue
        if abs(values[row] - known.mean()) <= 0.55 * 10.0**-places:
            agree += 1
        else:
            differ += 1
            if 3 * differ > len(numbers) - differ:
                return False
    return agree >= _FEWEST_COLUMNS and agree >= 3 * differ
