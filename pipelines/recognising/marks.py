"""Shots that the export itself marks: a column such as `Valid`, `Deleted`, `Gültig`, `Supprimé`."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import polars as pl

from pipelines.recognising.assignment import Assigned
from pipelines.recognising.profile import mark_of
from pipelines.recognising.values import Rejection
from schemas.compositions import DROPPED, KEPT
from schemas.reasons import RowReason


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
