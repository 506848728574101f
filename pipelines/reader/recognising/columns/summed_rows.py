"""Which rows of a table sum up others, told by all of its columns together."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.recognising.columns import row_statistics, summaries
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned, decimals
from rangeledger.pipelines.reader.recognising.columns.profile import Profile, distinct, stripped
from rangeledger.pipelines.reader.recognising.words.heading import read_heading
from rangeledger.pipelines.reader.recognising.words.heading_tags import is_known, words_in
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.compositions import SHOT_NUMBER, column_dimension

_HAS_DIGIT = re.compile("[0-9]")
_MOST_LABELLED = 20_000  # rows of a table in which such labels are looked for
_MOST_NAMELESS = 2000
_MOST_RUNS = 400
_FEWEST_MEASURED = 2
_MOST_ROWS_A_LABEL = 2
_MOSTLY_NUMBERED = 0.5  # share of numbered rows from which a row without a number stands out
_MOST_LABEL_ROWS = 40  # rows with a label that are held against groups of others
_LABELS = frozenset({"range"})  # elsewhere it is a ball or a place
_LABEL_TAGS = frozenset({"target", "reference", "mean", "spread", "extreme"})
_BESIDE_LABELS = frozenset({"session", "other", "club", "shot", "distance", "carry"})


def summed_rows(
    profiles: Sequence[Profile], columns: Mapping[str, Assigned], block_of: npt.NDArray[np.int64]
) -> npt.NDArray[np.bool_]:
    """Rows that sum up others, by their words or by arithmetic.

    Parameters
    ----------
    profiles : sequence of Profile
        All columns of the table.
    columns : mapping of str to Assigned
        What its columns are.
    block_of : numpy array of int
        Number of the block that each row stands in.

    Returns
    -------
    numpy array of bool
        One a row.
    """
    names = {assigned.profile.place: name for name, assigned in columns.items()}
    summed = summaries.by_words(profiles, names) | _by_label(columns, len(block_of))
    remarked = summaries.worded(profiles, names) & ~summed
    found = summed | _means(columns, block_of, summed, remarked)
    return found | _of_labels(profiles, columns, names, remarked & ~found)


def _of_labels(
    profiles: Sequence[Profile],
    columns: Mapping[str, Assigned],
    names: Mapping[int, str],
    remarked: npt.NDArray[np.bool_],
) -> npt.NDArray[np.bool_]:
    """`Mean A` where rows bear `A`: one statistic of those; and `B minus A` below them."""
    found = np.zeros(len(remarked), np.bool_)
    rows = np.flatnonzero(remarked)
    if not rows.size or rows.size > _MOST_LABEL_ROWS or len(remarked) > _MOST_LABELLED:
        return found
    measured = [a.profile for n, a in columns.items() if column_dimension(n) and a.profile.numbers]
    numbers = [p.numbers.value.to_numpy().astype(np.float64) for p in measured if p.numbers]
    places = [decimals(profile) for profile in measured]
    for profile in profiles:
        if names.get(profile.place) or profile.is_number:
            continue
        cells = stripped(profile.text)
        for row in rows.tolist():
            words = set(cells[row].split())
            group = np.flatnonzero(cells.is_in(list(words)).to_numpy() & ~remarked)
            found[row] |= row_statistics.is_statistic(row, group, numbers, places)
    return found | _differences(numbers, places, found)


def _differences(
    numbers: Sequence[npt.NDArray[np.float64]],
    places: Sequence[int],
    found: npt.NDArray[np.bool_],
) -> npt.NDArray[np.bool_]:
    """Rows below that are the difference of two rows that sum up others, in every column."""
    differing = np.zeros(len(found), np.bool_)
    summed = np.flatnonzero(found).tolist()
    last = len(found) - summed[-1] - 1 if len(summed) > 1 else 0
    for row in range(len(found) - min(last, _MOST_LABEL_ROWS), len(found)):
        differing[row] = any(
            all(
                abs(values[row] - (values[a] - values[b])) <= 1.1 * 10.0**-digits
                for values, digits in zip(numbers, places, strict=True)
            )
            for a in summed
            for b in summed
            if a != b
        )
    return differing


def _by_label(columns: Mapping[str, Assigned], length: int) -> npt.NDArray[np.bool_]:
    """Rows whose club is no club but words for a goal, a reference, a visit: `Target`, `Last time`.

    Such a word stands in one row, or in two; a club of that name would be struck more often.
    """
    found = np.zeros(length, np.bool_)
    if length > _MOST_LABELLED:
        return found
    if SHOT_NUMBER in columns:  # `Target` where the others bear their number
        text = columns[SHOT_NUMBER].profile.text
        words = [cell for cell in text.drop_nulls().unique() if not _HAS_DIGIT.search(cell)]
        labels = [word for word in words if word.strip() and _is_label(word)]
        found |= np.asarray(text.is_in(labels).fill_null(False).to_numpy()) if labels else False
    if "club" not in columns:
        return found
    cells = stripped(columns["club"].profile.text)
    words = distinct(cells)
    if not any(cell and club_of(cell).known for cell in words):
        return found
    labels = [cell for cell in words if cell and _is_label(cell)]
    counts = {label: int((cells == label).sum()) for label in labels}
    rare = [label for label, count in counts.items() if count <= _MOST_ROWS_A_LABEL]
    return found | np.asarray(cells.is_in(rare).to_numpy()) if rare else found


@lru_cache(maxsize=4096)
def _is_label(cell: str) -> bool:
    """Whether the words of a cell, without slips of the pen, speak of a goal or a statistic."""
    if cell.casefold() in _LABELS:
        return True
    if club_of(cell).known or not all(is_known(word) for word in words_in(cell)):
        return False
    tags = read_heading(cell).tags
    return bool(tags & _LABEL_TAGS) and tags <= _LABEL_TAGS | _BESIDE_LABELS


def _means(
    columns: Mapping[str, Assigned],
    block_of: npt.NDArray[np.int64],
    summed: npt.NDArray[np.bool_],
    remarked: npt.NDArray[np.bool_],
) -> npt.NDArray[np.bool_]:
    """Rows whose numbers sum up those of other rows."""
    length = len(block_of)
    measured = [
        a.profile
        for n, a in columns.items()
        if column_dimension(n) and a.profile.numbers is not None
    ]
    if len(measured) < _FEWEST_MEASURED:
        return np.zeros(length, np.bool_)
    group, nameless = _runs(columns, block_of)
    if nameless.sum() > _MOST_NAMELESS:
        return np.zeros(length, np.bool_)
    nameless &= ~summed
    short = length <= _MOST_LABELLED
    if not (short or nameless.any()):
        return nameless
    numbers = [
        np.asarray(p.numbers.value.to_numpy(), np.float64)
        for p in measured
        if p.numbers is not None
    ]
    places = [decimals(profile) for profile in measured]
    named = ~_labelled(columns, length) & ("club" in columns)
    found = row_statistics.by_arithmetic(numbers, places, group, nameless, named)
    if short:
        labelled = _labelled(columns, length) | summed | found
        if ((labelled | remarked) & ~summed & ~found).any():
            clubs = _clubs(columns)
            found |= row_statistics.of_labelled_rows(numbers, places, labelled, clubs, remarked)
    return found & ~summed


def _runs(
    columns: Mapping[str, Assigned], block_of: npt.NDArray[np.int64]
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.bool_]]:
    """Number of each row's run of one club, and rows without a club or at the end of a run."""
    club = columns.get("club")
    group = block_of.copy()
    nameless = np.zeros(len(block_of), np.bool_)
    if club is not None:
        filled = stripped(club.profile.text)
        changed = (filled != filled.shift(1)).fill_null(True).to_numpy()
        group = np.cumsum(changed) + 1_000_000 * block_of
        nameless |= (filled == "").to_numpy()
    ends = np.append(group[1:] != group[:-1], True)
    nameless |= ends if ends.sum() <= _MOST_RUNS else False
    return group, nameless


def _labelled(columns: Mapping[str, Assigned], length: int) -> npt.NDArray[np.bool_]:
    """Rows that bear no club, or something else than a number where shots are numbered."""
    found = np.zeros(length, np.bool_)
    if "club" in columns:
        found |= _bears_no_club(columns["club"].profile.text)
    if SHOT_NUMBER in columns:
        text = columns[SHOT_NUMBER].profile.text
        numbered = np.asarray(text.fill_null("").str.contains("[0-9]").to_numpy())
        found |= ~numbered & (numbered.mean() > _MOSTLY_NUMBERED)
    return found


def _clubs(columns: Mapping[str, Assigned]) -> npt.NDArray[np.int64] | None:
    """Number of each row's club, None where no column names clubs."""
    if "club" not in columns:
        return None
    cells = stripped(columns["club"].profile.text)
    return cells.rank("dense").cast(pl.Int64).to_numpy()


def _bears_no_club(text: pl.Series) -> npt.NDArray[np.bool_]:
    """Rows whose club is blank, or a word nobody knows that never stands in two rows running."""
    cells = stripped(text)
    unknown = [cell for cell in distinct(cells) if not club_of(cell).known]
    if not unknown:
        return np.zeros(len(cells), np.bool_)
    running = set(cells.filter((cells == cells.shift(1)).fill_null(False)).unique())
    labels = [cell for cell in unknown if not cell or cell not in running]
    return np.asarray(cells.is_in(labels).to_numpy())
