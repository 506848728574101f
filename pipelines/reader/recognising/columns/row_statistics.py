"""Rows whose numbers sum up those of others: means, spreads, extremes, percentiles."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

_FEWEST_COLUMNS, _FEWEST_SHOTS = 3, 2
# Log odds that a row with the name of a shot is no mean: one row in a thousand, set by hand.
_SURE_OF_A_NAMED_MEAN = 7.0
_CHANCE_OF_A_SLIP = 0.02  # that a column of a mean differs: it was reckoned from finer numbers


def by_arithmetic(
    numbers: Sequence[npt.NDArray[np.float64]],
    decimals: Sequence[int],
    group: npt.NDArray[np.int64],
    nameless: npt.NDArray[np.bool_],
    named: npt.NDArray[np.bool_] | None = None,
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
    named : numpy array of bool or None
        Rows that bear a name as shots do: only numbers that a shot would hardly have make means
        of them.

    Returns
    -------
    numpy array of bool
        Rows that are means of at least two others in at least three columns.
    """
    named = np.zeros(len(nameless), np.bool_) if named is None else named
    found = np.zeros(len(nameless), np.bool_)
    if len(numbers) < _FEWEST_COLUMNS or not nameless.any():
        return found
    found |= nameless & _means_of_all_above(numbers, decimals)
    for row in np.flatnonzero(found & named).tolist():
        above = np.flatnonzero(~found[:row] | ~nameless[:row])
        found[row] = _evidence(row, above, numbers, decimals) >= _SURE_OF_A_NAMED_MEAN
    likely = np.zeros(len(nameless), np.bool_)
    rows = np.flatnonzero(nameless & ~found)
    likely[rows] = _near_means_of_runs(rows, numbers, decimals, group, found)
    row = int(likely.argmax())
    while likely[row]:
        likely[row] = False
        if any(
            len(above) >= _FEWEST_SHOTS
            and _is_mean(row, above, numbers, decimals)
            and not (
                named[row] and _evidence(row, above, numbers, decimals) < _SURE_OF_A_NAMED_MEAN
            )
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


_PERCENTILES = (5, 10, 25, 75, 90, 95)
_EXTREMES = 2  # the last of the statistics, which are a shot's own values


def _statistics(known: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """What a line below a table may say of a column; a single shot has only the last two."""
    mean, spread, sample = np.mean(known), np.std(known), np.std(known, ddof=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        relative = 100.0 * sample / mean
    return np.array([
        mean, np.median(known), np.sum(known), spread, sample, np.ptp(known),
        sample / np.sqrt(known.size), relative, known.size,
        *np.percentile(known, _PERCENTILES), np.min(known), np.max(known),
    ])  # fmt: skip


def of_labelled_rows(
    numbers: Sequence[npt.NDArray[np.float64]],
    decimals: Sequence[int],
    labelled: npt.NDArray[np.bool_],
    club: npt.NDArray[np.int64] | None = None,
    remarked: npt.NDArray[np.bool_] | None = None,
) -> npt.NDArray[np.bool_]:
    """Rows under an unknown label, or without a name, that equal one statistic of the shots.

    Parameters
    ----------
    numbers : sequence of numpy array
        Measured columns as written.
    decimals : sequence of int
        Decimals that each prints.
    labelled : numpy array of bool
        Rows whose club is blank or a word that no other row has and nobody knows.
    club : numpy array of int or None
        Which rows bear the same club.
    remarked : numpy array of bool or None
        Rows that bear a name like the others, but also the word of a statistic: they may be the
        best shot, which has the extremes, but no shot is a mean.

    Returns
    -------
    numpy array of bool
        Rows that are one statistic of the shots above or below, of those up to the next such row,
        or of those of the same club, in most columns.
    """
    found = np.zeros(len(labelled), np.bool_)
    remarked = np.zeros(len(labelled), np.bool_) if remarked is None else remarked & ~labelled
    shots = np.flatnonzero(~labelled & ~remarked)
    for row in np.flatnonzero(labelled | remarked).tolist():
        found[row] = any(
            _sums_up(row, rows, numbers, decimals, extremes=not remarked[row])
            for rows in _groups_beside(row, shots, club)
        )
    return found


def is_statistic(
    row: int,
    group: npt.NDArray[np.int64],
    numbers: Sequence[npt.NDArray[np.float64]],
    decimals: Sequence[int],
) -> bool:
    """Whether a row is one statistic, other than an extreme, of a group of rows.

    Parameters
    ----------
    row : int
        The row.
    group : numpy array of int
        The others.
    numbers : sequence of numpy array
        Measured columns as written.
    decimals : sequence of int
        Decimals that each prints.

    Returns
    -------
    bool
        False for groups of fewer than three.
    """
    return group.size > _FEWEST_SHOTS and _sums_up(row, group, numbers, decimals, extremes=False)


def _groups_beside(
    row: int, shots: npt.NDArray[np.int64], club: npt.NDArray[np.int64] | None
) -> Iterator[npt.NDArray[np.int64]]:
    """Shots that a row may sum up: all, those of its run above or below, those of its club."""
    above, below = shots[shots < row], shots[shots > row]
    after = np.flatnonzero(np.diff(above) > 1)
    until = np.flatnonzero(np.diff(below) > 1)
    groups = [above, above[after[-1] + 1 :] if after.size else above]
    groups += [shots, below[: until[0] + 1] if until.size else below]
    if club is not None:
        groups.append(shots[club[shots] == club[row]])
    seen: set[tuple[int, int]] = set()
    for rows in groups:
        key = (int(rows[0]), len(rows)) if rows.size else (0, 0)
        if rows.size > _FEWEST_SHOTS and key not in seen:
            seen.add(key)
            yield rows


def _sums_up(
    row: int,
    group: npt.NDArray[np.int64],
    numbers: Sequence[npt.NDArray[np.float64]],
    decimals: Sequence[int],
    *,
    extremes: bool,
) -> bool:
    """Whether a row is one and the same statistic of a group in most columns."""
    agree, differ = np.zeros((2, 9 + len(_PERCENTILES) + _EXTREMES), np.int64)
    possible = np.ones(agree.size, np.bool_)
    possible[agree.size - _EXTREMES :] = extremes
    for values, places in zip(numbers, decimals, strict=True):
        known = values[group][np.isfinite(values[group])]
        if not np.isfinite(values[row]) or known.size <= _FEWEST_SHOTS or np.ptp(known) == 0.0:
            continue
        near = np.abs(values[row] - _statistics(known)) <= 0.55 * 10.0**-places
        agree += near
        differ += ~near
        possible &= differ <= agree + _FEWEST_COLUMNS
        if not possible.any():
            return False
    fewest = min(_FEWEST_COLUMNS, max(2, len(numbers)))
    return bool((possible & (agree >= fewest) & (agree > differ)).any())


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


def _evidence(
    row: int,
    above: npt.NDArray[np.int64],
    numbers: Sequence[npt.NDArray[np.float64]],
    decimals: Sequence[int],
) -> float:
    """Log odds, before what is thought of rows in general, that a row is a mean and no shot.

    A shot falls on the rounded mean by chance, the likelier the coarser a column is printed: with
    the density of the normal distribution in its middle, for a new value beside `n` known ones.
    """
    odds = 0.0
    for values, places in zip(numbers, decimals, strict=True):
        known = values[above][np.isfinite(values[above])]
        if not np.isfinite(values[row]) or known.size < _FEWEST_SHOTS or np.ptp(known) == 0.0:
            continue
        near = 0.55 * 10.0**-places
        spread = np.std(known, ddof=1) * np.sqrt(1.0 + 1.0 / known.size)
        by_chance = min(0.95, 2.0 * near / (spread * np.sqrt(2.0 * np.pi)))
        fits = abs(values[row] - known.mean()) <= near
        odds += np.log((1.0 - _CHANCE_OF_A_SLIP) / by_chance) if fits else 0.0
        odds += 0.0 if fits else np.log(_CHANCE_OF_A_SLIP / (1.0 - by_chance))
    return float(odds)
