"""Where the wind comes from, clockwise from the target: of columns that may count otherwise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import polars as pl
from rangeledger.pipelines.reader.recognising.columns.assignment import Assignment
from rangeledger.pipelines.reader.recognising.columns.profile import Profile
from rangeledger.pipelines.reader.recognising.tables.bearings import (
    blown_towards,
    from_the_target_line,
    recounted,
    target_bearing,
)
from rangeledger.pipelines.reader.recognising.tables.stated import Stated
from rangeledger.pipelines.reader.recognising.words.compass_words import (
    TARGET_BEARING,
    is_of_the_compass,
)
from rangeledger.pipelines.reader.recognising.words.remark import Remark
from rangeledger.pipelines.reader.recognising.words.wind_counts import (
    UNCLEAR,
    WIND_COUNT,
    WindCount,
    is_direction,
)
from rangeledger.pipelines.reader.recognising.words.winds import FROM


def with_origins(
    frame: pl.DataFrame,
    assignment: Assignment,
    profiles: Sequence[Profile],
    stated: Stated,
    counts_of_headings: Mapping[str, WindCount],
) -> tuple[pl.DataFrame, list[Remark | str]]:
    """A table whose winds are told clockwise from the target line, or left out.

    Parameters
    ----------
    frame : pl.DataFrame
        Canonical columns.
    assignment : Assignment
        What the columns of the export are.
    profiles : sequence of Profile
        All of them.
    stated : Stated
        What lines beside the table say.
    counts_of_headings : mapping of str to WindCount
        How headings say that their own column counts.

    Returns
    -------
    (pl.DataFrame, list of Remark or str)
        The same table but for the wind's direction, and why a column of it was left out.
    """
    bearing = target_bearing(profiles, stated.text_of(TARGET_BEARING))
    if FROM in frame.columns and FROM not in assignment.by_column:  # told in words
        return frame, []
    extras = [profile for profile, _ in assignment.extras]
    if FROM in frame.columns:
        profile, angle = assignment.by_column[FROM].profile, frame[FROM]
    else:
        origin = blown_towards(extras, bearing)
        asking = [p for p in extras if is_direction(p.heading) and p.numbers and p.numbers.clean]
        if origin is not None or len(asking) != 1 or asking[0].numbers is None:
            return (frame if origin is None else frame.with_columns(origin.alias(FROM))), []
        profile, angle = asking[0], asking[0].numbers.value.alias(FROM)
    heading = profile.heading.text
    counts = stated.text_of(WIND_COUNT)
    count = counts_of_headings.get(heading)
    if bearing is not None and FROM in frame.columns:
        return frame.with_columns(from_the_target_line(angle, bearing)), []
    if count is not None:
        return frame.with_columns(count.origin(angle).alias(FROM)), []
    if is_of_the_compass(heading):
        why = "tells the wind by the compass and nothing says where the target lies"
    elif counts is not None and UNCLEAR in counts:
        where = stated.place_of(WIND_COUNT)
        why = f"counts the wind's directions as {where} says, which was not understood"
    elif counts is not None:
        return frame.with_columns(recounted(angle, counts)), []
    elif FROM in frame.columns:
        return frame, []
    else:
        why = "does not say where a wind of 0 comes from, or the words for it were not understood"
    left_out = f"Column {heading!r} {why}; its direction was left out."
    advice = "Name it wind_from_deg in a mapping if 0 is a wind in the face and 90 from the right."
    return frame.drop(FROM, strict=False), [Remark(f"column {heading!r}", left_out, advice)]
