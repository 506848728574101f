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
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, model_validator
from rangeledger.pipelines.reader.normalising.number_format import NumberFormat
from rangeledger.pipelines.reader.recognising.words.heading import Candidate, Heading
from rangeledger.schemas.columns import FORMER_NAMES, STATABLE
from rangeledger.schemas.compositions import FORMER_HELPERS, HELPERS, column_dimension
from rangeledger.schemas.declared import Declared, DeclaredError, checked_toml
from rangeledger.schemas.errors import NoteError
from rangeledger.schemas.headings import tokens_of, unit_symbols
from rangeledger.schemas.reasons import FileReason
from rangeledger.schemas.units import UNITS

_SURE = 2.0  # weight of the user's words, above everything that is recognised
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


def _known_column(name: Any) -> str:
    column = str(_FORMER.get(name, name)) if isinstance(name, str) else ""
    if name != "" and column not in (*STATABLE, *HELPERS):
        raise ValueError("it is no canonical column; see the data dictionary")
    return column


class _MatchForm(Declared):
    """Which exports the mapping is for."""

    headings: list[str]
    heading_line: Annotated[int, Field(ge=1)] | None = None


class _ColumnForm(Declared):
    """What one column is."""

    column: Annotated[str, BeforeValidator(_known_column)] = ""
    unit: str | None = None
    positive: Literal["left", "right", "up", "down"] | None = None
    measured: Literal["straight", "along"] | None = None

    @model_validator(mode="after")
    def _unit_of_the_column(self) -> Self:
        if self.unit is None or not self.column:
            return self
        dimension = column_dimension(self.column)
        if not any(UNITS[s].dimension == dimension for s in unit_symbols(self.unit)):
            raise ValueError(f"unit = {self.unit!r} is no unit of {self.column}")
        return self


class _NumbersForm(Declared):
    """The marks of the numbers."""

    decimal: Literal[".", ","] = "."
    thousands: str | None = None

    @model_validator(mode="after")
    def _differ(self) -> Self:
        if self.thousands == self.decimal:
            raise ValueError("decimal and thousands must differ")
        return self


class _ConstantsForm(Declared):
    """What holds for every shot of such an export; conditions in the units of their columns."""

    player: str | None = None
    club: str | None = None
    swing: str | None = None
    ball: str | None = None
    surface: str | None = None
    flight_basis: str | None = None
    monitor: str | None = None
    site: str | None = None
    wind_speed_mps: float | None = None
    wind_from_deg: float | None = None
    wind_height: Literal["weather", "player", "ball"] | None = None
    air_temp_c: float | None = None
    air_pressure_hpa: float | None = None
    humidity_pct: float | None = None
    altitude_m: float | None = None


class _MappingForm(Declared):
    """The file."""

    match: _MatchForm
    columns: dict[str, _ColumnForm] = Field(default_factory=dict)
    constants: _ConstantsForm = Field(default_factory=_ConstantsForm)
    numbers: _NumbersForm | None = None


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
        form = checked_toml(path.read_text(encoding="utf-8-sig"), _MappingForm)
    except UnicodeDecodeError:
        raise _wrong(path, "it is not UTF-8 text; save it as UTF-8.") from None
    except DeclaredError as problem:
        raise NoteError(f"{path.name}, {problem}", FileReason.BAD_MAPPING) from None
    columns = {
        column_key(heading): ColumnWords(
            stated.column, stated.unit, stated.positive, stated.measured
        )
        for heading, stated in form.columns.items()
    }
    constants = {name: getattr(form.constants, name) for name in form.constants.model_fields_set}
    numbers = None
    if form.numbers is not None:
        decimal, thousands = form.numbers.decimal, form.numbers.thousands
        numbers = NumberFormat(decimal, thousands or None, "the mapping says so")
    return HeadingMap(
        path.name, heading_set(form.match.headings), columns, constants, numbers,
        form.match.heading_line,
    )  # fmt: skip


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
    folded = heading_set(texts)
    return next((m for m in mappings if m.headings == folded), None)
