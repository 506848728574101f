"""Angles that an export counts around the full circle, where 359° is 1° to the left."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import polars as pl
from rangeledger.pipelines.reader.normalising.phrases import any_of
from rangeledger.pipelines.reader.recognising.columns.profile import Profile
from rangeledger.pipelines.reader.recognising.words.heading import Heading, read_heading
from rangeledger.schemas.compositions import SIDED, column_dimension

# Sides of a ball or club are never so far from the line as from here to there.
_NEVER_DEG = (90.0, 270.0)
_FULL_DEG = 360.0
_FEWEST = 4
_TARGET = r"(?<!\d)0\s*°?\s*=\s*[^\d,;()]+"


def without_circle(heading: Heading) -> Heading:
    """A heading without the words for a full circle, where they keep it from being understood.

    Parameters
    ----------
    heading : Heading
        `Start direction (0-360°, clockwise, 0 = target)`.

    Returns
    -------
    Heading
        What the other words say, with the text as it stands there.
    """
    if "360" not in heading.text or not heading.unknown:
        return heading
    between = rf"\s*(?:-|–|\.\.+|…|/|\b{any_of('between', 'to')}\b)\s*"
    span = re.compile(rf"(?<!\d)0\s*°?{between}360\s*(?:°|deg\b)?|{_TARGET}", re.IGNORECASE)
    rest = re.sub(r"[(\[][\s,;]*", "(", span.sub(" ", heading.text))
    found = read_heading(rest, "deg")
    return replace(found, text=heading.text) if found.best else heading


def unwind(profiles: Sequence[Profile]) -> list[str]:
    """Read angles above 180° as turned the other way, in columns that lie around 0 and 360.

    Parameters
    ----------
    profiles : sequence of Profile
        All columns of a table; the numbers of some are replaced.

    Returns
    -------
    list of str
        A remark for each.
    """
    remarks = []
    for profile in profiles:
        if not _goes_round(profile):
            continue
        assert profile.numbers is not None
        angle = profile.numbers.value
        turned = pl.select(
            pl.when(angle > _FULL_DEG / 2).then((angle - _FULL_DEG).round(9)).otherwise(angle)
        ).to_series()
        profile.numbers = replace(profile.numbers, value=turned.alias(angle.name))
        remarks.append(
            f"Column {profile.heading.text!r} counts from 0 to 360: above 180 it was read as so "
            "far below 0."
        )
    return remarks


def _goes_round(profile: Profile) -> bool:
    """Whether a column of a sided angle lies on both sides of a full turn and nowhere else."""
    best = profile.heading.best
    sided = best is not None and best.column in SIDED and column_dimension(best.column) == "angle"
    if not sided or profile.numbers is None or profile.numbers.side is not None:
        return False
    known = np.asarray(profile.numbers.value.drop_nulls().to_numpy(), np.float64)
    if known.size < _FEWEST or known.min() < 0.0 or known.max() > _FULL_DEG:
        return False
    low, high = known < _NEVER_DEG[0], known > _NEVER_DEG[1]
    return bool(high.any() and (low | high).all())
