"""Mapping files: a user's own words on what the columns of an export are.

A mapping is a TOML file in the home's `mappings` folder. It is used for every export whose
headings are the ones under `[match]`, whatever their case, accents and punctuation. Its words go
before everything that is recognised:

    [match]
    headings = ["Stick", "Vb", "Weite"]
    heading_line = 3               # where several lines read so; may be left out

    [columns."Vb"]
    column = "ball_speed_mps"      # a canonical column or helper; "" keeps it as an extra
    unit = "km/h"

    [columns."Weite"]
    column = "carry_m"
    unit = "m"
    measured = "straight"          # or "along" the target line

    [columns."Seite"]
    column = "carry_side_m"
    unit = "m"
    positive = "left"              # or "right"; "up" or "down" for the attack angle

    [columns."Carry@5"]            # the fifth column, where several have one heading, or none: "@5"
    column = ""

    [constants]                    # what holds for every shot of such an export
    ball = "range"

    [numbers]
    decimal = ","
    thousands = "."
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from rangeledger.pipelines.reader.normalising.number_format import NumberFormat
from rangeledger.pipelines.reader.recognising.heading import Candidate, Heading
from rangeledger.schemas.columns import CONDITIONS, FORMER_NAMES, STATABLE, WIND_HEIGHTS
from rangeledger.schemas.compositions import FORMER_HELPERS, HELPERS, column_dimension
from rangeledger.schemas.errors import NoteError
from rangeledger.schemas.headings import tokens_of, unit_symbols
from rangeledger.schemas.reasons import FileReason
from rangeledger.schemas.units import UNITS

_SURE = 2.0  # weight of the user's words, above everything that is recognised
_SIDES = ("left", "right", "up", "down")
_TABLES = ("match", "columns", "constants", "numbers")
_COLUMN_KEYS = ("column", "unit", "positive", "measured")
_CONSTANTS = (
    "player", "club", "swing", "ball", "surface", "flight_basis", *CONDITIONS, "wind_height",
    "monitor", "site",
)  # fmt: skip
_LARGEST = 1_000_000
_PLACED = re.compile(r"^(.*)@([1-9][0-9]{0,2})$")
# Names of version 0.1, accepted until version 0.3.
_FORMER = FORMER_NAMES | FORMER_HELPERS


@dataclass(frozen=True, slots=True)
class ColumnWords:
    """What a mapping says about one column of the export."""

    column: str
    unit: str | None = None
    positive: str | None = None
    measured: str | None = None


@dataclass(frozen=True, slots=True)
class HeadingMap:
    """A mapping file.

    Parameters
    ----------
    name : str
        Its file name.
    headings : frozenset[str]
        Plain forms of the headings that it is for.
    columns : Mapping[str, ColumnWords]
        Plain form of a heading -> what it says.
    constants : Mapping[str, str or float]
        Canonical column -> value for every shot that states none.
    number_format : NumberFormat or None
        Marks of the numbers, where it states them.
    heading_line : int or None
        Line of the headings in the export for which it was written.
    """

    name: str
    headings: frozenset[str]
    columns: Mapping[str, ColumnWords]
    constants: Mapping[str, str | float] = field(default_factory=dict)
    number_format: NumberFormat | None = None
    heading_line: int | None = None

    def reworded(self, headings: Sequence[Heading]) -> tuple[Heading, ...]:
        """Headings with the mapping's words in place of what was recognised."""
        return tuple(self._reworded(place, heading) for place, heading in enumerate(headings))

    def _reworded(self, place: int, heading: Heading) -> Heading:
        form = plain_form(heading.text)
        words = self.columns.get(f"{form}@{place + 1}", self.columns.get(form))
        if words is None:
            return heading
        if not words.column:
            return replace(
                heading,
                candidates=(),
                positive=None,
                straight=False,
                along=False,
                unknown=(),
                tags=frozenset(),
            )
        return replace(
            heading,
            candidates=(Candidate(words.column, _SURE),),
            unknown=(),
            tags=frozenset(),
            units=unit_symbols(words.unit) if words.unit else heading.units,
            positive=words.positive or heading.positive,
            straight=words.measured == "straight" if words.measured else heading.straight,
            along=words.measured == "along" if words.measured else heading.along,
        )


def plain_form(heading: str) -> str:
    """A heading without case, accents and punctuation, by which mappings are matched."""
    return " ".join(tokens_of(heading.replace("#", " number ")))


def column_key(heading: str) -> str:
    """A heading of a mapping in its plain form, with the place that it may name: `carry@5`."""
    placed = _PLACED.match(heading)
    return f"{plain_form(placed[1])}@{placed[2]}" if placed else plain_form(heading)


def heading_set(texts: Iterable[str]) -> frozenset[str]:
    """Plain forms of the headings that say something."""
    return frozenset(form for text in texts if (form := plain_form(text)))


def _wrong(path: Path, what: str) -> NoteError:
    return NoteError(f"{path.name}: {what}", FileReason.BAD_MAPPING)


def _column_words(path: Path, heading: str, table: Any) -> ColumnWords:
    if not isinstance(table, dict):
        raise _wrong(path, f'[columns."{heading}"] must be a table with column = "…".')
    unknown = sorted(set(table) - set(_COLUMN_KEYS))
    if unknown:
        raise _wrong(path, f'[columns."{heading}"] has {unknown[0]!r}; it may have '
                           f"{', '.join(_COLUMN_KEYS)}.")  # fmt: skip
    column = table.get("column", "")
    column = _FORMER.get(column, column) if isinstance(column, str) else column
    if column and column not in (*STATABLE, *HELPERS):
        raise _wrong(path, f"{column!r} is no canonical column; see the data dictionary.")
    _check_unit(path, heading, column, table.get("unit"))
    positive, measured = table.get("positive"), table.get("measured")
    if positive is not None and positive not in _SIDES:
        raise _wrong(
            path, f'positive = {positive!r} for "{heading}": write left, right, up or down.'
        )
    if measured not in (None, "straight", "along"):
        raise _wrong(path, f'measured = {measured!r} for "{heading}": write straight or along.')
    return ColumnWords(column, table.get("unit"), positive, measured)


def _check_unit(path: Path, heading: str, column: str, unit: Any) -> None:
    if unit is None or not column:
        return
    dimension = column_dimension(column)
    fitting = [s for s in unit_symbols(str(unit)) if UNITS[s].dimension == dimension]
    if not fitting:
        raise _wrong(path, f'unit = {unit!r} for "{heading}" is no unit of {column}.')


def _number_format(path: Path, table: Any) -> NumberFormat | None:
    if not table:
        return None
    decimal, thousands = table.get("decimal", "."), table.get("thousands")
    if decimal not in (".", ",") or thousands == decimal:
        raise _wrong(path, 'decimal must be "." or "," and differ from thousands.')
    return NumberFormat(decimal, thousands or None, "the mapping says so")


def read_mapping(path: Path) -> HeadingMap:
    """Read one mapping file.

    Parameters
    ----------
    path : Path
        The TOML file.

    Returns
    -------
    HeadingMap
        Checked.

    Raises
    ------
    NoteError
        One sentence with file, place and what is expected.
    """
    try:
        if path.stat().st_size > _LARGEST:
            raise _wrong(path, "the file is too large for a mapping.")
        text = path.read_text(encoding="utf-8-sig")
        found = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise _wrong(path, f"not valid TOML ({problem}).") from None
    unknown = sorted(set(found) - set(_TABLES))
    if unknown:
        raise _wrong(path, f"{unknown[0]!r} is none of {', '.join(_TABLES)}.")
    headings = found.get("match", {}).get("headings")
    if not isinstance(headings, list) or not all(isinstance(h, str) for h in headings):
        raise _wrong(path, '[match] needs headings = ["…", "…"] as the export has them.')
    heading_line = found["match"].get("heading_line")
    if heading_line is not None and (not isinstance(heading_line, int) or heading_line < 1):
        raise _wrong(path, "heading_line must be the number of a line, from 1.")
    columns = {
        column_key(heading): _column_words(path, heading, table)
        for heading, table in found.get("columns", {}).items()
    }
    constants = found.get("constants", {})
    wrong = sorted(set(constants) - set(_CONSTANTS))
    if wrong:
        raise _wrong(path, f"{wrong[0]!r} can't be a constant; {', '.join(_CONSTANTS)} can.")
    if constants.get("wind_height", WIND_HEIGHTS[0]) not in WIND_HEIGHTS:
        raise _wrong(path, f"wind_height must be one of {', '.join(WIND_HEIGHTS)}.")
    numbers = _number_format(path, found.get("numbers"))
    return HeadingMap(path.name, heading_set(headings), columns, constants, numbers, heading_line)


@lru_cache(maxsize=256)
def _read_at(path: Path, _changed_ns: int, _size: int) -> HeadingMap:
    return read_mapping(path)


def read_mappings(folder: Path | None) -> tuple[list[HeadingMap], list[str]]:
    """All mappings of a folder.

    Parameters
    ----------
    folder : Path or None
        The home's `mappings` folder.

    Returns
    -------
    tuple[list[HeadingMap], list[str]]
        Mappings by file name, and a sentence for each file that can't be used: a broken mapping
        must not stop exports that it isn't for.
    """
    found: list[HeadingMap] = []
    broken: list[str] = []
    for path in sorted(folder.glob("*.toml")) if folder and folder.is_dir() else ():
        try:
            status = path.stat()
            found.append(_read_at(path, status.st_mtime_ns, status.st_size))
        except NoteError as problem:
            broken.append(str(problem))
        except OSError as problem:
            broken.append(f"{path.name}: {problem.strerror}.")
    return found, broken


def mapping_for(texts: Iterable[str], mappings: Sequence[HeadingMap]) -> HeadingMap | None:
    """The mapping whose headings are those of a table, None if there is none.

    Parameters
    ----------
    texts : iterable of str
        Headings as they stand in the export.
    mappings : sequence of HeadingMap
        As `read_mappings` gives them; the first that fits counts.

    Returns
    -------
    HeadingMap or None
        The mapping.
    """
    wanted = heading_set(texts)
    return next((m for m in mappings if m.headings == wanted), None)
