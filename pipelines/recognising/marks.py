"""Shots that the export itself marks: a column such as `Valid`, `Deleted`, `Gültig`, `Supprimé`."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import numpy as np
import polars as pl

from pipelines.normalising.words import flight_basis_of
from pipelines.recognising.assignment import Assigned
from pipelines.recognising.heading import read_heading
from pipelines.recognising.profile import Profile, mark_of
from pipelines.recognising.values import Rejection
from schemas.compositions import DROPPED, KEPT
from schemas.reasons import RowReason
from schemas.words import fold, words_of

_BRACKETED = re.compile(r"[(\[]([^)\]]+)[)\]]")
_MOST_KINDS = 12  # distinct words of a column that sorts its rows


def told_as_no_shots(extras: Sequence[Profile]) -> list[Rejection]:
    """Rows that a column of words calls a practice swing, deleted, or a reckoned double of a shot.

    Parameters
    ----------
    extras : sequence of Profile
        Columns that nobody claims.

    Returns
    -------
    list[Rejection]
        The rows with a sentence each.
    """
    rejections = []
    for profile in extras:
        words = [] if profile.is_number or len(profile.sample) > _MOST_KINDS else profile.sample
        against = [word for word in words if _tells_no_shot(word, words)]
        if not against or len(against) == len(words):
            continue
        rows = np.flatnonzero(profile.text.is_in(against).fill_null(False).to_numpy())
        said: pl.Series = profile.text.gather(rows)
        heading = profile.heading.text
        sentences = [f"The row is no shot that was struck: {heading!r} says {c!r}." for c in said]
        rejections.append(Rejection(RowReason.NOT_A_SHOT, rows, sentences))
    return rejections


def clubs_marked(clubs: Profile) -> list[Rejection]:
    """Rows whose club says in brackets that the shot is none: `7 iron (deleted)`."""
    cells = [cell for cell in clubs.sample if (found := _BRACKETED.search(cell)) and found[1]]
    against = [cell for cell in cells if _tells_no_shot(_BRACKETED.findall(cell)[-1], ())]
    if not against or len(against) == len(clubs.sample):
        return []
    rows = np.flatnonzero(clubs.text.is_in(against).fill_null(False).to_numpy())
    said: pl.Series = clubs.text.gather(rows)
    sentences = [f"The row is no shot that counts: its club says {cell!r}." for cell in said]
    return [Rejection(RowReason.NOT_A_SHOT, rows, sentences)]


def _tells_no_shot(word: str, beside: Sequence[str]) -> bool:
    """Whether a word says so; `normalised` does beside `measured` alone."""
    if fold(word) in words_of("no_shots"):
        return True
    heading = read_heading(word.strip())
    if heading.unknown:
        return False
    if heading.tags == {DROPPED}:
        return True
    bases = {flight_basis_of(other) for other in beside if other != word}
    return heading.tags == {"reference"} and "measured" in bases


def dropped_shots(columns: Mapping[str, Assigned]) -> tuple[list[Rejection], list[str]]:
    """Rows whose shot the export marks as deleted, invalid or not to be counted.

    Parameters
    ----------
    columns : Mapping[str, Assigned]
        What the columns are.

    Returns
    -------
    tuple[list[Rejection], list[str]]
        The rows with a sentence each, and remarks. A column that would drop every shot marks
        something else, and drops none.
    """
    rejections, remarks = [], []
    for column in (KEPT, DROPPED):
        if column not in columns:
            continue
        profile = columns[column].profile
        cells = profile.text.drop_nulls().unique().to_list()
        against = [cell for cell in cells if mark_of(cell, column) is False]
        rows = np.flatnonzero(profile.text.is_in(against).fill_null(False).to_numpy())
        heading = profile.heading.text
        if rows.size == len(profile.text):
            remarks.append(f"Column {heading!r} marks every shot alike; it was left aside.")
        elif rows.size:
            said: pl.Series = profile.text.gather(rows)
            sentences = [
                f"The export marks the shot as one that does not count: {heading!r} says {cell!r}."
                for cell in said
            ]
            rejections.append(Rejection(RowReason.NOT_A_SHOT, rows, sentences))
    return rejections, remarks
