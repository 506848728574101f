"""What silence would hide: main columns not taken, lines not understood, sides assumed."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping

from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned, Assignment
from rangeledger.pipelines.reader.recognising.columns.sides import SidesFound
from rangeledger.pipelines.reader.recognising.words.dates_in_text import days_in
from rangeledger.pipelines.reader.recognising.words.heading import Heading
from rangeledger.pipelines.reader.recognising.words.heading_tags import tag_readings, words_in
from rangeledger.pipelines.reader.recognising.words.remark import Remark
from rangeledger.pipelines.reader.recognising.words.signs import (
    partly_stated,
    sign_beside_side,
    speaks_of_sides,
)
from rangeledger.pipelines.reader.recognising.words.unit_statements import names_a_unit
from rangeledger.schemas.compositions import BACK_SPIN, DATE, DATETIME, SIDE_SPIN, TIME

_MAIN = frozenset({
    "ball_speed_mps", "launch_angle_deg", "launch_direction_deg", "spin_rate_rpm", "spin_axis_deg",
    BACK_SPIN, SIDE_SPIN, "carry_m", "carry_side_m", "total_m", "total_side_m", "apex_m",
})  # fmt: skip
_MAIN_TAGS = frozenset({"carry", "total", "launch", "spin", "axis", "side", "off", "apex"})
_OF_THE_AIR = frozenset({"temperature", "pressure", "humidity", "altitude"})
_TIMES = (DATE, TIME, DATETIME)
_MOST_SHOWN = 100


def unmapped_columns(assignment: Assignment, remarks: Iterable[Remark | str]) -> list[Remark]:
    """A remark for each column of numbers that speaks of a main quantity and was not taken.

    Parameters
    ----------
    assignment : Assignment
        What the columns of a table are.
    remarks : iterable of Remark or str
        Remarks made before; a column that one of them names needs no other.

    Returns
    -------
    list of Remark
        With the column as its place, why it was left aside, and what takes it.
    """
    messages = "\n".join(map(str, remarks))
    found = []
    for profile, why in assignment.extras:
        text = profile.heading.text
        numbered = sum(any(map(str.isdigit, cell)) for cell in profile.sample)
        best = profile.heading.best
        timed = best is not None and best.column in _TIMES and not profile.heading.unknown
        if 2 * numbered <= len(profile.sample) or not (timed or _is_main(profile.heading)):
            continue
        if f"{text!r}" not in messages:
            found.append(
                Remark(
                    f"column {text!r}",
                    f"Column {text!r} was not taken: {why}.",
                    "If it is one of the ball's, name it in a mapping.",
                )
            )
    return found


def assumed_sides(columns: Mapping[str, Assigned], sides: SidesFound) -> list[Remark]:
    """A remark on the columns whose right counts as positive by custom alone.

    Parameters
    ----------
    columns : mapping of str to Assigned
        The columns that were taken.
    sides : SidesFound
        Which way each sided one is positive, and why.

    Returns
    -------
    list of Remark
        One for all of them, none where each is stated or follows from one that is.
    """
    assumed = [
        columns[name].profile.heading.text
        for name, reading in sides.readings.items()
        if name in columns and not reading.stated
    ]
    if not assumed:
        return []
    *others, last = map(repr, assumed)
    named = f"columns {', '.join(others)} and {last} are" if others else f"column {last} is"
    return [
        Remark(
            "" if others else f"column {last}",
            f"Nothing says which way {named} positive: right was taken, as is the custom.",
            "If it is left, say so under [signs] in a note or mapping.",
        )
    ]


def _is_main(heading: Heading) -> bool:
    named = any(candidate.column in _MAIN for candidate in heading.candidates)
    tags = heading.tags | {tag for word in words_in(heading.text) for tag in _tags((word,))}
    return named or bool(tags & _MAIN_TAGS) or tags >= {"ball", "speed"}


def _tags(words: tuple[str, ...]) -> frozenset[str]:
    readings = tag_readings(words)
    return readings[0][0] if readings else frozenset()


def unparsed_lines(lines: Iterable[tuple[int, str]], parsed: Container[int]) -> list[Remark]:
    """A remark for each line that looks like a statement of a unit, a side or a day and told none.

    Parameters
    ----------
    lines : iterable of (int, str)
        Number and text of the lines beside the shots.
    parsed : container of int
        Lines from which something was taken, or of which another remark speaks.

    Returns
    -------
    list of Remark
        With the line as its place.
    """
    found = []
    for line, text in lines:
        about = None if line in parsed else _speaks_of(text)
        if about is not None:
            shown = text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}…"
            sentence = f"Line {line}: {shown!r} may speak of {about}; nothing was taken from it."
            found.append(Remark(f"line {line}", sentence, "If it matters, state it in a mapping."))
    return found


def _speaks_of(text: str) -> str | None:
    if partly_stated(text, named_too=True) or speaks_of_sides(text) or sign_beside_side(text):
        return "which side is positive"
    if names_a_unit(text):
        return "a unit"
    if days_in(text):
        return "a day"
    tags = _tags(tuple(words_in(text))) | {tag for word in words_in(text) for tag in _tags((word,))}
    if tags & _OF_THE_AIR and any(map(str.isdigit, text)):
        return "the air"
    return "wind" if "wind" in tags else None
