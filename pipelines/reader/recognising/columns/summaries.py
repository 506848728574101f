"""Rows that sum up others, as their words say."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.normalising.words import is_summary_word
from rangeledger.pipelines.reader.recognising.columns.profile import Profile, distinct, stripped
from rangeledger.schemas.clubs import club_of
from rangeledger.schemas.compositions import DATE, DATETIME, SHOT_NUMBER, TIME
from rangeledger.schemas.words import fold, words_of

_NAMING = ("club", SHOT_NUMBER, DATE, TIME, DATETIME)
_MOSTLY = 0.8  # share of the rows that bear a name where shots do; common practice, no source
_MOST_DISTINCT = 5000
_TIME_LIKE = re.compile(r"^[0-9:.,T \-/+Z]*$")
_FEWEST_LABELS, _MOST_ROWS_A_LABEL = 3, 2


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
        if column == "club":
            words += _begun_like_summaries(profile.text)
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
    return found | _counts_below(profiles, columns, found) if found.any() else found


def _counts_below(
    profiles: Sequence[Profile], columns: dict[int, str], found: npt.NDArray[np.bool_]
) -> npt.NDArray[np.bool_]:
    """Rows right below one that sums up, nearly empty and with no club where shots have theirs.

    `N.º de pancadas;6;;;` below mean and deviation, in words that nobody may know.
    """
    clubs = next((p for p in profiles if columns.get(p.place) == "club"), None)
    if clubs is None:
        return np.zeros_like(found)
    known = {cell: club_of(cell).known for cell in distinct(clubs.text)}
    cells = clubs.text.to_list()
    filled = np.sum([np.asarray((stripped(p.text) != "").to_numpy()) for p in profiles], axis=0)
    sparse = 2 * filled <= np.median(filled)
    below = np.zeros_like(found)
    for row in np.flatnonzero(sparse[1:]) + 1:
        label = cells[row]
        below[row] = (found | below)[row - 1] and bool(label) and not known.get(label, True)
    return below


def _begun_like_summaries(text: pl.Series) -> list[str]:
    """`BEST TODAY`, `Zwischensumme Eisen 9 (Mittel aus 6)` in place of a club."""
    summary = words_of("summary")
    longest = max(word.count(" ") for word in summary) + 1
    found = []
    for cell in distinct(text)[:_MOST_DISTINCT]:
        words = fold(cell).split()
        begins = any(" ".join(words[:k]) in summary for k in range(1, min(longest, len(words)) + 1))
        # A club of such a name would be struck more often: `Max wedge`.
        if begins and not club_of(cell).known and int((text == cell).sum()) <= _MOST_ROWS_A_LABEL:
            found.append(cell)
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
