"""What is said beside the rows of a table: in lines above it, the file's name, note and mapping."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import polars as pl
from rangeledger.pipelines.reader.normalising.notes import Note
from rangeledger.pipelines.reader.normalising.number_format import NumberFormat
from rangeledger.pipelines.reader.normalising.numbers import parse_numbers
from rangeledger.pipelines.reader.normalising.phrases import pieces_of
from rangeledger.pipelines.reader.recognising.lines.blocks import Block
from rangeledger.pipelines.reader.recognising.words.compass_words import (
    BARE_ANGLE,
    TARGET_BEARING,
    degrees_in,
    is_of_the_compass,
)
from rangeledger.pipelines.reader.recognising.words.facts import Fact, plain_decimal
from rangeledger.pipelines.reader.recognising.words.legends import Meaning
from rangeledger.pipelines.reader.recognising.words.remark import Remark
from rangeledger.pipelines.reader.recognising.words.wind_counts import WIND_COUNT, WindCount
from rangeledger.pipelines.reader.recognising.words.winds import FROM
from rangeledger.schemas.columns import BY_NAME
from rangeledger.schemas.compositions import column_dimension
from rangeledger.schemas.headings import METRIC_LANGUAGES, unit_symbols
from rangeledger.schemas.units import UNITS, counted
from rangeledger.schemas.words import fold

_POINT = NumberFormat(".")
# `1.250 m`, `1,250 ft`: nobody tells a height or a pressure to a thousandth.
_IN_THOUSANDS = ("altitude_m", "air_pressure_hpa")
_REMARK_AT_THE_END = re.compile(r"(?<=\w|[%°])\s*\([^()]*\)\s*$")
_GROUPED = re.compile(r"^(\s*[0-9]{1,3})[.,]([0-9]{3})(?![0-9.])")
_AMONG = re.compile(r"^([^\d~≈+−-]*?)[\s~≈]*([-+−]?[0-9][0-9.,']*)\s*([^\d\s].*?)\s*$")
_ROUGHLY = ("roughly", "weather", "fillers_said")
# Air pressures from sea level to 2,500 m; in millimetres or hectopascals it is far above.
_INCHES_OF_MERCURY = (20.0, 32.0)
_HOTTEST_C = 45.0  # common practice, no source: what is warmer is not in Celsius


@dataclass(frozen=True, slots=True)
class Given:
    """What the user says beside the export, and how its times are to be read."""

    note: Note
    zone: ZoneInfo
    language: str | None = None
    units: Mapping[str, str] = field(default_factory=dict)
    signs: Mapping[str, str] = field(default_factory=dict)
    number_format: NumberFormat | None = None
    constants: Mapping[str, str | float] = field(default_factory=dict)
    trusted: bool = False
    usual_date_order: str | None = None
    sentinels: Mapping[float, str] = field(default_factory=dict)
    legend: Sequence[Meaning] = ()

    def constant(self, name: str) -> str | float | None:
        """What the note, else the mapping, states for every shot."""
        found = self.note.values.get(name)
        return self.constants.get(name) if found is None else found


@dataclass(slots=True)
class Stated:
    """Facts of a table's blocks, row by row.

    Parameters
    ----------
    given : Given
        Note, mapping, zone.
    blocks : sequence of Block
        Blocks with the same headings.
    block_of : numpy array of int
        Number of the block of each row.
    constants : dict of str to str
        What was taken, by column, with its source; filled on the way.
    remarks : list of str
        What could not be taken, and why; filled on the way.
    marks : NumberFormat
        How the table writes numbers.
    """

    given: Given
    blocks: Sequence[Block]
    block_of: npt.NDArray[np.int64]
    constants: dict[str, str]
    remarks: list[Remark | str]
    marks: NumberFormat = _POINT

    def text_of(self, name: str) -> pl.Series | None:
        """What the lines above the blocks say for a column, row by row."""
        facts = [block.facts.get(name) for block in self.blocks]
        if not any(facts):
            return None
        for fact in facts:
            if fact:
                where = f"line {fact.line}" if fact.line else "the file's name"
                self.constants.setdefault(name, f"{fact.text} ({where})")
        texts = np.array([fact.text if fact else None for fact in facts], dtype=object)
        return pl.Series(name, texts[self.block_of].tolist(), dtype=pl.String)

    def is_of_the_name(self, name: str) -> bool:
        """Whether the file's name alone says something for a column."""
        facts = [fact for block in self.blocks if (fact := block.facts.get(name)) is not None]
        return bool(facts) and all(fact.line == 0 for fact in facts)

    def place_of(self, name: str) -> str:
        """Where the first fact for a column stands, for a sentence."""
        lines = [fact.line for block in self.blocks if (fact := block.facts.get(name)) is not None]
        return f"line {lines[0]}" if lines and lines[0] else "the file's name"

    def number_of(self, name: str) -> pl.Series | None:
        """A number said outside the rows, in canonical units; the note's where there is none."""
        values = [
            self._number_in_fact(name, block.facts.get(name), block.facts) for block in self.blocks
        ]
        stated = self.given.constant(name)
        if isinstance(stated, (int, float)):
            values = [float(stated) if value is None else value for value in values]
            self.constants.setdefault(name, f"{stated} (the note or mapping)")
        if all(value is None for value in values):
            return None
        column = np.array(values, dtype=object)[self.block_of]
        return pl.Series(name, column.tolist(), dtype=pl.Float64)

    def remark_if_overruled(self, name: str, note: str, stated: Sequence[pl.Series]) -> None:
        """Remark where the export says other words than its note: what the export says counts.

        Parameters
        ----------
        name : str
            Canonical column.
        note : str
            What the note says of it, as it would be read.
        stated : sequence of polars.Series
            What the export says, row by row; the first that says something counts.
        """
        if name not in self.given.note.values or not stated:
            return
        joined = pl.select(pl.coalesce(stated)).to_series()
        words = joined.drop_nulls().unique(maintain_order=True).to_list()
        if others := [word for word in words if fold(word) != fold(note)]:
            few = ", ".join(repr(word) for word in others[:3])
            rows = counted(int(joined.is_in(others).sum()), "row")
            self.remarks.append(
                Remark(
                    "the note",
                    f"The note says {name} {note!r}, but the export itself says {few} in "
                    f"{rows}, and that counts.",
                )
            )

    def _from_the_target(self, fact: Fact, bearing: Fact) -> float | None:
        """Where a wind told by the compass comes from, clockwise from the target [deg]."""
        origin, target = degrees_in(fact.text), degrees_in(bearing.text)
        if origin is None or target is None:
            return None
        description = (
            f"{fact.text} (line {fact.line}), target at {bearing.text} (line {bearing.line})"
        )
        self.constants.setdefault("wind_from_deg", description)
        return (origin - target) % 360.0

    def _leave_out(self, name: str, fact: Fact, why: str) -> None:
        self.remarks.append(
            f"Line {fact.line} says {fact.text!r} for {name}; it was left out because {why}."
        )

    def _number_in_fact(
        self, name: str, fact: Fact | None, beside: Mapping[str, Fact]
    ) -> float | None:
        if fact is None:
            return None
        bearing = beside.get(TARGET_BEARING)
        if name == "wind_from_deg" and not fact.relative and bearing is not None:
            return self._from_the_target(fact, bearing)
        if name == "wind_from_deg" and not fact.relative and is_of_the_compass(fact.text):
            self._leave_out(name, fact, "nothing says where the target lies")
            return None
        text = _GROUPED.sub(r"\1\2", fact.text) if name in _IN_THOUSANDS else fact.text
        bare = _REMARK_AT_THE_END.sub("", text)
        if bare != text and not unit_symbols(text[len(bare) :]):  # `1003 hPa (at the range)`
            text = bare
        value, written = _number_and_unit(text, self.marks.decimal, self.marks.thousands)
        if value is None:
            value, written = _number_and_unit(plain_decimal(text), ".", None)
        dimension = column_dimension(name)
        symbols = unit_symbols(written) if written else fact.units
        if value is None or (written and not symbols):
            value, symbols = _among_words(name, text, dimension, self.marks)
        symbols = _customary(name, value, written, symbols)
        if dimension == "temperature" and "deg" in symbols and self._in_celsius(written):
            symbols = ("degC",) if value is not None and value < _HOTTEST_C else ()
        unit = next((s for s in symbols if UNITS[s].dimension == dimension), None)
        if name == FROM and WIND_COUNT in beside and (lone := BARE_ANGLE.findall(fact.text)):
            value, unit = (float(lone[0]), "deg") if len(lone) == 1 else (value, unit)
        if value is None or unit is None:
            why = "its unit is not clear"
            if name == "wind_from_deg" and value is None:
                why = "nothing says where the target lies"
            self._leave_out(name, fact, why)
            return None
        known = BY_NAME[name]
        converted = float((value + UNITS[unit].offset) * UNITS[unit].factor)
        counted_as = beside.get(WIND_COUNT)
        if name == FROM and counted_as is not None and not fact.relative:
            count = WindCount.of(counted_as.text)
            if count is None:
                self._leave_out(name, fact, f"how line {counted_as.line} counts it is not clear")
                return None
            converted = count.origin(converted)
        inside = (known.low or -1e9) <= converted <= (known.high or 1e9)
        if inside:
            self.constants.setdefault(name, f"{fact.text} (line {fact.line})")
        return converted if inside else None

    def _in_celsius(self, written: str | None) -> bool:
        """Whether `17 Grad` or `17°` are degrees Celsius, as they are outside English."""
        foreign = fold(written or "") in ("grad", "grader", "degres", "degre", "grados", "grado")
        return foreign or self.given.language in METRIC_LANGUAGES


def _among_words(
    name: str, text: str, dimension: str | None, marks: NumberFormat
) -> tuple[float | None, tuple[str, ...]]:
    """Number and unit of a fact with words that add nothing: `about 17 °C`, `350 m asl`."""
    found = _AMONG.match(text)
    if found is None or any(p.kind is None for p in pieces_of(found[1], _ROUGHLY)):
        return None, ()
    words = found[3].split()
    for length in range(1, len(words) + 1):
        symbols = unit_symbols(" ".join(words[:length]).strip(",;()"))
        if any(UNITS[symbol].dimension == dimension for symbol in symbols):
            break
    else:
        return None, ()
    rest = " ".join(words[length:])
    beside = all(p.kind for p in pieces_of(rest, _ROUGHLY)) or name == "altitude_m"
    if not beside or any(c.isdigit() for c in rest):
        return None, ()
    value, _ = _number_and_unit(found[2], marks.decimal, marks.thousands)
    value = _number_and_unit(plain_decimal(found[2]), ".", None)[0] if value is None else value
    return value, symbols


def _customary(
    name: str, value: float | None, written: str | None, symbols: tuple[str, ...]
) -> tuple[str, ...]:
    """Units that a number of the air can only have: a bare humidity, a pressure in `in`."""
    if value is None:
        return symbols
    if name == "humidity_pct" and not (written or symbols):
        # No air has less than a hundredth of its moisture: below one it is a share.
        return ("%",) if 1.0 < value <= 100.0 else ("1",) if 0.0 < value < 1.0 else ()
    low, high = _INCHES_OF_MERCURY
    if name == "air_pressure_hpa" and "in" in symbols and low < value < high:
        return ("inHg",)
    return symbols


@lru_cache(maxsize=4096)
def _number_and_unit(
    text: str, decimal: str, thousands: str | None
) -> tuple[float | None, str | None]:
    """Number and unit word of a fact, which often comes again from block to block and file."""
    numbers = parse_numbers(pl.Series([text]), NumberFormat(decimal, thousands))
    return numbers.value[0], None if numbers.unit is None else numbers.unit[0]
