"""Rows that sum up others: by their words, and by arithmetic where they have none."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.normalising.words import is_summary_word
from rangeledger.pipelines.reader.recognising.profile import Profile, distinct, stripped
from rangeledger.schemas.compositions import DATE, DATETIME, SHOT_NUMBER, TIME
from rangeledger.schemas.words import fold, words_of

_NAMING = ("club", SHOT_NUMBER, DATE, TIME, DATETIME)
_MOSTLY = 0.8  # share of the rows that bear a name where shots do; common practice, no source
_MOST_DISTINCT = 5000
_TIME_LIKE = re.compile(r"^[0-9:.,T \-/+Z]*$")
_FEWEST_LABELS = 3
_FEWEST_COLUMNS, _FEWEST_SHOTS = 3, 2


def by_words(profiles: Sequence[Profile], columns: dict[int, str]) -> npt.NDArray[np.bool_]:
    """Rows whose label stands where shots have their number, time, club or player.

    Parameters
    ----------
    profiles : sequence of Profile
        Columns of a table.
    columns : dict[int, str]
        Place -> canonical column or helper.

    Returns
    -------
    numpy array of bool
        One a record. A remark never makes a row one that sums up, whatever it says: a shot may be
        the best, the worst or an average one.
    """
    length = len(profiles[0].text) if profiles else 0
    found = np.zeros(length, np.bool_)
    unnamed = nameless(profiles, columns)
    for profile in profiles:
        column = columns.get(profile.place)
        if column != "club" and profile.is_number and not _some_words(profile):
            continue
        words = _summary_cells(profile.text)
        if not words:
            continue
        sure = [word for word in words if _names_no_one(word)]
        if column in _NAMING:
            found |= _is_in(profile.text, words)
        elif column is None and _labels_rows(profile, words):
            return np.ones(length, np.bool_)
        elif column is None and _numbers_rows(profile):
            # Where shots have their number, whatever stands beside `mean` is such a label: `n`.
            found |= np.asarray((stripped(profile.text).str.contains("^[^0-9]+$")).to_numpy())
        elif column == "player" and len(sure) < profile.text.n_unique():
            # A player may be called Max, or Mean Gene: such words count only beside a blank club.
            found |= _is_in(profile.text, [word for word in sure if fold(word) in _words()])
        found |= _is_in(profile.text, words) & unnamed
    return found


def worded(profiles: Sequence[Profile], columns: dict[int, str]) -> npt.NDArray[np.bool_]:
    """Rows with the word of a statistic anywhere: shots with a remark, unless arithmetic tells."""
    length = len(profiles[0].text) if profiles else 0
    found = np.zeros(length, np.bool_)
    for profile in profiles:
        may_label = columns.get(profile.place) in (None, "swing", "player")
        if may_label and not profile.is_number and "note" not in profile.heading.tags:
            found |= _is_in(profile.text, _summary_cells(profile.text))
    return found


def _labels_rows(profile: Profile, words: Sequence[str]) -> bool:
    """Whether every row bears the name of a statistic, in turn: `P10 P25 P50` for each club."""
    cells = stripped(profile.text.head(_MOST_DISTINCT))
    running = bool((cells == cells.shift(1)).any())
    labels = {word.strip() for word in words}
    return len(labels) >= _FEWEST_LABELS and not running and set(cells.unique()) == labels


def _numbers_rows(profile: Profile) -> bool:
    """Whether a column that nobody claims numbers or times the rows: the first, or one that counts.

    One that counts begins at 1 and goes on by ones, in every group anew: `1 2 3 mean SD n`.
    """
    cells = stripped(profile.text.head(_MOST_DISTINCT))
    filled = cells.filter(cells != "")
    numbered = filled.filter(filled.str.contains(_TIME_LIKE.pattern))
    if not len(filled) or (profile.place and "note" in profile.heading.tags):
        return False
    if profile.place:
        counted = numbered.cast(pl.Float64, strict=False).drop_nulls().to_numpy()
        steps = np.diff(counted, prepend=0.0)
        on = np.isin(steps, (0.0, 1.0)) | (counted == 1.0)
        return 2 * len(counted) >= len(filled) and bool(on.all()) and bool((steps == 1).any())
    return len(numbered) > _MOSTLY * len(filled)


def nameless(profiles: Sequence[Profile], columns: dict[int, str]) -> npt.NDArray[np.bool_]:
    """Rows without number and club, in a table whose shots bear them."""
    length = len(profiles[0].text) if profiles else 0
    blank = [
        np.asarray((stripped(profile.text) == "").to_numpy())
        for profile in profiles
        if columns.get(profile.place) in ("club", SHOT_NUMBER)
    ]
    telling = [cells for cells in blank if cells.mean() < 1.0 - _MOSTLY]
    return np.logical_and.reduce(telling) if telling else np.zeros(length, np.bool_)


def _is_in(text: pl.Series, words: Sequence[str]) -> npt.NDArray[np.bool_]:
    if not words:
        return np.zeros(len(text), np.bool_)
    return np.asarray(text.is_in(words).fill_null(False).to_numpy())


def _words() -> dict[str, str]:
    return words_of("summary")


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
    cells = [cell for cell in distinct(text)[:_MOST_DISTINCT] if cell.strip()]
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
